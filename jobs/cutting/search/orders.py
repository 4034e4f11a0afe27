"""In which order parts are laid out to begin with."""

from jobs.cutting.problem import Item


def area_of(item: Item) -> int:
    """Largest area first."""
    return item.length * item.width


def longer_side(item: Item) -> int:
    """Longest first, however they lie."""
    return max(item.length, item.width)


def shorter_side(item: Item) -> int:
    """Widest first, however they lie."""
    return min(item.length, item.width)


LARGEST_FIRST = (area_of, longer_side, shorter_side)
