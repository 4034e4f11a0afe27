"""What a plan's page says of solid wood: what each part is sawn to and why, and the blanks glued up for it."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString

from inventory.models import Material
from jobs import drawings, facing, gluing_up, sizing
from jobs.diagrams import geometry
from jobs.matching_sets import SetOfParts
from jobs.models import Blank, Layout, Part, Plan
from jobs.sawlist import moved_in, other_kind, other_kind_id, part_id
from jobs.trees import leaves_of, part_of
from shared import codes
from shared.measure import exact_text, format_length_with_unit, format_size
from shared.models import Shop

RINGS = "Turn the growth rings of neighbours opposite ways, so that the panel stays flat."


@dataclass(frozen=True, slots=True)
class SawnNote:
    """A part, and why it is sawn to another size than the list says, or what is wrong with that."""

    name: str
    text: str
    is_fault: bool = False


@dataclass(frozen=True, slots=True)
class ShownStave:
    """One stave in the order of the panel."""

    width: int
    where: str


@dataclass(frozen=True, slots=True)
class ShownBlank:
    """A blank of solid wood: its staves in order, and the parts that come out of it, both drawn."""

    name: str
    material: str
    size: str
    staves: list[ShownStave]
    says: list[str]
    glued: tuple[SafeString, SafeString] | None
    sawn: tuple[SafeString, SafeString]
    steps: list[SafeString]
    drawn: geometry.Layout

    @property
    def facts(self) -> list[str]:
        """What a print says beside the drawing."""
        order = [f"stave {number} from {one.where}" for number, one in enumerate(self.staves, 1)]
        return [self.material, *(order if len(order) > 1 else [f"from {self.staves[0].where}"])]


def notes_of(parts: Iterable[Part], shop: Shop) -> list[SawnNote]:
    """What is said of each part of the list, in its order; parts sawn as listed are left out."""
    notes = []
    for part in parts:
        if part.kind != Part.Kind.LISTED:
            continue
        if note := sizing.sawn_note(part, shop):
            notes.append(SawnNote(part.name, note))
        if note := one_kind_note(part):
            notes.append(SawnNote(part.name, note))
        faults = (facing.fault(part, shop), sizing.quarter_note(part, shop))
        notes += [SawnNote(part.name, fault, True) for fault in faults if fault]
    return notes


def from_offcuts(plan: Plan, sawn: Iterable[int]) -> tuple[int, int]:
    """How many parts, as the list has them, come from offcuts, and of how many; `sawn` are the keys of all that
    is sawn from offcuts. Strips are no parts of the list. What is glued up comes from offcuts if all of its
    staves do."""
    from_them = Counter(sawn)
    parts = plan.job.parts.listed().filter(pk__in={*from_them, *_asked(plan)})
    blanks = list(plan.blanks.prefetch_related("staves"))
    listed = set(parts.values_list("pk", flat=True))
    count = sum(many for pk, many in from_them.items() if pk in listed)
    wanted = sum(many for pk, many in _asked(plan).items() if pk in listed)
    for blank in blanks:
        gives = sum(blank.gives().values())
        wanted += gives
        if all(from_them[stave.pk] >= stave.quantity for stave in blank.staves.all()):
            count += gives
    return count, wanted


def _asked(plan: Plan) -> Counter[int]:
    """How many of each part a plan's problem asks for."""
    asked: Counter[int] = Counter()
    for row in plan.problem.get("parts", ()):
        asked[part_of(row["id"])] += row["quantity"]
    return asked


def one_kind_note(part: Part) -> str:
    """That a part stays sheet goods or lumber though other materials of it would do; empty where it need not."""
    others = [material.name for material in part.also.all() if material.kind != part.material.kind]
    if not others or other_kind(part):
        return ""
    why = "its edges are faced" if part.faced_edges else f"match set {part.match_set} is of one kind"
    return f"not cut from {' or '.join(others)}: {why}"


def cut_from_other_kinds(plan: Plan, parts: Iterable[Part], shop: Shop) -> list[SawnNote]:
    """The parts that a plan cuts from the other kind of their materials, and the size they are sawn to there."""
    moved, kinds = moved_in(plan.problem), dict(Material.Kind.choices)
    notes = []
    for part in parts:
        if count := moved.get(part.pk, 0):
            kind = other_kind(part)
            size = format_size(*sizing.sawn_size(part, shop, kind), shop.unit)
            many = "all" if count == part.still_to_cut else f"{count} of {part.still_to_cut}"
            notes.append(SawnNote(part.name, f"{many} cut {size} from {kinds.get(kind, kind)}"))
    return notes


def blanks_of(plan: Plan, shop: Shop, *, only_finished: bool = False) -> list[ShownBlank]:
    """The blanks that a plan glues up or cuts from one board, with their drawings; or those all of whose staves
    are cut."""
    blanks = plan.blanks.prefetch_related("staves").select_related("material")
    parts = {part.pk: part for part in plan.job.parts.listed().select_related("material")}
    layouts = list(plan.layouts.select_related("piece").prefetch_related("parts"))
    return [
        _shown(blank, parts, layouts, shop)
        for blank in blanks
        if all(pk in parts for pk in blank.gives()) and (gluing_up.is_finished(blank) or not only_finished)
    ]


def _shown(blank: Blank, parts: dict[int, Part], layouts: Sequence[Layout], shop: Shop) -> ShownBlank:
    staves = in_order(blank, layouts)
    says = []
    if len(staves) > 1:
        trim = format_length_with_unit(shop.glue_trim, shop.unit)
        joint = format_length_with_unit(shop.glue_joint, shop.unit)
        says = [RINGS, f"The staves are wider together by {joint} a joint and {trim} to trim the panel."]
    length = format_length_with_unit(shop.rough_length, shop.unit)
    says.append(f"It is {length} longer than its parts need.")
    drawn = _sawn(blank, parts, shop)
    return ShownBlank(
        name=blank.name,
        material=blank.material.name,
        size=format_size(blank.length, blank.width, shop.unit),
        staves=staves,
        says=says,
        glued=_glued_drawing(blank, staves, shop) if len(staves) > 1 else None,
        sawn=drawings.of_layout(drawn, f"blank-{blank.pk}")[:2],
        steps=drawings.steps(drawn, shop) if len(leaves_of(blank.tree)) > 1 else [],
        drawn=drawn,
    )


def in_order(blank: Blank, layouts: Sequence[Layout]) -> list[ShownStave]:
    """The staves as they are glued: those from one board next to each other, in the order of the boards; what
    is still to be bought last."""
    left = {stave.pk: stave.quantity for stave in blank.staves.all()}
    widths = {stave.pk: stave.width for stave in blank.staves.all()}
    found = []
    for layout in layouts:
        for given in layout.parts.all():
            for _ in range(min(given.count, left.get(given.part_id, 0))):
                where = codes.grouped(layout.piece.code) if layout.piece else "to buy"
                found.append(ShownStave(widths[given.part_id], where))
                left[given.part_id] -= 1
    found += [ShownStave(widths[pk], "to buy") for pk, count in left.items() for _ in range(count)]
    return found


def _glued_drawing(blank: Blank, staves: Sequence[ShownStave], shop: Shop) -> tuple[SafeString, SafeString]:
    length = blank.length + shop.rough_length
    names = {f"stave {number}": f"{number}: {one.where}" for number, one in enumerate(staves, 1)}
    of = [
        {"size": exact_text(one.width, shop.unit), "part": f"stave {number}"}
        for number, one in enumerate(staves, 1)
    ]
    wide = sum(one.width for one in staves)
    tree = {"cut": "rip", "of": of}
    drawn = geometry.read_layout(tree, length=length, width=wide, kerf=0, unit=shop.unit, names=names)
    return drawings.of_layout(drawn, f"glued-{blank.pk}")[:2]


def _sawn(blank: Blank, parts: dict[int, Part], shop: Shop) -> geometry.Layout:
    sizes = {pk: (part.length, part.width) for pk, part in parts.items()}
    return _laid(blank.tree, parts, sizes, (blank.length, blank.width), shop)


def _laid(
    tree: Any,
    parts: dict[int, Part],
    sizes: dict[int, tuple[int, int]],
    whole: tuple[int, int],
    shop: Shop,
) -> geometry.Layout:
    """Parts side by side as their tree has them, ready to be drawn."""
    names = leaves_of(tree)
    rows = [
        {
            "id": name,
            "length": exact_text(sizes[part_of(name)][0], shop.unit),
            "width": exact_text(sizes[part_of(name)][1], shop.unit),
            "grain": parts[part_of(name)].grain,
        }
        for name in names
    ]
    problem = {"unit": shop.unit, "parts": rows, "blanks": [{"id": "blank", "tree": tree}]}
    return geometry.read_layout(
        {"blank": "blank"},
        length=whole[0],
        width=whole[1],
        kerf=shop.kerf,
        unit=shop.unit,
        names=numbered(names, parts),
        blanks=geometry.blank_trees(problem),
    )


def set_drawing(of: SetOfParts, shop: Shop) -> tuple[SafeString, SafeString]:
    """A match set as it lies, its parts as they are cut."""
    parts = {part.pk: part for part in of.parts}
    whole = gluing_up.size_of(of.tree, of.parts, shop)
    sizes = {pk: gluing_up.size_in_set(part) for pk, part in parts.items()}
    return drawings.of_layout(_laid(of.tree, parts, sizes, whole, shop), "set")[:2]


def set_size(of: SetOfParts, shop: Shop) -> str:
    """How large the whole set is."""
    return format_size(*gluing_up.size_of(of.tree, of.parts, shop), shop.unit)


def numbered(names: Iterable[str], parts: dict[int, Part]) -> dict[str, str]:
    """What people read for the parts of a set: "front 2" where there are several of one."""
    said = {}
    for name in names:
        part = parts[part_of(name)]
        said[name] = f"{part.name} {name.partition('-')[2]}" if part.quantity > 1 else part.name
    return said


def names_in(plan: Plan) -> dict[str, str]:
    """What people read for everything a plan's problem names: parts, parts of sets, and the sets themselves."""
    parts = {part.pk: part for part in plan.job.parts.all()}
    names = {part_id(part): part.name for part in parts.values()}
    names |= {other_kind_id(part): part.name for part in parts.values()}
    in_sets = [
        name
        for blank in plan.problem.get("blanks", ())
        for name in leaves_of(blank["tree"])
        if part_of(name) in parts
    ]
    return names | numbered(in_sets, parts)
