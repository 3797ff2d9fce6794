#!/usr/bin/env python3
"""Our plan of one second beside a general exact solver's of sixty, on invented studios.

Usage: compare.py FOLDER SOLVE INSTANCE...   (Python with requirements.txt installed)

For every instance, SOLVE (the example `solve`, built for release) plans with two
seconds of processor time on two threads. Then solve.py searches with a hundred and
twenty on two workers, once begun from our plan and once from nothing. FOLDER keeps the
plans and one JSON line for each search in `compared.jsonl`; what is in there already is
not searched again, so that a run can be stopped and taken up. Prints a Markdown table
and what it comes to.
"""
import json
import statistics
import subprocess
import sys
from pathlib import Path

JUDGE = Path(__file__).with_name("solve.py")
OURS, THEIRS = "2", "120"


def answer(line):
    done = subprocess.run(line, capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def searches(folder, solve, instance):
    """The three searches of one instance: name and command."""
    plan = folder / f"{Path(instance).stem}.plan.json"
    judge = [sys.executable, JUDGE, instance, "--cpu-seconds", THEIRS]
    yield "ours", [solve, instance, "--cpu-seconds", OURS, "--out", plan]
    yield "begun", [*judge, "--hint", plan]
    yield "nothing", judge


def known(book):
    """What is in the book, by instance and search."""
    lines = book.read_text().splitlines() if book.exists() else []
    found = {}
    for line in map(json.loads, lines):
        found.setdefault(line["instance"], {})[line["search"]] = line
    return found


def gain(ours, other):
    """How much cheaper the other plan is. [%]"""
    return 100 * (ours["cost"] - other["cost"]) / ours["cost"]


def table(found):
    print("| studio | ours | begun from it | gain | from nothing | gain |")
    print("|---|---:|---:|---:|---:|---:|")
    whole = {name: by for name, by in sorted(found.items()) if len(by) == 3}
    for name, by in whole.items():
        cells = [f"{by[k].get('late', '–')} · {by[k].get('cost', '–')}" for k in ("ours", "begun", "nothing")]
        gains = [f"{gain(by['ours'], by[k]):.2f} %" if "cost" in by[k] else "–" for k in ("begun", "nothing")]
        print(f"| {name} | {cells[0]} | {cells[1]} | {gains[0]} | {cells[2]} | {gains[1]} |")
    for k, words in (("begun", "begun from our plan"), ("nothing", "from nothing")):
        both = [(by["ours"], by[k]) for by in whole.values() if "cost" in by[k]]
        fewer = sum(other["late"] < ours["late"] for ours, other in both)
        more = sum(other["late"] > ours["late"] for ours, other in both)
        median = statistics.median(gain(*pair) for pair in both) if both else float("nan")
        print(f"\n{words}: {len(both)} studios, its median gain {median:.2f} %, "
              f"fewer late order-days in {fewer}, more in {more}")


def main():
    folder, solve, *instances = sys.argv[1:]
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    book = folder / "compared.jsonl"
    for instance in instances:
        name = json.loads(Path(instance).read_text())["name"]
        for search, line in searches(folder, solve, instance):
            if search in known(book).get(name, {}):
                continue
            said = answer(line) | {"instance": name, "search": search}
            with book.open("a") as out:
                out.write(json.dumps(said) + "\n")
    table(known(book))


if __name__ == "__main__":
    main()
