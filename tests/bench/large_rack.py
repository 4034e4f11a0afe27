"""How planning goes with the rack: python -m tests.bench.large_rack [seconds]

Parts of `make_jobs.py` against racks of up to 5,000 single offcuts, each problem in a process of its own, through
the planning format and back. Prints a table; every plan is checked by `tests/outside/check_plan.py`.
"""

import json
import random
import resource
import subprocess
import sys
import time
from typing import Any

from tests.bench.make_jobs import problem

#: Size of a job, how many of them together, offcuts on the rack.
CASES = [
    ("small", 1, 0),
    ("small", 1, 500),
    ("small", 1, 5_000),
    ("medium", 1, 500),
    ("medium", 1, 5_000),
    ("large", 1, 5_000),
    ("large", 6, 0),
    ("large", 6, 5_000),
]
SEED = 1


def make(size: str, jobs: int, offcuts: int) -> dict[str, Any]:
    """Jobs put together in one problem, with so many offcuts of all sizes and values instead of their own."""
    made = [problem(SEED + number, size) for number in range(jobs)]
    chance = random.Random(SEED)
    rack = [
        {
            "id": f"O{number}",
            "length": chance.randint(8 * 8, 60 * 8) / 8,
            "width": chance.randint(3 * 8, 30 * 8) / 8,
            "cost": f"{chance.randint(10, 900) / 100:.2f}",
            "quantity": 1,
        }
        for number in range(offcuts)
    ]
    parts = [
        {**part, "id": f"job {number} {part['id']}"}
        for number, one in enumerate(made)
        for part in one["parts"]
    ]
    to_buy = [row for row in made[0]["stock"] if row.get("buy")]
    return {**made[0], "stock": [*to_buy, *rack], "parts": parts}


def measure(case: str, seconds: float) -> None:
    """One case in this process: a row of the table."""
    from jobs.cutting.format import read_problem, write_plan
    from jobs.cutting.layout import Progress
    from jobs.cutting.planner import solve
    from tests.outside.check_plan import Checker

    size, jobs, offcuts = json.loads(case)
    data = make(size, jobs, offcuts)
    first: list[Progress] = []
    began = time.perf_counter()
    asked = read_problem(data)
    read = time.perf_counter()
    plan = solve(asked, time_limit_s=seconds, progress=first.append)
    done = time.perf_counter()
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    checker = Checker(data, json.loads(json.dumps(write_plan(asked, plan))))
    assert checker.run(), checker.faults[:3]
    assert not plan.unplaced
    pieces = sum(item.quantity for item in asked.items)
    print(
        f"| {size}{f' × {jobs}' if jobs > 1 else ''} | {pieces} | {offcuts:,} | {read - began:.2f} "
        f"| {first[0].seconds if first else done - read:.2f} | {done - read:.2f} | {float(plan.bought):,.0f} "
        f"| {float(plan.bought_bound):,.0f} | {used:.0f} |",
        flush=True,
    )


def main() -> None:
    if sys.argv[1:2] == ["one"]:
        measure(sys.argv[2], float(sys.argv[3]))
        return
    seconds = sys.argv[1] if len(sys.argv) > 1 else "5"
    print("| job | pieces | offcuts | read s | first plan s | answer s | bought | bound | MB |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |", flush=True)
    for case in CASES:
        command = [sys.executable, "-m", "tests.bench.large_rack", "one", json.dumps(case), seconds]
        subprocess.run(command, check=True)


if __name__ == "__main__":
    main()
