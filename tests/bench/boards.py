#!/usr/bin/env python3
"""A plan with 120 solid parts and 60 boards: does it answer within its time limit, and with what yield?

    python -m tests.bench.boards [SECONDS] [SEED]

Two bounds by area stand beside it: the fewest boards whose area is that of the parts, and the least net value
any plan uses up, as every square inch costs the same and an offcut never carries back more than its share.
Invented data; the same seed always makes the same problem.
"""

import random
import sys
import time
from fractions import Fraction
from typing import Any

from jobs.solving import solve_apart

PARTS, BOARDS = 120, 60
PER_SQUARE_INCH = 5.6 / 144
ROUGH_LENGTH, ROUGH_WIDTH = Fraction(1), Fraction(1, 4)
NAMES = [("leg", 17, 30, 2, 3), ("rail", 12, 48, 2, 4), ("stile", 20, 60, 2, 3), ("slat", 10, 40, 1, 3)]


def problem(seed: int, seconds: float) -> dict[str, Any]:
    """Frames of solid wood, 1 in longer and 1/4 in wider than finished, from boards as a yard sells them."""
    rng = random.Random(f"boards-{seed}")
    parts: list[dict[str, Any]] = []
    left = PARTS
    while left:
        name, short, long, narrow, wide = rng.choice(NAMES)
        quantity = min(left, rng.choice([1, 2, 2, 4, 4, 6, 8]))
        left -= quantity
        length = Fraction(rng.randrange(short * 8, long * 8), 8) + ROUGH_LENGTH
        width = Fraction(rng.randrange(narrow * 8, wide * 8), 8) + ROUGH_WIDTH
        parts.append(
            {"id": f"{name} {len(parts) + 1}", "length": str(length), "width": str(width),
             "quantity": quantity, "grain": "length", "material": "ash"}
        )  # fmt: skip
    stock = [_board(rng, number) for number in range(BOARDS)]
    return {
        "unit": "in", "kerf": "1/8", "first_cut": "either", "time_limit_s": seconds, "seed": seed,
        "keep": {"length": 12, "width": 2, "rate": "0.5"}, "stock": stock, "parts": parts,
    }  # fmt: skip


def _board(rng: random.Random, number: int) -> dict[str, Any]:
    length = rng.choice([73, 97, 98, 121, 122])
    width = Fraction(rng.randrange(20, 38), 4)
    row = {
        "id": f"board {number + 1}", "length": length, "width": str(width), "quantity": 1, "material": "ash",
        "first_cut": "crosscut", "cost": f"{float(length * width) * PER_SQUARE_INCH:.2f}",
    }  # fmt: skip
    if rng.random() < 0.3:
        row["defects"] = [{"x": rng.randrange(4, length - 8), "y": 0, "length": 3, "width": str(width / 2)}]
    return row


def fewest_boards(asked: dict[str, Any]) -> int:
    """No plan uses fewer: so many of the largest have the parts' area, each part and board with its kerf."""
    kerf = Fraction(asked["kerf"])
    wanted = sum(_area(part, kerf) * part["quantity"] for part in asked["parts"])
    total, count = Fraction(0), 0
    for area in sorted((_area(row, kerf) for row in asked["stock"]), reverse=True):
        if total >= wanted:
            break
        total, count = total + area, count + 1
    return count


def _area(row: dict[str, Any], kerf: Fraction = Fraction(0)) -> Fraction:
    return (Fraction(row["length"]) + kerf) * (Fraction(row["width"]) + kerf)


def main(seconds: float = 5.0, seed: int = 0) -> None:
    asked = problem(seed, seconds)
    started = time.monotonic()
    plan = solve_apart(asked)
    took = time.monotonic() - started
    stock = {row["id"]: row for row in asked["stock"]}
    used = sum(_area(stock[layout["stock"]]) * layout["count"] for layout in plan["layouts"])
    missing = {row["id"]: row["quantity"] for row in plan["unplaced"]}
    cut = sum(_area(part) * (part["quantity"] - missing.get(part["id"], 0)) for part in asked["parts"])
    print(f"{PARTS} solid parts, {BOARDS} boards, limit {seconds:g} s, seed {seed}")
    figures = plan["figures"]
    net = float(figures["rack_used"]) - float(figures["kept"])
    print(f"answered in {took:.1f} s, {sum(missing.values())} parts unplaced, yield {float(cut / used):.1%}")
    boards = sum(layout["count"] for layout in plan["layouts"])
    print(f"{boards} boards used, at least {fewest_boards(asked)} by area")
    print(f"{net:.2f} of rack value used up, at least {float(cut) * PER_SQUARE_INCH:.2f} by area")
    assert took <= seconds + 0.5, f"{took:.1f} s is over the limit"


if __name__ == "__main__":
    main(*(kind(text) for kind, text in zip((float, int), sys.argv[1:], strict=False)))
