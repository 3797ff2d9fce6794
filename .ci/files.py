#!/usr/bin/env python3
"""Pulls the plug at every system call of every command that writes, and fills the disk.

Each command runs under strace, which kills it (SIGKILL) as its main thread enters its
first, second, third ... system call that touches files; then once more for every call
that could find the disk full (ENOSPC) or broken (EIO). After each run every file must
be the old one or the new one, byte for byte, every ended line of the outbox's journal
whole, and a second run without hindrance must reach the same end. Each is also run
while another holds the folder: it must say so and write nothing. At last the disk is
full, then read-only, by a mount of a few blocks, where this machine allows that.
`fetch` asks a server inside this script. Nothing is left out by drawing lots.

Usage: .ci/files.py [NAME…]    (Python 3.11 or later, cargo; strace, installed when missing)
"""
import datetime
import fcntl
import http.server
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
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


@dataclass
class Command:
    """A command that writes, and what its folder holds."""
    name: str
    line: list[str]
    # What brings a run that was stopped to its end: what is done is refused by itself.
    again: list[list[str]] = field(default_factory=list)
    # Numbers of the orders of the samples that its folder holds.
    orders: tuple[str, ...] = ("2026-017",)
    # Files of its own, beside them.
    files: dict[str, bytes] = field(default_factory=dict)
    # What is run before.
    prepare: list[list[str]] = field(default_factory=list)
    # Lines added to studio.yaml.
    studio: str = ""
    # The folder that it takes for itself, in the studio's.
    locks: str = "."
    # Whether each whole run adds an order.
    adds: bool = False
    # Whether everything stays as it is when the disk is full.
    whole: bool = True
    # How its folder is named on the command line; --dir otherwise.
    to: list[str] = field(default_factory=lambda: ["--dir"])


def table(work: Path) -> Path:
    """Two orders as a shop writes them."""
    path = work / "shop.csv"
    path.write_text("Order,Name,Date,Item,Size,Paper,File,Country\r\n"
                    "#1042,Ada Brook,2026-05-09,Fern,A4,Cotton rag,fern,GB\r\n"
                    "#1043,Noor Vale,2026-05-10,\"Lace, white\",A3,Cotton rag,lace,GB\r\n")
    return path


# Dates are shown before an order is taken; how sure they are is not asked here.
FEW_WEATHERS = "\npromises: {weathers: 20}\n"

IMPORT = """
import:
  columns: {reference: Order, name: Name, ordered_on: Date, title: Item, size: Size, material: Paper, negative: File, delivery: Country}
  otherwise: {jurisdiction: uk, delivery: home}
  words: {material: {Cotton rag: rag-300}, delivery: {GB: home}}
"""


class Forecast(http.server.BaseHTTPRequestHandler):
    """Answers every question with three days from now, in the format of Locationforecast."""
    body = b""

    def do_GET(self) -> None:
        self.send_response(200)
        now = datetime.datetime.now(datetime.UTC)
        stamp = "%a, %d %b %Y %H:%M:%S GMT"
        self.send_header("Date", now.strftime(stamp))
        self.send_header("Expires", (now + datetime.timedelta(hours=1)).strftime(stamp))
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(self.body)))
        self.end_headers()
        self.wfile.write(self.body)

    def log_message(self, *_: object) -> None:
        pass


def serve() -> str:
    first = datetime.datetime.now(datetime.UTC).replace(minute=0, second=0, microsecond=0)
    stamp = lambda hour: (first + datetime.timedelta(hours=hour)).strftime("%Y-%m-%dT%H:%M:%SZ")
    instant = {"details": {"air_temperature": 12.0, "relative_humidity": 60.0,
                           "cloud_area_fraction": 25.0, "wind_speed": 3.0}}
    series = [{"time": stamp(hour), "data": {
        "instant": instant, "next_1_hours": {"details": {"precipitation_amount": 0.0}}}}
        for hour in range(72)]
    Forecast.body = json.dumps({
        "type": "Feature", "geometry": {"type": "Point", "coordinates": [-2.9, 53.9, 15]},
        "properties": {"meta": {"updated_at": stamp(0), "units": {"air_temperature": "celsius"}},
                       "timeseries": series}}).encode()
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Forecast)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return f"http://127.0.0.1:{server.server_port}"


def is_unfinished(path: Path) -> bool:
    return path.name.startswith(".fairday-")


def contents(folder: Path) -> dict[str, bytes]:
    """All files of a folder that count, by name."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes()
            for path in files if not is_unfinished(path) and path.name not in ("lock", "ballast")}


def is_journal(data: bytes) -> bool:
    """Whether every line that is ended is whole; one cut short is dropped by the next run."""
    try:
        return all(json.loads(line)["step"] for line in data.split(b"\n")[:-1])
    except (ValueError, KeyError):
        return False


def is_note(data: bytes) -> bool:
    """Whether a note of the program's own is whole; it holds a time of day."""
    try:
        json.loads(data)
        return True
    except ValueError:
        return False


class Trial:
    """A command that writes, and the studio folder that it starts from."""

    def __init__(self, work: Path, program: Path, command: Command):
        self.program, self.command, self.name = program, command, command.name
        self.work = work / self.name
        self.work.mkdir()
        self.folder = self.work / "studio"
        self.again = command.again or [command.line]
        self.before = {}
        if command.to == ["--dir"]:
            needed = ("studio", "stock", "forecast", *command.orders)
            samples = contents(ROOT / "orders")
            self.before = {name: data for name, data in samples.items() if name.startswith(needed)}
            self.before["studio.yaml"] += command.studio.encode()
            self.before |= command.files
        self.reset()
        for line in command.prepare:
            self.run([], line)
        self.before = contents(self.folder)
        self.run([])
        self.after = contents(self.folder)
        self.struck = self.refused = 0

    def reset(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir()
        for name, data in self.before.items():
            path = self.folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)

    def run(self, tracer: list[str], command: list[str] | None = None) -> tuple[int, str]:
        where = [*self.command.to, str(self.folder)]
        line = [*tracer, str(self.program), *(command or self.command.line), *where]
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
            elif name.endswith("forecast.fetch.json"):
                good = is_note(data)
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
        if self.command.adds:
            # Nobody can know that the same order is meant again: there are one or two.
            more = set(now) - set(self.before)
            numbers = {line for name in more for line in now[name].split(b"\n")
                       if line.startswith(b"order:")}
            if not 1 <= len(more) <= 2 or len(numbers) != len(more):
                wrong.append(f"the second run leaves {sorted(more)} ({said.strip()[:200]})")
            return wrong + [f"{name} was changed" for name, data in self.before.items()
                            if now.get(name) != data]
        for name in sorted(set(now) | set(self.after)):
            if name.endswith("forecast.fetch.json") and is_note(now.get(name, b"")):
                continue  # It holds the time of day.
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
        trial.struck += 1
        found = broken + trial.brought_to_end()
        # How often an answer is read from the network is not the same twice.
        if status != -signal.SIGKILL and trial.name != "fetch":
            found.append("it was not killed")
        wrong += [f"{trial.name}, killed at call {number}, {call} {when}: {what}" for what in found]
    print(f"{trial.name}: {calls} calls, the first {first - 1} only read; killed at each of the "
          f"other {calls - first + 1}: {old} times all old, {new} times all new, {mixed} times "
          f"some files done; {len(wrong)} faults", flush=True)
    return wrong


def refuse_everywhere(trial: Trial) -> list[str]:
    wrong = []
    log = (trial.work / "calls").read_text(errors="replace").splitlines()
    for call, error in REFUSED:
        calls = [line for line in log if line.startswith(call + "(")]
        # Files that are only read are opened first; those that are made come last.
        first = next((n for n, line in enumerate(calls) if call != "openat" or "O_CREAT" in line),
                     len(calls))
        for when in range(first + 1, len(calls) + 1):
            status, broken, said = strike(trial, f"{call}:error={error}:when={when}")
            trial.refused += 1
            wrong += [f"{trial.name}, {error} at {call} {when}: {what}" for what in broken]
            if "panicked" in said:
                wrong.append(f"{trial.name}, {error} at {call} {when}: {said[:200]}")
            wrong += [f"{trial.name}, {error} at {call} {when}: {what}"
                      for what in trial.brought_to_end()]
    print(f"{trial.name}: {trial.refused} calls refused by the disk; {len(wrong)} faults", flush=True)
    return wrong


def small_disk(trial: Trial) -> list[str]:
    """Runs on a disk of a few blocks that is full, then on one that is read-only."""
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(trial.folder)]
    shutil.rmtree(trial.folder, ignore_errors=True)
    trial.folder.mkdir()
    if subprocess.run(mount, capture_output=True).returncode != 0:
        print(f"{trial.name}: skipped the small disk; this user may not mount one")
        return []
    try:
        return on_small_disk(trial)
    finally:
        subprocess.run(["umount", str(trial.folder)], check=True)


def on_small_disk(trial: Trial) -> list[str]:
    wrong = []
    for name, data in trial.before.items():
        path = trial.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    (trial.folder / trial.command.locks).mkdir(exist_ok=True)
    remount = lambda how: subprocess.run(["mount", "-o", f"remount,{how}", str(trial.folder)],
                                         check=True)
    remount("ro")
    status, said = trial.run([])
    if status == 0 or "Read-only" not in said or contents(trial.folder) != trial.before:
        wrong.append(f"{trial.name}: read-only disk: status {status}, {said}")
    remount("rw")
    fill(trial.folder / ".fairday-ballast")
    status, said = trial.run([])
    refused = status != 0 and "No space left" in said and contents(trial.folder) == trial.before
    # Who takes things away makes room by it.
    if not refused and (trial.command.whole or trial.broken()):
        wrong.append(f"{trial.name}: full disk: status {status}, {said}")
    print(f"{trial.name}: full and read-only disk, {len(wrong)} faults: {said.strip()[-60:]}",
          flush=True)
    return wrong


def fill(path: Path) -> None:
    """Writes until nothing fits any more; a program that clears up leaves it alone."""
    with open(path, "wb", buffering=0) as ballast:
        try:
            while True:
                ballast.write(bytes(4096))
        except OSError:
            pass
    os.rename(path, path.with_name("ballast"))


def while_another_runs(trial: Trial) -> list[str]:
    """Holds the folder as another run would."""
    trial.reset()
    (trial.folder / trial.command.locks).mkdir(exist_ok=True)
    held = os.open(trial.folder / trial.command.locks, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX)
        status, said = trial.run([])
    finally:
        os.close(held)
    wrong = []
    if status != 2 or "another run" not in said:
        wrong.append(f"{trial.name}, while another runs: status {status}, {said[:200]}")
    if contents(trial.folder) != trial.before:
        wrong.append(f"{trial.name}, while another runs: something was written")
    print(f"{trial.name}: waits for another run and says so; {len(wrong)} faults", flush=True)
    return wrong


def closed_orders() -> dict[str, bytes]:
    """Two closed orders of one customer, of whom nobody was told yet that they left."""
    told = b"  - {on: 2026-05-06, kind: dispatched, date: 2026-05-06}\n"
    sent = (ROOT / "orders" / "2026-009-whitlock.yaml").read_bytes().replace(told, b"")
    return {"2026-009-whitlock.yaml": sent,
            "2026-010-whitlock.yaml": sent.replace(b"2026-009", b"2026-010")}


def commands(work: Path) -> list[Command]:
    """Every command that writes, those that cost most time first."""
    marks = ["2026-021", "2026-026", "2026-018"]
    judged = ["2026-020/1,2", "2026-016"]
    good = ["--verdict", "good"]
    remakes, why = ["2026-021/1", "2026-020/3"], ["--reason", "fogged"]
    send = ["send", "2026-017", "2026-029", "--steps", "0"]
    told = ["send", "2026-009", "2026-010", "--steps", "0"]
    piece = "title: Fern, material: rag-300, size: A4, copies: 2, negative: fern"
    poured = lambda of, ml, left: ["mark", "coated", *of, "--poured", ml, "--left", left]
    light = [["expose", "2026-021", "--frame", "small"]]
    exposed = ["mark", "exposed", "2026-021", "--minutes", "24"]
    strip = ["strip", "rag-300", "--at", "2026-05-10 12:40", "--minutes", "4,5.5,8,11", "--best", "3"]
    of = lambda orders: tuple(order[:8] for order in orders)
    return [
        # Its journal tells of a try that the disk refused.
        Command("send", send, [[*send, "--again"]], of(send[1:3]), whole=False),
        Command("forget", ["forget", "Tom Whitlock", "--yes"], files=closed_orders(),
                prepare=[told, ["card", "2026-009"], ["certificate", "2026-010"]], whole=False),
        Command("man", ["man"], locks=".", to=["--to"]),
        Command("new", ["new", "--today", "2026-05-11"], to=[]),
        Command("mark", ["mark", "dried", *marks], [["mark", "dried", one] for one in marks],
                of(marks)),
        Command("coated", poured(["2026-022", "2026-023/4-6"], "16", "2"),
                [poured(["2026-022", "2026-023/4-6"], "16", "2")],
                ("2026-022", "2026-023")),
        Command("judged", ["mark", "judged", *judged, *good],
                [["mark", "judged", one, *good] for one in judged], of(judged),
                prepare=[["mark", "exposed", "2026-016", "--minutes", "22"]]),
        Command("remake", ["remake", *remakes, *why], [["remake", one, *why] for one in remakes],
                of(remakes)),
        Command("take", ["take", "--name", "Ada Brook", "--to", "home", "--promise", "none",
                         "--jurisdiction", "uk", "--piece", piece], studio=FEW_WEATHERS, adds=True),
        Command("import", ["import", str(table(work))], studio=IMPORT),
        Command("expose", light[0], orders=("2026-021",)),
        Command("pause", ["expose", "--pause"], orders=("2026-021",), prepare=light),
        Command("exposed", exposed, [exposed, ["expose", "--once"]], ("2026-021",), prepare=light),
        Command("strip", strip),
        Command("fetch", ["fetch"],
                studio=f"\nfetch: {{contact: maren@example.org, host: '{serve()}'}}\n"),
        Command("keep", ["plan", "--keep", "--steps", "0"]),
        Command("sheet", ["sheet", "--steps", "0"], locks="sheets"),
        Command("card", ["card", "2026-017"], locks="sheets"),
        Command("certificate", ["certificate", "2026-017"], locks="sheets"),
        Command("calendar", ["calendar", "--steps", "0"], locks="sheets"),
        Command("schema", ["schema"], locks="schema"),
    ]


def try_all(trial: Trial) -> list[str]:
    if trial.before == trial.after:
        return [f"{trial.name}: wrote nothing"]
    began = time.monotonic()
    wrong = kill_everywhere(trial) + refuse_everywhere(trial) + while_another_runs(trial)
    wrong += small_disk(trial)
    print(f"{trial.name}: took {time.monotonic() - began:.0f} s", flush=True)
    return wrong


def main() -> int:
    ready("strace")
    subprocess.run(["cargo", "build", "--quiet"], check=True, cwd=ROOT)
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    program = target / "debug" / "fairday"
    only, began = sys.argv[1:], time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        trials = [Trial(work, program, command) for command in commands(work)
                  if not only or command.name in only]
        with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
            wrong = [line for found in pool.map(try_all, trials) for line in found]
    print(f"{len(trials)} commands, killed {sum(trial.struck for trial in trials)} times, refused "
          f"{sum(trial.refused for trial in trials)} times, {len(wrong)} faults, in "
          f"{time.monotonic() - began:.0f} s")
    print("\n".join(wrong[:40]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
