#!/usr/bin/env python3
"""A general exact solver as judge: solve.py INSTANCE [--seconds S] [--hint PLAN] [--out PLAN].

--cpu-seconds stops by the processor time of all workers together instead of by
the clock, so that other work on the machine takes nothing from the judge.
The core planning problem written for OR-Tools CP-SAT, from the statement of the
problem alone; it shares nothing with the planner. Prints one JSON line with the
cost, its terms and the proven lower bound. --hint starts from a given plan.
Knows the plain format only (no lots under way beyond coated_end, no hand-over).
"""
import argparse
import json
import threading
import time
from collections import defaultdict

import ortools
from ortools.sat.python import cp_model


def read(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


class Judge:
    def __init__(self, instance):
        self.given = instance
        self.m = cp_model.CpModel()
        self.hands, self.places = [], defaultdict(list)
        self.cost, self.terms = [], defaultdict(list)
        self.vars = {}
        self.lots, self.orders = {}, {}
        self.sessions()
        for lot in instance["lots"]:
            self.lot(lot)
        for order in instance["orders"]:
            self.order(order)
        self.resources()
        weight = instance["weights"]
        self.m.minimize(sum(weight[k] * sum(v) for k, v in self.terms.items()))

    def starts(self, length, first=0, last=None):
        """Starts at which one person can work for `length` slots."""
        last = self.given["horizon"] if last is None else last
        spans = [[max(b, first), min(e - length, last)] for b, e in self.given["work"]]
        return cp_model.Domain.from_intervals([s for s in spans if s[0] <= s[1]])

    def step(self, name, length, here, first=0, last=None):
        """A step of one person in work hours, optional with the literal `here`."""
        domain = self.starts(length, first, last)
        if domain.is_empty():
            self.m.add(here == 0)
            domain = cp_model.Domain(0, self.given["horizon"])
        at = self.m.new_int_var_from_domain(domain, name)
        self.hands.append(self.m.new_optional_fixed_size_interval_var(at, length, here, name))
        return at

    def take(self, resource, start, length, amount, here, name):
        interval = self.m.new_optional_fixed_size_interval_var(start, length, here, name)
        self.places[resource].append((interval, amount))

    def sessions(self):
        rule, day = self.given["session"], self.given["per_day"]
        self.session = []
        for d in range(-(-self.given["horizon"] // day)):
            first, last = d * day, min((d + 1) * day, self.given["horizon"]) - 1
            if self.starts(rule["setup"], first, last).is_empty():
                continue
            before = None
            for k in range(rule["max_per_day"]):
                used = self.m.new_bool_var(f"session {d} {k}")
                at = self.step(f"setup {d} {k}", rule["setup"], used, first, last)
                if before:
                    self.m.add_implication(used, before[1])
                    self.m.add(before[0] <= at)
                before = (at, used)
                self.session.append((at, used))
                self.terms["session"].append(used)

    def lot(self, lot):
        m, given, name = self.m, self.given, lot["id"]
        here = m.new_bool_var(f"in {name}")
        v = {"here": here}
        if lot["coated_end"] is None:
            v["coat"] = self.step(f"coat {name}", lot["coat"], here, first=lot["release"])
            coated = v["coat"] + lot["coat"]
            v["in"] = []
            for k, (start, used) in enumerate(self.session):
                lit = m.new_bool_var(f"{name} in {k}")
                mixed = start + given["session"]["setup"]
                m.add(mixed <= v["coat"]).only_enforce_if(lit)
                m.add(coated <= mixed + given["session"]["mix_life"]).only_enforce_if(lit)
                m.add_implication(lit, used)
                v["in"].append(lit)
            m.add(sum(v["in"]) == here)
        else:
            coated = lot["coated_end"]
        dry = coated + lot["dark"]
        # A piece that is coated dries in its place whether the plan goes on with it or not.
        there = here if lot["coated_end"] is None else True
        self.take("dark_" + lot["space"], coated, lot["dark"], lot["amount"], there, f"dark {name}")
        groups = defaultdict(list)
        load, unload = given["load"], given["unload"]
        for first, last, length, risk in given["classes"][lot["cls"]]["options"]:
            if lot["attended"]:
                spans = [(b + load, e - unload - length) for b, e in given["work"]]
                spans = [(max(first, b), min(last, e)) for b, e in spans]
            else:
                one = [(b + load, e) for b, e in given["work"]]
                two = [(b - length, e - unload - length) for b, e in given["work"]]
                spans = [(max(first, p[0], q[0]), min(last, p[1], q[1])) for p in one for q in two]
            groups[(length, risk)] += [list(s) for s in spans if s[0] <= s[1]]
        groups = {k: s for k, s in groups.items() if s}
        x = m.new_int_var(0, given["horizon"], f"expose {name}")
        length = m.new_int_var(0, max([k[0] for k in groups], default=0), f"length {name}")
        v["expose"], v["rows"] = x, []
        for (size, risk), spans in sorted(groups.items()):
            lit = m.new_bool_var(f"{name} {size} {risk}")
            domain = cp_model.Domain.from_intervals(spans)
            m.add_linear_expression_in_domain(x, domain).only_enforce_if(lit)
            m.add(length == size).only_enforce_if(lit)
            self.terms["risk"].append(risk * lit)
            v["rows"].append((lit, size, risk, domain))
        m.add(sum(row[0] for row in v["rows"]) == here)
        begin = m.new_int_var(-load, given["horizon"], f"begin {name}")
        gone = m.new_int_var(0, given["horizon"] * 2, f"gone {name}")
        m.add(begin == x - load)
        taken = m.new_int_var(0, given["horizon"] * 2, f"taken {name}")
        m.add(taken == x + length)
        m.add(gone == taken + unload)
        m.add(dry <= begin).only_enforce_if(here)
        m.add(begin <= dry + lot["box"]).only_enforce_if(here)
        whole = m.new_int_var(load + unload, load + unload + 10_000, f"whole {name}")
        m.add(whole == length + load + unload)
        frame = m.new_optional_interval_var(begin, whole, gone, here, f"frame {name}")
        self.places["frame " + lot["frame"]].append((frame, 1))
        if lot["attended"]:
            self.hands.append(frame)
        else:
            fixed = m.new_optional_fixed_size_interval_var
            self.hands.append(fixed(begin, load, here, f"load {name}"))
            self.hands.append(fixed(taken, unload, here, f"unload {name}"))
        v["wash"] = self.step(f"wash {name}", lot["wash"], here)
        m.add(gone <= v["wash"]).only_enforce_if(here)
        m.add(v["wash"] <= gone + given["wash_gap"]).only_enforce_if(here)
        self.take("tray", v["wash"], lot["wash"], lot["tray"], here, f"tray {name}")
        wet = v["wash"] + lot["wash"]
        self.take("open_" + lot["space"], wet, lot["open"], lot["amount"], here, f"open {name}")
        last = given["horizon"] - lot["finish"]
        v["finish"] = self.step(f"finish {name}", lot["finish"], here, last=last)
        m.add(v["finish"] >= wet + max(lot["open"], lot["cure"])).only_enforce_if(here)
        v["done"] = v["finish"] + lot["finish"]
        v.update(length=length, begin=begin, taken=taken, gone=gone, whole=whole)
        self.lots[name] = v

    def order(self, order):
        m, given = self.m, self.given
        served = m.new_bool_var(f"served {order['id']}")
        pack = self.step(f"pack {order['id']}", order["pack"], served)
        for lot in order["lots"]:
            m.add_implication(served, self.lots[lot]["here"])
            m.add(self.lots[lot]["done"] <= pack).only_enforce_if(served)
        promise = order["promise"] // given["per_day"]
        days = [(~served, given["unserved_day"])]
        leaves = []
        for at in given["collections"]:
            lit = m.new_bool_var(f"{order['id']} leaves {at}")
            m.add(pack + order["pack"] <= at).only_enforce_if(lit)
            leaves.append(lit)
            days.append((lit, at // given["per_day"]))
        m.add(sum(leaves) == served)
        for lit, day in days:
            self.terms["late"].append(order["weight"] * max(0, day - promise) * lit)
            self.terms["ship"].append(order["weight"] * day * lit)
        self.orders[order["id"]] = {"served": served, "pack": pack, "leaves": leaves}

    def resources(self):
        given = self.given
        if given["operators"] == 1:
            self.m.add_no_overlap(self.hands)
        else:
            self.m.add_cumulative(self.hands, [1] * len(self.hands), given["operators"])
        capacity = dict(given["capacity"])
        capacity.update({"frame " + k: n for k, n in given["frames"].items()})
        for resource, items in self.places.items():
            intervals, amounts = [i for i, _ in items], [a for _, a in items]
            self.m.add_cumulative(intervals, amounts, capacity[resource])

    def hint(self, plan):
        m, given, rule = self.m, self.given, self.given["session"]
        lots = {lot["id"]: lot for lot in given["lots"]}
        day = given["per_day"]
        by_day, place = defaultdict(list), {}
        for k, s in enumerate(plan["sessions"]):
            by_day[s["start"] // day].append((s["start"], k))
        slots = defaultdict(list)
        for k, (at, _) in enumerate(self.session):
            name = at.name.split()
            slots[int(name[1])].append(k)
        for d, ks in slots.items():
            for k, taken in zip(ks, sorted(by_day[d]) + [None] * len(ks)):
                at, used = self.session[k]
                m.add_hint(used, taken is not None)
                if taken is not None:
                    m.add_hint(at, taken[0])
                    place[taken[1]] = k
        for name, v in self.lots.items():
            p = plan["lots"].get(name)
            m.add_hint(v["here"], p is not None)
            if p is None:
                for row in v["rows"]:
                    m.add_hint(row[0], 0)
                continue
            if "in" in v:
                m.add_hint(v["coat"], p["coat"])
                for k, lit in enumerate(v["in"]):
                    m.add_hint(lit, place[p["session"]] == k)
            m.add_hint(v["expose"], p["expose"])
            for lit, size, _, domain in v["rows"]:
                chosen = domain.contains(p["expose"])
                m.add_hint(lit, chosen)
                if chosen:
                    m.add_hint(v["length"], size)
                    m.add_hint(v["begin"], p["expose"] - given["load"])
                    m.add_hint(v["taken"], p["expose"] + size)
                    m.add_hint(v["gone"], p["expose"] + size + given["unload"])
                    m.add_hint(v["whole"], size + given["load"] + given["unload"])
            m.add_hint(v["wash"], p["wash"])
            m.add_hint(v["finish"], p["finish"])
        for order in given["orders"]:
            v, p = self.orders[order["id"]], plan["orders"].get(order["id"])
            m.add_hint(v["served"], p is not None)
            first = None
            if p is not None:
                m.add_hint(v["pack"], p["pack"])
                end = p["pack"] + order["pack"]
                first = min(c for c in given["collections"] if c >= end)
            for at, lit in zip(given["collections"], v["leaves"]):
                m.add_hint(lit, at == first)

    def plan(self, solver):
        sessions = [(solver.value(at), k) for k, (at, used) in enumerate(self.session) if solver.value(used)]
        sessions.sort()
        index = {k: i for i, (_, k) in enumerate(sessions)}
        lots = {}
        for name, v in self.lots.items():
            if not solver.value(v["here"]):
                continue
            lots[name] = {k: solver.value(v[k]) for k in ("expose", "wash", "finish")}
            if "in" in v:
                lots[name]["coat"] = solver.value(v["coat"])
                lots[name]["session"] = next(index[k] for k, l in enumerate(v["in"]) if solver.value(l))
        orders = {k: {"pack": solver.value(v["pack"])} for k, v in self.orders.items() if solver.value(v["served"])}
        return {"sessions": [{"start": s} for s, _ in sessions], "lots": lots, "orders": orders}


class CpuWatch(threading.Thread):
    """Stops a search once the process has used so much processor time. [s]"""

    def __init__(self, solver, seconds):
        super().__init__(daemon=True)
        self.solver, self.until = solver, time.process_time() + seconds

    def run(self):
        while time.process_time() < self.until:
            time.sleep(0.05)
        self.solver.stop_search()


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("instance")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--cpu-seconds", type=float)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--hint")
    parser.add_argument("--out")
    args = parser.parse_args()
    instance = read(args.instance)
    judge = Judge(instance)
    if args.hint:
        judge.hint(read(args.hint))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = args.workers
    if args.cpu_seconds is None:
        solver.parameters.max_time_in_seconds = args.seconds
    else:
        CpuWatch(solver, args.cpu_seconds).start()
    began, cpu = time.monotonic(), time.process_time()
    status = solver.solve(judge.m)
    line = {"instance": instance["name"], "status": solver.status_name(status)}
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        line["cost"] = round(solver.objective_value)
        line.update({k: solver.value(sum(v)) for k, v in judge.terms.items()})
        if args.out:
            with open(args.out, "w", encoding="utf-8") as file:
                json.dump(judge.plan(solver), file)
    line["bound"] = round(solver.best_objective_bound)
    line["seconds"] = round(time.monotonic() - began, 1)
    line["cpu_seconds"] = round(time.process_time() - cpu, 1)
    line["ortools"] = ortools.__version__
    print(json.dumps(line))


if __name__ == "__main__":
    main()
