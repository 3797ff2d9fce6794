#!/usr/bin/env python3
"""Compares our audit with a checker that is not ours, plan by plan.

FAIRDAY_PLAN_CHECK names a Python file with `check(instance, plan)`, which
returns broken rules as texts `R3: …`, the cost terms, their sum and more. Beside
it may be a folder `samples` with instances. For invented studios and the
samples, the example program `judged` makes plans and spoils them; both judges
must accept every plan as it was made, and must find the same rules broken, by
the same lots, orders and places, in every spoilt one.

    .ci/check_plans.py [STUDIOS] [ITERATIONS] [SPOILT]

Status 0: the judges agree, or there is no other judge. Needs Python 3.9 alone.
"""
import copy
import importlib.util
import json
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

# What the texts of the other judge say, as the facts that `judged` prints.
NUMBER = r"(-?\d+)"
SPAN = rf"at \[{NUMBER},{NUMBER}\) outside working time"
TEXTS = {
    1: [rf"setup of session {NUMBER} at \[{NUMBER},"],
    2: [rf"{NUMBER} sessions on day {NUMBER}"],
    3: [rf"coating of (.+) {SPAN}"],
    4: [r"(.+) coated before its material is there"],
    5: [r"(.+) coated outside the life of mix", r"(.+) has no session"],
    6: [rf"(.+) exposed at {NUMBER}, not an admissible start"],
    7: [r"(.+) loaded before it is dry"],
    8: [r"(.+) kept too long in the box"],
    9: [rf"(attended exposure of|load|unload) (.+) {SPAN}"],
    10: [rf"wash of (.+) at {NUMBER}, unloaded at {NUMBER}"],
    11: [rf"wash (.+) {SPAN}"],
    12: [r"(.+) finished before dry and cured"],
    13: [rf"finish (.+) {SPAN}"],
    14: [r"(.+) ends after the horizon"],
    15: [rf"pack (.+) {SPAN}"],
    16: [r"(.+) packed before (.+) is finished"],
    17: [r"(.+) packed after the last collection"],
    # How many are counted when it is noticed depends on the order of counting.
    18: [rf"\((?:.*, )?'([^']+)',?\) at {NUMBER}: -?\d+ > {NUMBER}"],
}


def facts(text):
    """[rule, fact, …] of a text, numbers as numbers, in the order of `judged`."""
    rule, _, words = text.partition(": ")
    rule = int(rule[1:])
    if rule == 0:
        return None
    for pattern in TEXTS[rule]:
        found = re.match(pattern, words)
        if found:
            break
    else:
        sys.exit(f"the other judge says something new: {text}")
    said = [int(word) if re.fullmatch(NUMBER, word) else word for word in found.groups()]
    if rule in (2, 9):
        said[0], said[1] = said[1], said[0]
    return (rule, *said)


def change(documents, changes):
    """Makes changes as the example program makes them."""
    for document, path, value in changes:
        at = documents[document]
        try:
            for step in path[:-1]:
                at = at[step]
        except (KeyError, IndexError):
            continue
        last = path[-1]
        if isinstance(at, list):
            if last < len(at):
                if value is None:
                    del at[last]
                else:
                    at[last] = value
        elif value is None:
            at.pop(last, None)
        else:
            at[last] = value


class Tally:
    def __init__(self):
        self.plans = 0
        self.agreed = Counter()
        self.rules = Counter()
        self.differences = []

    def compare(self, check, instance, plan, verdict, name):
        self.plans += 1
        senseless = any(broken[0] == 0 for broken in verdict["broken"])
        if verdict["ended"]:
            self.agreed["without sense to us, not compared"] += 1
            return
        try:
            texts, terms, total, _ = check(instance, plan)
        except (KeyError, IndexError, TypeError, ValueError, ZeroDivisionError) as failure:
            # The other judge stumbles where ours names a fault.
            self.note(senseless, "senseless to both", name, repr(failure), verdict)
            return
        theirs = Counter(filter(None, map(facts, texts)))
        ours = Counter(tuple(broken) for broken in verdict["broken"] if broken[0] != 0)
        unknown = any(text.startswith("R0") for text in texts)
        same = theirs == ours and (senseless or not unknown)
        same = same and terms == verdict["cost"] and total == verdict["total"]
        self.rules.update(rule for rule, *_ in theirs.elements())
        kind = "broken to both" if theirs else "good to both"
        self.note(same, kind, name, (texts, terms, total), verdict)

    def note(self, same, kind, name, theirs, ours):
        if same:
            self.agreed[kind] += 1
        else:
            self.differences.append((name, theirs, ours))


def main():
    path = os.environ.get("FAIRDAY_PLAN_CHECK")
    if not path:
        print("skipped check_plans: FAIRDAY_PLAN_CHECK names no other judge")
        return 0
    spec = importlib.util.spec_from_file_location("other_judge", path)
    judge = importlib.util.module_from_spec(spec)
    sys.dont_write_bytecode = True
    spec.loader.exec_module(judge)
    sizes = (sys.argv[1:] + ["500", "60", "20"][len(sys.argv) - 1 :])[:3]
    samples = sorted(map(str, Path(path).resolve().parent.glob("samples/*.json")))
    command = ["cargo", "run", "--quiet", "--release", "--example", "judged", "--"]
    made = subprocess.Popen([*command, *sizes, *samples], cwd=ROOT, stdout=subprocess.PIPE)
    tally, refused, instances = Tally(), [], 0
    for line in made.stdout:
        case = json.loads(line)
        instance, plan, name = case["instance"], case["plan"], case["instance"]["name"]
        instances += 1
        if judge.check(instance, plan)[0] or case["verdict"]["broken"]:
            refused.append((name, judge.check(instance, plan)[0], case["verdict"]["broken"]))
        tally.compare(judge.check, instance, plan, case["verdict"], name)
        for spoilt in case["spoilt"]:
            documents = copy.deepcopy({"instance": instance, "plan": plan})
            change(documents, spoilt["changes"])
            where = f"{name} with {spoilt['changes']}"
            tally.compare(judge.check, **documents, verdict=spoilt["verdict"], name=where)
    if made.wait() != 0:
        return 2
    print(f"{instances} instances ({len(samples)} samples), {tally.plans} plans")
    print(", ".join(f"{count} {kind}" for kind, count in sorted(tally.agreed.items())))
    rules = sorted(tally.rules.items())
    print("broken rules seen:", ", ".join(f"R{rule} {count}" for rule, count in rules))
    for name, theirs, ours in refused[:10]:
        print(f"REFUSED {name}: they say {theirs}, we say {ours}")
    for name, theirs, ours in tally.differences[:10]:
        print(f"DIFFERENCE {name}\n  they say {theirs}\n  we say   {ours}")
    untried = sorted(set(range(1, 19)) - set(tally.rules)) if tally.plans > 5000 else []
    print(f"{len(refused)} plans refused, {len(tally.differences)} differences")
    if untried:
        print(f"rules that no plan broke, so that nothing is said about them: {untried}")
    return 1 if refused or tally.differences or untried else 0


if __name__ == "__main__":
    sys.exit(main())
