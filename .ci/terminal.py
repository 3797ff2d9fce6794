#!/usr/bin/env python3
"""Sits at a terminal of 80 columns and 24 rows and uses the program there.

The dialogue of `take` with slips, a change of mind and a line that breaks off; the
pager, colour and NO_COLOR; a word of progress that comes after half a second and is
gone before the answer; no screen wider than the terminal; what bash completes, and the
manual as groff sets it. The terminal is a pseudo-terminal of this machine.

Usage: .ci/terminal.py PROGRAM    (Python 3.11; bash; groff, skipped by name without it)
"""
import fcntl
import os
import pty
import re
import select
import shlex
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PROGRAM = Path(sys.argv[1]).resolve()
COLUMNS, ROWS = 80, 24
PATIENCE = 60
ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


class Terminal:
    """A program at a terminal of its own."""

    def __init__(self, folder: Path, *line: str, **environment: str):
        # All that was shown, and how much of it was waited for.
        self.shown, self.seen = "", 0
        self.child, self.end = pty.fork()
        if self.child == 0:
            inside = {"PATH": os.environ["PATH"], "TERM": "xterm", **environment}
            os.chdir(folder)
            # The size is there before the program looks.
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
            os.execve(PROGRAM, [str(PROGRAM), *line], inside)

    def read(self, seconds: float) -> bool:
        """Takes in what is shown next; false when nothing came, or nothing more will."""
        if not select.select([self.end], [], [], seconds)[0]:
            return False
        try:
            data = os.read(self.end, 65536)
        except OSError:
            return False
        self.shown += data.decode(errors="replace").replace("\r\n", "\n")
        return bool(data)

    def wait_for(self, words: str) -> None:
        until = time.monotonic() + PATIENCE
        while (at := self.shown.find(words, self.seen)) < 0:
            if time.monotonic() > until or not self.read(1.0) and self.has_ended():
                fail(f"`{words}` did not come; there was: {self.shown[-400:]}")
        self.seen = at + len(words)

    def type(self, words: str) -> None:
        os.write(self.end, words.encode())

    def has_ended(self) -> bool:
        done, self.status = os.waitpid(self.child, os.WNOHANG)
        return done != 0

    def finish(self) -> tuple[int, str]:
        """Returns how it ended and all that was shown."""
        until = time.monotonic() + PATIENCE
        while self.read(PATIENCE):
            if time.monotonic() > until:
                os.kill(self.child, signal.SIGKILL)
                fail(f"it does not end: {self.shown[-400:]}")
        _, status = os.waitpid(self.child, 0)
        os.close(self.end)
        return os.waitstatus_to_exitcode(status), self.shown


def fail(words: str) -> None:
    sys.exit(f"terminal: {words}")


def check(holds: bool, words: str) -> None:
    if not holds:
        fail(words)


def studio(work: Path, name: str) -> Path:
    folder = work / name
    shutil.copytree(ROOT / "orders", folder, ignore=shutil.ignore_patterns("outbox", "sheets"))
    return folder


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


# What is asked, in its order, and what is typed; a slip is answered and asked again.
TALK = [
    ("Customer's name: ", "Ada Brook"),
    ("Mail address, copies after commas (or nothing): ", "ada(at)example.org"),
    ("expected an address such as ada@example.org", None),
    ("Mail address, copies after commas (or nothing): ", "ada@example.org"),
    ("What it shows: ", "Fern"),
    ("Material (", "rag"),
    ("did you mean rag-300?", None),
    ("Material (", "rag-300"),
    ("Size, such as A4 or 8x10 in: ", "A0"),
    ("goes into no frame", None),
    ("Size, such as A4 or 8x10 in: ", "A4"),
    ("Copies [1]: ", "1000000"),
    ("expected 1 to 500", None),
    ("Copies [1]: ", "2"),
    ("Name of the negative (or nothing): ", "fern"),
    ("Light (sun, lamp) [sun]: ", ""),
    ("Another piece [no]: ", ""),
    ("Goes to (", "home"),
    ("Postal address, its lines parted by commas (or nothing): ", "12 Quayside, Northport"),
    ("Whose rules hold (eu, uk, us, other) [", "uk"),
    ("holds in ", None),
    ("Promised to arrive by, if that day was named (or nothing): ", ""),
    ("Promised to leave by (a day, none, or safe: ", "2026-05-01"),
    ("lies before the day of the order", None),
    ("Promised to leave by (a day, none, or safe: ", "safe"),
]
WRITTEN = ("order: 2026-031\ncustomer:\n  name: Ada Brook\n  email: ada@example.org\n"
           "  address: 12 Quayside, Northport\nordered_on: 2026-05-11\n")


def talk(terminal: Terminal) -> None:
    for question, answer in TALK:
        terminal.wait_for(question)
        if answer is not None:
            terminal.type(answer + "\r")


def check_take(work: Path) -> None:
    folder = studio(work, "take")
    before = names(folder)
    terminal = Terminal(folder, "take")
    talk(terminal)
    terminal.wait_for("Write 2026-031-brook.yaml [yes]: ")
    check(names(folder) == before, "take: something was written before the question")
    terminal.type("\r")
    status, _ = terminal.finish()
    text = (folder / "2026-031-brook.yaml").read_text()
    check(status == 0 and text.startswith(WRITTEN), f"take: {status}, {text}")
    check(re.search(r"promise: \{kind: ship_by, date: 2026-05-\d\d\}", text), f"take: {text}")
    for name, last in [("no", "no\r"), ("ended", "\x04"), ("stopped", "\x03")]:
        folder = studio(work, name)
        terminal = Terminal(folder, "take")
        talk(terminal)
        terminal.wait_for("[yes]: ")
        terminal.type(last)
        status, shown = terminal.finish()
        wanted = {"no": 0, "ended": 2, "stopped": -signal.SIGINT}[name]
        check(status == wanted, f"take, {name}: {status}, {shown[-200:]}")
        check(names(folder) == before, f"take, {name}: something was written")
    print(f"terminal: take asked {sum(a is not None for _, a in TALK)} times, slips included; "
          "no, an end and an interrupt write nothing")


def check_pager(work: Path) -> None:
    demo = studio(work, "pager")
    seen = work / "seen"
    pager = f"cat > {seen}; echo paged"
    _, shown = Terminal(demo, "plan", "--steps", "0", PAGER=pager).finish()
    check("paged" in shown and "Samphire" in seen.read_text(), "the pager was not asked")
    for line, environment in [(["plan", "--steps", "0", "--no-pager"], {"PAGER": pager}),
                              (["plan", "--steps", "0"], {"PAGER": "cat"}),
                              (["plan", "--steps", "0"], {"PAGER": pager, "TERM": "dumb"}),
                              (["check"], {"PAGER": pager})]:
        _, shown = Terminal(demo, *line, **environment).finish()
        check("paged" not in shown, f"{line}, {environment}: went through the pager")
        check("Samphire" in shown or "files read" in shown, f"{line}: no answer")
    print("terminal: a long page goes through PAGER, a short one and a dumb terminal do not")


def check_colour(work: Path) -> None:
    demo = studio(work, "colour")
    def is_coloured(*more: str, **environment: str) -> bool:
        _, shown = Terminal(demo, "blocked", "--steps", "0", "--no-pager", *more,
                            **environment).finish()
        return "\x1b[" in shown
    check(is_coloured(), "no colour on a terminal")
    check(not is_coloured(NO_COLOR="1"), "colour in spite of NO_COLOR")
    check(is_coloured(NO_COLOR=""), "an empty NO_COLOR counts as none (no-color.org)")
    check(not is_coloured("--color", "never"), "colour in spite of --color never")
    print("terminal: colour on a terminal, none with NO_COLOR")


def check_progress(work: Path) -> None:
    demo = studio(work, "progress")
    terminal = Terminal(demo, "plan", "--seconds", "2", "--no-pager")
    began = time.monotonic()
    terminal.wait_for("thinking about the plan …")
    waited = time.monotonic() - began
    _, shown = terminal.finish()
    before, _, after = shown.rpartition("\r")
    check("Samphire" not in before and "Samphire" in after, "the answer came before its time")
    check(before.endswith(" "), "the word of progress was not taken away")
    check(waited > 0.4, f"the word of progress came after {waited:.2f} s")
    print("terminal: a word of progress comes and goes")


SCREENS = ["plan", "blocked", "promise", "light", "notices", "stock", "review", "check", "about",
           "strip rag-300", "expose", "promise --material rag-300 --size A4 --to home",
           "sheet", "card 2026-023", "certificate 2026-023", "calendar", "schema",
           "mark dried 2026-021", "remake 2026-021/1 --reason fogged", "send", "fetch",
           "plan --keep", "plan --since", "plan --if 'hands 2'", "forget Whitlock", "--help", "mark --help", "take --help"]


def check_width(work: Path) -> None:
    demo, lines = studio(work, "width"), 0
    for screen in SCREENS:
        _, shown = Terminal(demo, *shlex.split(screen), PAGER="cat").finish()
        plain = [line.rpartition("\r")[2] for line in ESCAPES.sub("", shown).split("\n")]
        wide = [line for line in plain if len(line) > COLUMNS]
        check(not wide, f"{screen}: wider than {COLUMNS} columns: {wide[:2]}")
        check(len(plain) > 1, f"{screen}: no answer")
        lines += len(plain)
    print(f"terminal: {len(SCREENS)} screens, {lines} lines, none wider than {COLUMNS} columns")


def check_completions() -> None:
    ask = """source <("$0" completions bash)
    complete_words() { COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMPREPLY=()
                       _fairday fairday "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD - 1]}"; echo "${COMPREPLY[@]}"; }
    complete_words fairday cal; complete_words fairday take --pro; complete_words fairday plan --color n"""
    done = subprocess.run(["bash", "-c", ask, str(PROGRAM)], capture_output=True, text=True)
    wanted = ["calendar", "--promise", "never"]
    check(done.stdout.split() == wanted, f"bash completes {done.stdout!r}, {done.stderr}")
    print("terminal: bash completes commands, switches and values")


def check_manual(work: Path) -> None:
    if shutil.which("groff") is None:
        print("terminal: skipped the manual; groff is not installed")
        return
    pages = work / "man"
    subprocess.run([PROGRAM, "man", "--to", pages], check=True, stdout=subprocess.DEVNULL)
    wrong = []
    for page in sorted(pages.iterdir()):
        done = subprocess.run(["groff", "-k", "-man", "-Tutf8", "-ww", "-z", str(page)],
                              capture_output=True, text=True)
        wrong += done.stderr.splitlines()
    check(not wrong, f"the manual: {wrong[:5]}")
    print(f"terminal: {len(names(pages))} pages of the manual set by groff without a word")


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        check_take(work)
        check_pager(work)
        check_colour(work)
        check_progress(work)
        check_width(work)
        check_completions()
        check_manual(work)
    return 0


if __name__ == "__main__":
    sys.exit(main())
