"""Measure the planner on published problems and on made-up furniture jobs.

    python -m tests.bench.planner FAMILY [--every 10] [--seconds 3] [--processes 2]

Families: bwmv, bwmv-turned, furniture, one-dimension, several-sheets,
several-sheets-costs, and jobs-small, jobs-medium, jobs-large (from make_jobs.py). One row a problem, sums at the end.
"""

import argparse
import json
import time
from concurrent.futures import ProcessPoolExecutor
from math import inf
from statistics import median

from jobs.cutting.format import read_problem, write_plan
from jobs.cutting.planner import solve
from tests.bench.make_jobs import problem as made_up_job
from tests.bench.rectpack_buys import least_bought
from tests.outside.check_plan import Checker
from tests.outside.published_problems import as_problem, published

FAMILIES = {
    # The file, the key of the known values, and how the problem is read from the file.
    "bwmv": ("bwmv", "2BP|O|G", {"may_turn": False}),
    "bwmv-turned": ("bwmv", "2BP|R|G", {"may_turn": True}),
    "furniture": ("furniture", "2BP|O|G", {"may_turn": False}),
    "furniture-turned": ("furniture", "2BP|R|G", {"may_turn": True}),
    "one-dimension": ("one_dimension", "1BP", {"may_turn": False}),
    "several-sheets": ("several_sheets", "2VSBP|O|F:cost", {"may_turn": False, "by_area": True}),
    # At their costs there is nothing to compare with: the known values are areas.
    "several-sheets-costs": ("several_sheets", None, {"may_turn": False}),
}


def problems(family, every, first, compare):
    """(name, problem in the planning format, best known value or None)."""
    if family.startswith("jobs-"):
        size = family.removeprefix("jobs-")
        seeds = range(first, 60, every)
        jobs = [(f"{size} {seed}", made_up_job(seed, size)) for seed in seeds]
        return [(name, job, float(least_bought(job) or 0) if compare else None) for name, job in jobs]
    name, key, how = FAMILIES[family]
    return [
        (row["name"], as_problem(row, **how), row["known"].get(key)) for row in published(name)[first::every]
    ]


def measured(name, data, known, seconds, clock):
    """Solve one problem; what came out as a dict. `clock` is the name of one in the module time."""
    clock = getattr(time, clock)
    started = clock()
    told = []
    problem = read_problem(data)
    plan = solve(problem, time_limit_s=seconds, clock=clock, progress=told.append)
    took = clock() - started
    checker = Checker(data, json.loads(json.dumps(write_plan(problem, plan))))
    return {
        "name": name,
        "sound": checker.run(),
        "bought": float(plan.bought),
        "bound": float(plan.bought_bound),
        "known": known,
        "net": float(plan.rack_used - plan.kept),
        "unplaced": sum(row.quantity for row in plan.unplaced),
        "first": told[0].seconds if told else took,
        "proven": next(
            (now.seconds for now in told if not now.unplaced and now.bought == now.bound),
            plan.seconds if plan.is_optimal else inf,
        ),
        "seconds": took,
    }


def told(row):
    """One row of the table."""
    known = "" if row["known"] is None else f" known {row['known']:>9}"
    mark = "=" if row["bought"] == row["bound"] else " "
    return (
        f"{row['name']:<22} bought {row['bought']:>10.2f} bound {row['bound']:>10.2f} {mark}{known}"
        f" net {row['net']:>9.2f} first {row['first']:.2f} s, proven {row['proven']:.2f} s,"
        f" all {row['seconds']:.2f} s"
        f"{'' if row['sound'] else '  UNSOUND'}{' unplaced ' + str(row['unplaced']) if row['unplaced'] else ''}"
    )


def summary(rows):
    """The sums under the table."""
    known = [row for row in rows if row["known"] is not None]
    lines = [
        f"{len(rows)} problems, bought {sum(row['bought'] for row in rows):.2f}, "
        f"bound {sum(row['bound'] for row in rows):.2f}, net {sum(row['net'] for row in rows):.2f}, "
        f"proven {sum(row['bought'] == row['bound'] for row in rows)}, "
        f"unsound {sum(not row['sound'] for row in rows)}, unplaced {sum(row['unplaced'] for row in rows)}, "
        f"longest {max(row['seconds'] for row in rows):.2f} s, "
        f"slowest first plan {max(row['first'] for row in rows):.2f} s, "
        f"median to a proof {median(row['proven'] for row in rows):.2f} s",
    ]
    if known:
        equal = sum(row["bought"] <= row["known"] for row in known)
        lines.append(
            f"known sum {sum(row['known'] for row in known)}, ours {sum(row['bought'] for row in known):.0f}, "
            f"equal or better on {equal} of {len(known)}"
        )
    return "\n".join(lines)


def main():
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("family", choices=[*FAMILIES, "jobs-small", "jobs-medium", "jobs-large"])
    asked.add_argument("--every", type=int, default=10)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--seconds", type=float, default=3)
    asked.add_argument("--processes", type=int, default=2)
    asked.add_argument("--rectpack", action="store_true", help="jobs: compare with its guillotine variants")
    asked.add_argument(
        "--cpu", action="store_true", help="limits in seconds of the processor, for a busy machine"
    )
    options = asked.parse_args()
    clock = "process_time" if options.cpu else "monotonic"
    rows = []
    with ProcessPoolExecutor(options.processes) as pool:
        waiting = [
            pool.submit(measured, *one, options.seconds, clock)
            for one in problems(options.family, options.every, options.first, options.rectpack)
        ]
        for one in waiting:
            rows.append(one.result())
            print(told(rows[-1]), flush=True)
    print(summary(rows))


if __name__ == "__main__":
    main()
