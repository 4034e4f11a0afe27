"""What is sawn for a part: solid wood rough, panels less their strips, strips and staves with what is spare."""

from functools import cache

from inventory.builtin import Quarter, quarters
from inventory.models import Material
from jobs import edging
from jobs.models import Part
from shared.measure import format_length_with_unit, format_size
from shared.models import Shop


def sawn_size(part: Part, shop: Shop, kind: str = "") -> tuple[int, int]:
    """Length and width to saw, in ticks, length with the grain.

    Solid wood gets the shop's rough allowances, a panel loses the strips that its listed size includes, a
    strip gets length to spare. A stave is kept as it is sawn. `kind` is what it is cut from where it may be of
    two kinds.
    """
    if part.kind == Part.Kind.STRIP:
        return part.length + shop.edging_spare, part.width
    if part.kind == Part.Kind.STAVE:
        return part.length, part.width
    if (kind or part.material.kind) == Material.Kind.LUMBER:
        return part.length + shop.rough_length, part.width + shop.rough_width
    return panel_size(part)


def along_grain(part: Part, shop: Shop) -> tuple[int, int]:
    """The sawn size as it lies on a board: how much of its length, then of its width."""
    length, width = sawn_size(part, shop)
    return (width, length) if part.grain == Part.Grain.WIDTH else (length, width)


def panel_size(part: Part) -> tuple[int, int]:
    """A part's size without the strips that go on; below zero in a direction where they leave nothing."""
    if not part.edging_in_size:
        return part.length, part.width
    return edging.without_strips(part.length, part.width, part.edges, part.strip_thickness or 0)


def sawn_note(part: Part, shop: Shop) -> str:
    """Why a part is sawn to another size than the list says, so that nobody wonders; empty where it is not.

    >>> from inventory.models import Material
    >>> from shared.measure import inches
    >>> side = Part(length=inches(34), width=inches("15 1/2"), material=Material(kind="sheet"))
    >>> side.faced_edges, side.strip_thickness = "L1 L2", inches("1/4")
    >>> sawn_note(side, Shop())
    'cut 34 × 15: 1/4 in edging on 2 long edges'
    """
    size = format_size(*sawn_size(part, shop), shop.unit)
    if part.kind == Part.Kind.STRIP:
        return f"cut {size}: {format_length_with_unit(shop.edging_spare, shop.unit)} of length to spare"
    if part.kind == Part.Kind.STAVE:
        return ""
    if part.material.is_lumber and part.match_set:
        return f"sawn from the blank of set {part.match_set}, which is made larger"
    if part.material.is_lumber:
        longer, wider = (format_length_with_unit(n, shop.unit) for n in (shop.rough_length, shop.rough_width))
        return f"cut {size}: {longer} longer and {wider} wider, to be milled after"
    if not part.edges:
        return ""
    strip = format_length_with_unit(part.strip_thickness, shop.unit) if part.strip_thickness else "rolled"
    where = edging.in_words(part.edges)
    added = "" if part.edging_in_size else ", added to the listed size"
    return f"cut {size}: {strip} edging on {where}{added}"


def strip_width(part: Part, shop: Shop) -> int:
    """How thick a board must be for a panel's strips, in ticks: the panel and what stands proud of it."""
    return (part.material.thickness or 0) + shop.edging_proud


def thinnest_quarter(finished: int) -> Quarter | None:
    """The thinnest quarter that is thick enough when it is planed on both sides; None where none is.

    The thicknesses are those of inventory/data/hardwood_quarters.csv (NHLA Rules Book, surfaced lumber).

    >>> from shared.measure import inches
    >>> [thinnest_quarter(inches(size)).name for size in ("3/4", "13/16", "1", "1 3/4")]
    ['4/4', '4/4', '5/4', '8/4']
    """
    return next((quarter for quarter in _quarters() if quarter.surfaced_two_sides >= finished), None)


@cache
def _quarters() -> tuple[Quarter, ...]:
    return tuple(quarters())


def quarter_note(part: Part, shop: Shop) -> str:
    """What speaks against a solid part's lumber: it planes thinner than the part shall be. Empty where nothing
    does, or where the list gives no thickness."""
    if not (part.thickness and part.material.is_lumber):
        return ""
    finished = format_length_with_unit(part.thickness, shop.unit)
    if part.material.is_dressed:
        if (part.material.thickness or 0) >= part.thickness:
            return ""
        measures = format_length_with_unit(part.material.thickness or 0, shop.unit)
        return f"{finished} thick is more than {part.material} has, which measures {measures}."
    needed = thinnest_quarter(part.thickness)
    if needed is None:
        return f"{finished} thick is more than any quarter planes to: glue it up from two."
    if part.material.sold_thickness >= needed.nominal:
        return ""
    planed = format_length_with_unit(needed.surfaced_two_sides, shop.unit)
    return f"{finished} thick needs {needed.name}, which planes to {planed}; {part.material} may be too thin."
