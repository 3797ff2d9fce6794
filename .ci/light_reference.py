#!/usr/bin/env python3
"""Makes the tables of tests/reference/light again and compares them with ours.

Installs the pinned versions into a virtual environment in a temporary folder, runs
the recipe there and leaves nothing behind. The same processor gives the same bytes;
another one may round the last bit of a logarithm differently, so a number may be off
by one in its last printed digit. Anything more, a missing row or a changed word ends
with status 1.

Usage: .ci/light_reference.py    (Python 3.11 or later, a package index for pip)
"""
import csv
import subprocess
import sys
import tempfile
import venv
from decimal import Decimal, InvalidOperation
from pathlib import Path

TABLES = Path(__file__).resolve().parent.parent / "tests" / "reference" / "light"


def make_tables(work: Path) -> Path:
    """Runs the recipe in a fresh environment and returns the folder of its tables."""
    venv.create(work / "venv", with_pip=True)
    python = str(work / "venv" / "bin" / "python")
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "--requirement", str(TABLES / "requirements.txt")], check=True)
    made = work / "made"
    recipe = [python, str(TABLES / "generate.py"), str(made)]
    subprocess.run(recipe, check=True, stdout=subprocess.DEVNULL)
    return made


def same_number(one: str, other: str) -> bool:
    """Whether two fields are numbers at most one apart in their last printed digit."""
    try:
        a, b = Decimal(one), Decimal(other)
    except InvalidOperation:
        return False
    if not (a.is_finite() and b.is_finite()):
        return False
    digit = max(a.as_tuple().exponent, b.as_tuple().exponent)
    return abs(a - b) <= Decimal(1).scaleb(digit)


def differences(committed: Path, made: Path) -> list[str]:
    """Says what differs between two tables by more than the last digit."""
    with open(committed, newline="") as a, open(made, newline="") as b:
        ours, theirs = list(csv.reader(a)), list(csv.reader(b))
    if len(ours) != len(theirs):
        return [f"{len(ours)} lines committed, {len(theirs)} made"]
    found = []
    for line, (one, other) in enumerate(zip(ours, theirs), 1):
        pairs = zip(one, other)
        if len(one) != len(other) or any(a != b and not same_number(a, b) for a, b in pairs):
            found.append(f"line {line}: committed {','.join(one)} | made {','.join(other)}")
    return found


def compare(made: Path) -> int:
    """Compares all tables, says the result, and returns the exit status."""
    names = sorted({path.name for folder in (TABLES, made) for path in folder.glob("*.csv")})
    same, rounded, wrong = 0, [], []
    for name in names:
        committed, again = TABLES / name, made / name
        if not (committed.exists() and again.exists()):
            wrong.append(f"{name}: {'not made' if committed.exists() else 'not committed'}")
        elif committed.read_bytes() == again.read_bytes():
            same += 1
        elif found := differences(committed, again):
            wrong += [f"{name} {difference}" for difference in found[:5]]
        else:
            rounded.append(name)
    for line in wrong:
        print(f"light reference: {line}", file=sys.stderr)
    if rounded:
        print(f"light reference: last digits differ in {', '.join(rounded)}")
    print(f"light reference: {same} of {len(names)} tables the same, byte for byte")
    return 1 if wrong else 0


def main() -> int:
    with tempfile.TemporaryDirectory() as work:
        return compare(make_tables(Path(work)))


if __name__ == "__main__":
    sys.exit(main())
