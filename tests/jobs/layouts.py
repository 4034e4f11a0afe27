"""Layouts to draw and to word: a sheet sawn up at random, and a few that were worked out by hand."""

from typing import Any

from hypothesis import strategies as st

from shared.measure import exact_text, inches

SIXTEENTH = inches("1/16")
PARTS = ("side", "shelf", "rail", "back")

# The sheet of the design's own sketch: 15 1/4 + 14 + 18 1/2 and two kerfs are 48.
BENCH: dict[str, Any] = {
    "cut": "rip",
    "of": [
        {
            "size": "15 1/4",
            "cut": "crosscut",
            "of": [
                {"size": "34 1/2", "part": "side"},
                {"size": "34 1/2", "part": "side"},
                {"size": "26 3/4", "offcut": True},
            ],
        },
        {
            "size": "14",
            "cut": "crosscut",
            "of": [
                {"size": "46 1/4", "part": "shelf"},
                {"size": "46 1/4", "part": "shelf"},
                {"size": "3 1/4", "waste": True},
            ],
        },
        {
            "size": "18 1/2",
            "cut": "crosscut",
            "of": [{"size": "70", "part": "top"}, {"size": "25 7/8", "offcut": True}],
        },
    ],
}
BENCH_NAMES = {"side": "Case side", "shelf": "Shelf", "top": "Bench top"}


@st.composite
def sawn_sheets(draw: st.DrawFn) -> dict[str, Any]:
    """A sheet sawn up at random in sixteenths, as keyword arguments for ``place`` and ``read_layout``."""
    length, width = draw(st.integers(40, 1600)), draw(st.integers(40, 800))
    trim, kerf = draw(st.integers(0, 8)), draw(st.integers(0, 4))
    tree = draw(_trees(length - 2 * trim, width - 2 * trim, kerf, depth=draw(st.integers(0, 3))))
    return {
        "tree": tree,
        "length": length * SIXTEENTH,
        "width": width * SIXTEENTH,
        "trim": trim * SIXTEENTH,
        "kerf": kerf * SIXTEENTH,
        "unit": "in",
    }


@st.composite
def _trees(draw: st.DrawFn, length: int, width: int, kerf: int, depth: int) -> dict[str, Any]:
    if depth == 0:
        return draw(_leaves())
    cut = draw(st.sampled_from(("rip", "crosscut")))
    room = width if cut == "rip" else length
    of: list[dict[str, Any]] = []
    at = 0
    while room - at > 0 and len(of) < 6:
        left = room - at
        size = (
            draw(st.sampled_from((left, max(1, left - kerf)))) if len(of) == 5 else draw(st.integers(1, left))
        )
        copies = draw(st.integers(1, 3))
        child = draw(_trees(*((length, size) if cut == "rip" else (size, width)), kerf, depth - 1))
        for _ in range(copies):
            if at + size <= room:
                of.append({"size": exact_text(size * SIXTEENTH, "in")} | child)
                at += size + kerf
    if room - at > 0:
        of.append({"size": exact_text((room - at) * SIXTEENTH, "in")} | draw(_leaves()))
    return {"cut": cut, "of": of}


def _leaves() -> st.SearchStrategy[dict[str, Any]]:
    parts = st.builds(
        lambda key, turned: {"part": key} | turned, st.sampled_from(PARTS), st.sampled_from(TURNS)
    )
    return parts | st.just({"offcut": True}) | st.just({"waste": True})


TURNS: tuple[dict[str, bool], ...] = ({}, {"turned": True})
