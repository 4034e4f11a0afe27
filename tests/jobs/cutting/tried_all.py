"""The least number of sheets by trying everything: slow, simple, and nothing of the planner's in it."""

from functools import cache
from itertools import combinations


def fewest_sheets(sizes, long, wide, kerf, *, may_turn):
    """How many sheets of long × wide are needed for up to about six parts."""
    everything = frozenset(range(len(sizes)))

    @cache
    def boxes(chosen):
        """The smallest rectangles that can be sawn into exactly these parts, none larger than another."""
        if len(chosen) == 1:
            (length, width) = sizes[next(iter(chosen))]
            return least({(length, width)} | ({(width, length)} if may_turn else set()))
        found = set()
        for one, other in halves(chosen):
            for a, b in boxes(one):
                for c, d in boxes(other):
                    found |= {(a + kerf + c, max(b, d)), (max(a, c), b + kerf + d)}
        return least(found)

    @cache
    def needed(left):
        if not left:
            return 0
        first = min(left)
        rest = left - {first}
        best = len(left)
        for size in range(len(rest) + 1):
            for others in combinations(sorted(rest), size):
                sheet = frozenset({first, *others})
                if any(a <= long and b <= wide for a, b in boxes(sheet)):
                    best = min(best, 1 + needed(left - sheet))
        return best

    return needed(everything)


def halves(chosen):
    """All ways to part a set into two."""
    first, *rest = sorted(chosen)
    for size in range(len(rest)):
        for others in combinations(rest, size):
            one = frozenset({first, *others})
            yield one, chosen - one


def least(rectangles):
    return frozenset(
        (a, b)
        for a, b in rectangles
        if not any(c <= a and d <= b and (c, d) != (a, b) for c, d in rectangles)
    )
