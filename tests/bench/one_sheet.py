"""Measure the most valuable layout of one sheet on published problems.

    python -m tests.bench.one_sheet [--every 3] [--first 0] [--seconds 10] [--cpu] [--all] [--names gcut,okp]

One row a problem: value, bound, what is known, time. Without --all only those whose optimum is proven.
"""

import argparse
import time

from jobs.cutting.fullest import fullest
from tests.outside.published_problems import as_one_sheet, published
from tests.outside.sawn_sheet import worth

BEST, BOUND = "KP|O|G", "KP|O|G:ub"


def is_proven(row):
    return BEST in row["known"] and row["known"][BEST] == row["known"].get(BOUND)


def measured(row, seconds, clock):
    """Solve one problem; what came out as a dict."""
    size, ways, values = as_one_sheet(row)
    started = clock()
    found = fullest(size, ways, values, time_limit_s=seconds, clock=clock)
    return {
        "name": row["name"],
        "value": found.value,
        "bound": found.bound,
        "sound": worth(size, ways, values, found.cuts) == found.value,
        "known": row["known"].get(BEST),
        "known_bound": row["known"].get(BOUND),
        "seconds": clock() - started,
    }


def told(row):
    """One row of the table."""
    mark = "=" if row["value"] == row["bound"] else " "
    known = f"known {row['known'] or '-':>8} to {row['known_bound'] or '-':>8}"
    off = f" off by {row['known'] - row['value']}" if row["known"] and row["value"] != row["known"] else ""
    sound = "" if row["sound"] else "  UNSOUND"
    values = f"value {row['value']:>8} bound {row['bound']:>8} {mark} {known}"
    return f"{row['name']:<18} {values} {row['seconds']:6.2f} s{off}{sound}"


def summary(rows):
    """The sums under the table."""
    known = [row for row in rows if row["known"]]
    times = sorted(row["seconds"] for row in rows)
    return (
        f"{len(rows)} problems, proven here {sum(row['value'] == row['bound'] for row in rows)}, "
        f"unsound {sum(not row['sound'] for row in rows)}, median {times[len(times) // 2]:.2f} s, "
        f"longest {times[-1]:.2f} s\n"
        f"equal on {sum(row['value'] == row['known'] for row in known)} of {len(known)} known, "
        f"more on {sum(row['value'] > row['known'] for row in known)}"
    )


def main():
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--every", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--seconds", type=float, default=10)
    asked.add_argument("--cpu", action="store_true", help="limits in seconds of the processor")
    asked.add_argument("--all", action="store_true", help="those without a proven optimum too")
    asked.add_argument("--names", default="", help="only those that begin so, with commas between")
    options = asked.parse_args()
    clock = time.process_time if options.cpu else time.monotonic
    rows = []
    for row in published("one_sheet")[options.first :: options.every]:
        if (options.all or is_proven(row)) and row["name"].startswith(tuple(options.names.split(","))):
            rows.append(measured(row, options.seconds, clock))
            print(told(rows[-1]), flush=True)
    print(summary(rows))


if __name__ == "__main__":
    main()
