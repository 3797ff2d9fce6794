#!/usr/bin/env python3
"""Pulls the plug at every system call of every command that writes, and fills the disk.

Each command runs under strace, which kills it (SIGKILL) as its main thread enters its
first, second, third ... system call that touches files; then once more for every call
that could find the disk full (ENOSPC) or broken (EIO). After each run every file must
be the old one or the new one, byte for byte, every ended line of the outbox's journal
whole, and a second run without hindrance must reach the same end. At last the
folder is made read-only by a mount, where this machine allows that.

Usage: .ci/files.py    (Python 3.11 or later, cargo; strace, installed when missing)
"""
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# What a command asks of the disk; the rest of its calls change nothing that lasts.
CALLS = ("open,openat,openat2,creat,close,read,pread64,write,pwrite64,writev,fsync,fdatasync,"
         "ftruncate,rename,renameat,renameat2,link,linkat,unlink,unlinkat,mkdir,mkdirat,"
         "chmod,fchmod,fchmodat,chown,fchown,fchownat,flock,getdents64")
REFUSED = [("write", "ENOSPC"), ("fsync", "EIO"), ("openat", "ENOSPC"), ("rename", "EIO"),
           ("renameat2", "ENOSPC"), ("fchmod", "EPERM"), ("ftruncate", "EIO"), ("mkdir", "ENOSPC")]


def ready(program: str) -> None:
    """Installs a Debian package of that name when the program is missing."""
    if shutil.which(program) is None:
        subprocess.run(["apt-get", "install", "-y", "-qq", program], check=True,
                       stdout=subprocess.DEVNULL)


def is_unfinished(path: Path) -> bool:
    return path.name.startswith(".fairday-")


def contents(folder: Path) -> dict[str, bytes]:
    """All files of a folder that count, by name."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes()
            for path in files if not is_unfinished(path) and path.name != "lock"}


def is_journal(data: bytes) -> bool:
    """Whether every line that is ended is whole; one cut short is dropped by the next run."""
    try:
        return all(json.loads(line)["step"] for line in data.split(b"\n")[:-1])
    except (ValueError, KeyError):
        return False


class Trial:
    """A command that writes, and the studio folder that it starts from."""

    def __init__(self, work: Path, program: Path, command: list[str], again: list[list[str]]):
        self.work, self.program, self.command = work, program, command
        self.name = command[0]
        # What brings a run that was stopped to its end: what is done is refused by itself.
        self.again = again or [command]
        all_files = contents(ROOT / "orders")
        needed = ("studio", "forecast", "2026-017", "2026-018", "2026-02")
        self.before = {name: data for name, data in all_files.items() if name.startswith(needed)}
        self.folder = work / self.name
        self.reset()
        if self.name == "forget":
            self.before = self.prepared(all_files)
            self.reset()
        self.run([])
        self.after = contents(self.folder)

    def prepared(self, orders: dict[str, bytes]) -> dict[str, bytes]:
        """A studio with two closed orders of a customer, letters and a card about them."""
        told = b"  - {on: 2026-05-06, kind: dispatched, date: 2026-05-06}\n"
        sent = orders["2026-009-whitlock.yaml"].replace(told, b"")
        (self.folder / "2026-009-whitlock.yaml").write_bytes(sent)
        other = sent.replace(b"2026-009", b"2026-010")
        (self.folder / "2026-010-whitlock.yaml").write_bytes(other)
        self.run([], ["send", "2026-009", "2026-010", "--steps", "0"])
        self.run([], ["card", "2026-009"])
        return contents(self.folder)

    def reset(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir()
        if self.name == "new":
            self.before = {}
            return
        for name, data in self.before.items():
            path = self.folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)

    def run(self, tracer: list[str], command: list[str] | None = None) -> tuple[int, str]:
        where = [str(self.folder)] if self.name == "new" else ["--dir", str(self.folder)]
        line = [*tracer, str(self.program), *(command or self.command), *where]
        done = subprocess.run(line, env={"RAYON_NUM_THREADS": "1"}, stdin=subprocess.DEVNULL,
                              capture_output=True, text=True)
        return done.returncode, done.stderr

    def broken(self) -> list[str]:
        """Files that are neither the old one nor the new one."""
        now = contents(self.folder)
        wrong = [f"{name} is gone" for name in self.before if name not in now and name in self.after]
        for name, data in now.items():
            # A file that gets another name has its old bytes under that for a while.
            whole = [self.before.get(name), self.after.get(name),
                     self.before.get(name.replace(".yaml", "-whitlock.yaml"))]
            if name.endswith("journal.jsonl"):
                good = is_journal(data)
            else:
                good = data in whole
            if not good:
                wrong.append(f"{name} is neither the old file nor the new one")
        return wrong

    def brought_to_end(self) -> list[str]:
        """What is wrong after a second run that nothing hinders."""
        said = "".join(self.run([], command)[1] for command in self.again)
        now = contents(self.folder)
        left = [path.name for path in self.folder.rglob("*") if is_unfinished(path)]
        wrong = [f"{name} lies about" for name in left]
        for name in sorted(set(now) | set(self.after)):
            if name.endswith("journal.jsonl") and self.name != "forget":
                continue  # It also tells of the stop; the letters themselves are compared.
            if now.get(name) != self.after.get(name):
                wrong.append(f"the second run leaves {name} otherwise ({said.strip()[:200]})")
        return wrong


def count_calls(trial: Trial) -> int:
    """How many system calls of the main thread touch files."""
    trial.reset()
    log = trial.work / "calls"
    trial.run(["strace", "-qq", "-e", "signal=none", "-e", f"trace={CALLS}", "-o", str(log)])
    return sum("(" in line for line in log.read_text(errors="replace").splitlines())


def numbered(trial: Trial) -> list[tuple[str, int]]:
    """Each call with its number among those of its name, which is what strace counts."""
    log = (trial.work / "calls").read_text(errors="replace").splitlines()
    seen: Counter[str] = Counter()
    calls = []
    for line in log:
        name, opened, _ = line.partition("(")
        if opened:
            seen[name] += 1
            calls.append((name, seen[name]))
    return calls


def first_write(trial: Trial) -> int:
    """Number of the first call that takes the lock; nothing is written before."""
    log = (trial.work / "calls").read_text(errors="replace").splitlines()
    for number, line in enumerate(log, 1):
        if line.startswith(("flock(", "mkdir(", "rename", "link", "write(")) or "O_CREAT" in line:
            return max(1, number - 3)
    return 1


def strike(trial: Trial, inject: str) -> tuple[int, list[str], str]:
    trial.reset()
    tracer = ["strace", "-qq", "-e", "signal=none", "-e", f"trace={CALLS}", "-o", "/dev/null",
              "-e", f"inject={inject}"]
    status, said = trial.run(tracer)
    return status, trial.broken(), said


def kill_everywhere(trial: Trial) -> list[str]:
    calls = count_calls(trial)
    first = first_write(trial)
    wrong, old, new, mixed = [], 0, 0, 0
    for number, (call, when) in enumerate(numbered(trial), 1):
        if number < first:
            continue
        status, broken, _ = strike(trial, f"{call}:signal=KILL:when={when}")
        now = contents(trial.folder)
        old, new = old + (now == trial.before), new + (now == trial.after)
        mixed += now != trial.before and now != trial.after
        found = broken + trial.brought_to_end()
        if status != -signal.SIGKILL:
            found.append("it was not killed")
        wrong += [f"{trial.name}, killed at call {number}, {call} {when}: {what}" for what in found]
    print(f"{trial.name}: {calls} calls, the first {first - 1} only read; killed at each of the "
          f"other {calls - first + 1}: {old} times all old, {new} times all new, {mixed} times "
          f"some files done; {len(wrong)} faults", flush=True)
    return wrong


def refuse_everywhere(trial: Trial) -> list[str]:
    wrong, struck = [], 0
    log = (trial.work / "calls").read_text(errors="replace").splitlines()
    for call, error in REFUSED:
        calls = [line for line in log if line.startswith(call + "(")]
        # Files that are only read are opened first; those that are made come last.
        first = next((n for n, line in enumerate(calls) if call != "openat" or "O_CREAT" in line),
                     len(calls))
        for when in range(first + 1, len(calls) + 1):
            status, broken, said = strike(trial, f"{call}:error={error}:when={when}")
            struck += 1
            wrong += [f"{trial.name}, {error} at {call} {when}: {what}" for what in broken]
            if "panicked" in said:
                wrong.append(f"{trial.name}, {error} at {call} {when}: {said[:200]}")
            wrong += [f"{trial.name}, {error} at {call} {when}: {what}"
                      for what in trial.brought_to_end()]
    print(f"{trial.name}: {struck} calls refused by the disk; {len(wrong)} faults", flush=True)
    return wrong


def small_disk(trial: Trial) -> list[str]:
    """Runs on a disk of a few blocks that is full, then on one that is read-only."""
    mount = ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(trial.folder)]
    trial.folder.mkdir(exist_ok=True)
    if trial.name == "new" or subprocess.run(mount, capture_output=True).returncode != 0:
        print(f"{trial.name}: skipped the small disk; this user may not mount one")
        return []
    wrong = []
    try:
        for name, data in trial.before.items():
            path = trial.folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        ballast = open(trial.folder / ".fairday-ballast", "wb", buffering=0)
        try:
            while True:
                ballast.write(bytes(4096))
        except OSError:
            ballast.close()
        os.rename(trial.folder / ".fairday-ballast", trial.folder / "ballast")
        status, said = trial.run([])
        (trial.folder / "ballast").unlink()
        if status != 2 or contents(trial.folder) != trial.before:
            wrong.append(f"{trial.name}: full disk: status {status}, {said}")
        remount = ["mount", "-o", "remount,ro", str(trial.folder)]
        subprocess.run(remount, check=True)
        status, said = trial.run([])
        if status != 2 or contents(trial.folder) != trial.before:
            wrong.append(f"{trial.name}: read-only disk: status {status}, {said}")
        print(f"{trial.name}: full and read-only disk, {len(wrong)} faults: {said.strip()[:120]}")
    finally:
        subprocess.run(["umount", str(trial.folder)], check=True)
    return wrong


def main() -> int:
    ready("strace")
    subprocess.run(["cargo", "build", "--quiet"], check=True, cwd=ROOT)
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    program = target / "debug" / "fairday"
    marks = ["2026-021", "2026-026", "2026-018"]
    remakes, why = ["2026-021/1", "2026-020/3"], ["--reason", "fogged"]
    send = ["send", "2026-017", "2026-029", "--steps", "0"]
    commands = [
        (["mark", "dried", *marks], [["mark", "dried", order] for order in marks]),
        (["remake", *remakes, *why], [["remake", piece, *why] for piece in remakes]),
        (send, [[*send, "--again"]]),
        (["new", "--today", "2026-05-11"], []),
        (["forget", "Tom Whitlock", "--yes"], []),
    ]
    wrong = []
    with tempfile.TemporaryDirectory() as folder:
        for command, again in commands:
            trial = Trial(Path(folder), program, command, again)
            name = trial.name
            if trial.before == trial.after:
                wrong.append(f"{name}: wrote nothing")
                continue
            wrong += kill_everywhere(trial)
            wrong += refuse_everywhere(trial)
            shutil.rmtree(trial.folder, ignore_errors=True)
            if name in ("mark", "remake"):
                wrong += small_disk(trial)
    print("\n".join(wrong[:40]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
