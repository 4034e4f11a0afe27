"""A parts list goes into a job, is edited there, and comes out again as it went in."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Max

from inventory.models import Material, MaterialName
from inventory.models.materials import normal_name
from jobs import facing
from jobs.models import Job, MatchSet, Part
from shared.refusal import Refused
from shared.shop import take_codes, the_shop


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part as it is to be kept. Lengths in ticks, length with the face grain."""

    quantity: int
    name: str
    length: int
    width: int
    material: Material
    grain: str = Part.Grain.LENGTH
    also: tuple[Material, ...] = ()
    edging: str = ""
    match_set: str = ""
    note: str = ""
    thickness: int | None = None
    strip_material: Material | None = None
    may_be_glued: bool = False


KEPT = (
    "quantity",
    "name",
    "length",
    "width",
    "material",
    "grain",
    "edging",
    "match_set",
    "note",
    "thickness",
    "may_be_glued",
)


def _face(parts: Sequence[Part], lines: Sequence[PartLine]) -> None:
    shop, among = the_shop(), facing.strip_materials()
    for part, line in zip(parts, lines, strict=True):
        facing.understand(part, shop, among, line.strip_material)


@transaction.atomic
def save_parts(*, job: Job, lines: Sequence[PartLine], replace: bool = False) -> list[Part]:
    """Add lines to a job's parts list, or put them in its place.

    All or nothing. Refused where goods are asked as parts, and where the list to be replaced has parts that
    are cut already.
    """
    for line in lines:
        if line.material.is_goods:
            raise Refused(f"{line.name}: {line.material} is counted goods, no part is cut from it.")
    if replace:
        _empty(job)
    last = job.parts.aggregate(n=Max("position"))["n"] or 0
    parts = [
        Part(job=job, code=code, position=last + number, **{name: getattr(line, name) for name in KEPT})
        for number, (line, code) in enumerate(zip(lines, take_codes(len(lines)), strict=True), 1)
    ]
    _face(parts, lines)
    Part.objects.bulk_create(parts)
    facing.make_strips((part for part in parts if part.strip_material), the_shop())
    _glue_sets(job, lines)
    Part.also.through.objects.bulk_create(
        Part.also.through(part=part, material=material)
        for part, line in zip(parts, lines, strict=True)
        for material in dict.fromkeys(line.also)
        if material != line.material
    )
    return parts


def _glue_sets(job: Job, lines: Sequence[PartLine]) -> None:
    """A set may be glued up where the list says so of one of its parts."""
    for name in {line.match_set for line in lines if line.match_set and line.may_be_glued}:
        MatchSet.objects.update_or_create(job=job, name=name, defaults={"may_be_glued": True})


def _empty(job: Job) -> None:
    if cut := job.parts.filter(cut__gt=0).first():
        raise Refused(
            f"{cut.cut} of {cut.name} are cut already, so the list can't be replaced. Add to it, or edit it in place."
        )
    job.parts.all().delete()


@transaction.atomic
def change_part(*, part: Part, line: PartLine) -> Part:
    """Edit a part in place. Refused where fewer are wanted than are cut, and where its size or material would
    change under parts that are cut."""
    part = Part.objects.select_for_update().get(pk=part.pk)
    if line.quantity < part.cut:
        raise Refused(f"{part.cut} of {part.name} are cut already; {line.quantity} can't be wanted.")
    changes = (line.length, line.width, line.material) != (part.length, part.width, part.material)
    if part.cut and changes:
        raise Refused(f"{part.cut} of {part.name} are cut already; add a new part for another size.")
    for name in KEPT:
        setattr(part, name, getattr(line, name))
    _face([part], [line])
    facing.refuse_too_small([part], the_shop())
    part.save()
    facing.make_strips([part], the_shop())
    part.also.set([material for material in line.also if material != line.material])
    return part


@transaction.atomic
def remove_part(part: Part) -> None:
    """Take a part off the list. Refused where some are cut."""
    part = Part.objects.select_for_update().get(pk=part.pk)
    if part.cut or part.spoiled:
        raise Refused(f"{part.name}: {part.cut + part.spoiled} were cut, so it stays on the list.")
    part.delete()


def remember_name(*, material: Material, text: str) -> None:
    """Next time a parts list says this, it is this material."""
    normal = normal_name(text)
    if normal and normal != normal_name(material.name):
        MaterialName.objects.update_or_create(
            normal=normal, defaults={"material": material, "name": text.strip()[:120]}
        )
