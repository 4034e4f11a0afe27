"""The trees of the planning format by the names in them: which parts, of which row of a parts list."""

from typing import Any


def leaves_of(tree: Any) -> list[str]:
    """The parts of a tree, in order."""
    if isinstance(tree, str):
        return [tree]
    return [name for child in tree.get("of", ()) for name in leaves_of(child)]


def part_of(name: str) -> int:
    """The key of the part that a problem names so.

    >>> part_of("p12"), part_of("p12-3")
    (12, 12)
    """
    return int(name.removeprefix("p").partition("-")[0])
