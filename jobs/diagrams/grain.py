"""Grain on a drawing: a few waved strokes along it, the same each time a piece is drawn."""

import random

from jobs.diagrams.marks import Grain, Stroke

MOST_STROKES = 14


def grain(
    x: float, y: float, width: float, height: float, *, seed: str, spacing: float, is_upright: bool = False
) -> Grain:
    """Strokes on a piece of so many units, seeded from its place so that the same layout is drawn alike.

    >>> grain(0, 0, 90, 40, seed="a", spacing=10) == grain(0, 0, 90, 40, seed="a", spacing=10)
    True
    """
    if is_upright:
        along = grain(y, x, height, width, seed=seed, spacing=spacing)
        strokes = tuple(Stroke(stroke.y, stroke.x, stroke.run, stroke.bend) for stroke in along.strokes)
        return Grain(strokes, is_upright=True)
    chance = random.Random(seed)
    number = min(MOST_STROKES, int(height / spacing)) if width > 20 else 0
    return Grain(tuple(_stroke(chance, x, y + (row + 0.5) * height / number, width) for row in range(number)))


def _stroke(chance: random.Random, x: float, y: float, width: float) -> Stroke:
    long = width * chance.uniform(0.45, 0.9)
    start = x + 3 + (width - long - 6) * chance.random()
    return Stroke(
        round(start, 1), round(y + chance.uniform(-1.5, 1.5), 1), round(long / 2, 1), chance.choice(BENDS)
    )


BENDS = (-2.0, -1.4, -0.8, 0.8, 1.4, 2.0)
