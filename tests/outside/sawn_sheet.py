"""What a layout of cuts is worth, by sawing it: every part in its rectangle, none more often than wanted."""

from collections import Counter

from jobs.cutting.pricing import Halves


def worth(size, ways, values, cuts):
    """The value of what comes off the saw. Raises AssertionError where it cannot be sawn so."""
    wanted = {(way.item, way.long, way.wide): way.quantity for way in ways}
    sawn = Counter()
    waiting = [(size, cuts)]
    while waiting:
        (long, wide), cuts = waiting.pop()
        if isinstance(cuts, Halves):
            whole = long if cuts.axis == 0 else wide
            assert 0 < cuts.size < whole, f"a cut at {cuts.size} of {whole}"
            one, two = cuts.size, whole - cuts.size
            waiting.append(((one, wide) if cuts.axis == 0 else (long, one), cuts.first))
            waiting.append(((two, wide) if cuts.axis == 0 else (long, two), cuts.second))
        elif cuts is not None:
            assert cuts.long <= long and cuts.wide <= wide, f"{cuts} in {long} × {wide}"
            assert (cuts.item, cuts.long, cuts.wide) in wanted, f"{cuts} is not wanted"
            sawn[cuts.item] += 1
    for way in ways:
        assert sawn[way.item] <= way.quantity, f"item {way.item} {sawn[way.item]} times"
    return sum(values[item] * number for item, number in sawn.items())
