"""Edging of a job's parts: which wood its strips are of, and the strips themselves as parts to saw."""

from collections.abc import Iterable, Sequence
from copy import copy

from django.db.models import Q

from inventory.models import Material
from jobs import edging
from jobs.models import Part
from jobs.sizing import panel_size, strip_width
from shared.measure import format_length_with_unit, format_size, typed_text
from shared.models import Shop
from shared.quoting import quoted
from shared.refusal import Refused
from shared.shop import take_codes

MOST_EDGING = 60  # characters of the column
RUNNING_UNITS = ("foot", "feet", "ft", "metre", "meter", "m")
SIDES = {"L": "Long", "W": "Short"}


def strip_materials() -> "list[Material]":
    """What edges may be faced with: lumber, and rolls counted by the foot or metre."""
    rolls = Q(kind=Material.Kind.GOODS, unit__in=RUNNING_UNITS)
    found = Material.objects.in_use().filter(Q(kind=Material.Kind.LUMBER) | rolls)
    return list(found.select_related("species").order_by("thickness", "name"))


def understand(part: Part, shop: Shop, among: Sequence[Material], chosen: Material | None = None) -> None:
    """Set from its text which edges of a part are faced, and with what; `chosen` goes before the text.

    Where the text is not understood, or no wood is known for it, nothing is taken off the part: `fault` says
    so. The part is not saved.
    """
    part.faced_edges, part.strip_material, part.strip_thickness = "", None, None
    try:
        read = edging.parse_edging(part.edging, shop.unit)
    except edging.NotEdging:
        return
    if part.material.is_lumber or not read.edges:
        return
    material = chosen or _material_for(part, shop, read.material_text, among)
    part.edging_in_size = not read.is_extra
    part.faced_edges, part.strip_material = read.text, material
    if material and material.is_lumber:
        part.strip_thickness = read.thickness or shop.edging_strip
    elif material:
        part.strip_thickness = read.thickness  # a roll is as good as nothing thick, unless the list says so


def _material_for(part: Part, shop: Shop, text: str, among: Sequence[Material]) -> Material | None:
    """The thinnest lumber thick enough that the text names, else a roll it names; without a text, lumber of the
    panel's own species."""
    if text:
        words = text.split()
        named = [one for one in among if all(word in _called(one) for word in words)]
    else:
        named = [one for one in among if one.species_id and one.species_id == part.material.species_id]
    enough = [one for one in named if one.is_lumber and (one.thickness or 0) >= strip_width(part, shop)]
    rolls = [one for one in named if one.is_goods]
    lumber = [one for one in named if one.is_lumber]
    return next(iter([*enough, *rolls, *lumber[::-1]]), None)


def _called(material: Material) -> str:
    species = material.species.name if material.species else ""
    return f"{material.name} {species}".lower()


def edging_text(part: Part, shop: Shop, among: Sequence[Material]) -> str:
    """A part's edging in words that bring the same strips back: as typed, or with the wood chosen by hand named
    where that fits."""
    strips = part.strip_material, part.strip_thickness
    plain = copy(part)
    understand(plain, shop, among)
    if part.strip_material is None or strips == (plain.strip_material, plain.strip_thickness):
        return part.edging
    thick = f", {typed_text(part.strip_thickness, shop.unit)}" if part.strip_thickness else ""
    added = "" if part.edging_in_size else ", added"
    plain.edging = f"{part.faced_edges}{thick} {part.strip_material.name}{added}"
    understand(plain, shop, among)
    is_same = strips == (plain.strip_material, plain.strip_thickness) and plain.edges == part.edges
    return plain.edging if is_same and len(plain.edging) <= MOST_EDGING else part.edging


def chosen_by_hand(part: Part, shop: Shop) -> Material | None:
    """What a part is edged with, where its text alone would choose another."""
    plain = copy(part)
    understand(plain, shop, strip_materials())
    return part.strip_material if part.strip_material_id != plain.strip_material_id else None


def fault(part: Part, shop: Shop) -> str:
    """What is wrong with a part's edging and what would do, in a sentence; empty where nothing is."""
    try:
        read = edging.parse_edging(part.edging, shop.unit)
    except edging.NotEdging as error:
        return f"Edging: {error}"
    if not read.edges:
        return ""
    if part.material.is_lumber:
        return "Solid wood needs no edging. Leave it empty, or choose the panel it is."
    if part.strip_material is None:
        called = f" called {quoted(read.material_text)}" if read.material_text else ""
        return (
            f"No lumber{called} is known for its strips, so none are planned. Choose it on the part’s page."
        )
    if sentence := too_small(part, shop):
        return sentence
    needed = strip_width(part, shop)
    if part.strip_material.is_lumber and (part.strip_material.thickness or 0) < needed:
        thick = format_length_with_unit(needed, shop.unit)
        return (
            f"{part.strip_material} is too thin for its strips, which are {thick} high. Choose a thicker one."
        )
    return ""


def too_small(part: Part, shop: Shop) -> str:
    """The sentence for a part that its strips leave nothing of."""
    if min(panel_size(part)) > 0:
        return ""
    strip = format_length_with_unit(part.strip_thickness or 0, shop.unit)
    size = format_size(part.length, part.width, shop.unit)
    return (
        f"{part.name}, {size}, is smaller than its {strip} strips. "
        "Face fewer edges, take thinner strips, or write “added” where the size is without them."
    )


def refuse_too_small(parts: Iterable[Part], shop: Shop) -> None:
    """Refuse parts that their strips leave nothing of."""
    if sentences := [sentence for part in parts if (sentence := too_small(part, shop))]:
        raise Refused(" ".join(sentences))


def make_strips(parts: Iterable[Part], shop: Shop) -> None:
    """Bring the strips of these listed parts up to date: made, changed, or taken away where none are cut."""
    for part in parts:
        wanted = _strips_of(part, shop)
        for strip in part.strips.all():
            values = wanted.pop(strip.faced_edges[:1], None)
            if values is not None:
                _change(strip, values)
            elif not (strip.cut or strip.spoiled):
                strip.delete()
        for values, code in zip(wanted.values(), take_codes(len(wanted)) if wanted else (), strict=True):
            Part.objects.create(job_id=part.job_id, code=code, kind=Part.Kind.STRIP, made_for=part, **values)


def _change(strip: Part, values: dict[str, object]) -> None:
    values["quantity"] = max(int(str(values["quantity"])), strip.cut)
    changed = [name for name, value in values.items() if getattr(strip, name) != value]
    if not changed:
        return
    for name in changed:
        setattr(strip, name, values[name])
    strip.save(update_fields=changed)


def _strips_of(part: Part, shop: Shop) -> dict[str, dict[str, object]]:
    """A row's values for the strips on the long and on the short edges; none where none are sawn."""
    material, thick = part.strip_material, part.strip_thickness
    if material is None or not material.is_lumber or not thick or too_small(part, shop):
        return {}
    lengths = edging.strip_lengths(*panel_size(part), part.edges, thick)
    return {
        side: {
            "name": f"{SIDES[side]} strip of {part.name[:60]}",
            "position": part.position,
            "quantity": count * part.quantity,
            "length": length,
            "width": thick,
            "thickness": strip_width(part, shop),
            "material": material,
            "grain": Part.Grain.LENGTH,
            "faced_edges": " ".join(edge for edge in part.edges if edge.startswith(side)),
        }
        for side, (length, count) in lengths.items()
    }


def running_lengths(parts: Iterable[Part], shop: Shop) -> dict[Material, int]:
    """How much of each roll the parts still to be cut need, in ticks: their faced edges, each with the shop's
    length to spare."""
    needed: dict[Material, int] = {}
    for part in parts:
        roll = part.strip_material
        if part.kind != Part.Kind.LISTED or roll is None or roll.is_lumber:
            continue
        for length, count in edging.strip_lengths(*panel_size(part), part.edges, 0).values():
            each = (length + shop.edging_spare) * count
            needed[roll] = needed.get(roll, 0) + each * part.still_to_cut
    return needed
