"""All that is sawn for a job, as a problem of the planning format names it: parts, strips, staves, blanks."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from inventory.models import Material
from jobs.matching_sets import SetOfParts, sets_of
from jobs.models import Blank, Job, Part, Plan
from jobs.sizing import sawn_size
from shared.measure import exact_text
from shared.models import Shop


def part_id(part: Part) -> str:
    """How a problem names a part."""
    return f"p{part.pk}"


def material_id(material: Material) -> str:
    """How a problem, and the planner's sentences, name a material. A name stands once a kind."""
    return f"{material.name} (lumber)" if material.is_lumber else material.name


def blank_id(one: SetOfParts) -> str:
    """How a problem names a match set that is cut from one sheet."""
    return f"set {one.row.name}"


@dataclass(slots=True)
class SawList:
    """What a plan has to place.

    `parts` are sawn one by one; `given` of each come out of blanks in the making instead. `sets` are cut from
    one sheet each, `solid` are the sets of solid wood that a blank has still to be made for.
    """

    parts: list[Part] = field(default_factory=list)
    sets: list[SetOfParts] = field(default_factory=list)
    solid: list[SetOfParts] = field(default_factory=list)
    given: dict[int, int] = field(default_factory=dict)

    @property
    def everything(self) -> list[Part]:
        return [*self.parts, *(part for one in (*self.sets, *self.solid) for part in one.parts)]

    def left(self, part: Part) -> int:
        """How many of a part are still to be sawn."""
        return part.still_to_cut - self.given.get(part.pk, 0)

    def problem_parts(self, shop: Shop) -> list[dict[str, Any]]:
        """Rows for the problem's parts; each part of a set is one of its own."""
        rows = [_row(part, part_id(part), self.left(part), shop) for part in self.parts]
        return [*rows, *self._within_sets(shop)]

    def _within_sets(self, shop: Shop) -> Iterator[dict[str, Any]]:
        for one in self.sets:
            for name in one.names:
                yield _row(one.part(name), name, 1, shop)

    def problem_blanks(self) -> list[dict[str, Any]]:
        """Rows for the problem's blanks."""
        return [
            {"id": blank_id(one), "grain": "length", "quantity": 1, "tree": one.tree} for one in self.sets
        ]


def _row(part: Part, name: str, quantity: int, shop: Shop) -> dict[str, Any]:
    length, width = sawn_size(part, shop)
    materials = [material_id(material) for material in (part.material, *part.also.all())]
    return {
        "id": name,
        "length": exact_text(length, shop.unit),
        "width": exact_text(width, shop.unit),
        "quantity": quantity,
        "grain": part.grain,
        "material": materials[0] if len(materials) == 1 else materials,
    }


def saw_list(job: Job, plan: Plan | None = None) -> SawList:
    """What is still to be sawn for a job: its parts and strips, and the staves of blanks that were begun or
    that `plan` chose. Parts that such a blank gives are not sawn themselves."""
    found = list(job.parts.to_cut().with_materials().order_by("position", "pk"))
    making = blanks_in_the_making(job, plan)
    given = _given_by(making)
    to_saw = [part for part in found if part.kind == Part.Kind.LISTED]
    to_saw = [part for part in to_saw if part.still_to_cut > given.get(part.pk, 0)]
    matched = [one for one in sets_of(job, to_saw, given) if not one.fault]
    inside = {part.pk for one in matched for part in one.parts}
    keys = {blank.pk for blank in making}
    others = [part for part in found if part.kind == Part.Kind.STRIP or part.blank_id in keys]
    return SawList(
        parts=[*(part for part in to_saw if part.pk not in inside), *others],
        sets=[one for one in matched if not one.is_solid],
        solid=[one for one in matched if one.is_solid],
        given=given,
    )


def blanks_in_the_making(job: Job, plan: Plan | None = None) -> list[Blank]:
    """Blanks some of whose staves are cut and some are not, and those of `plan` not yet cut."""
    blanks = Blank.objects.filter(plan__job=job).prefetch_related("staves").select_related("material")
    found = []
    for blank in blanks:
        staves = list(blank.staves.all())
        is_begun = any(stave.cut for stave in staves)
        is_planned = plan is not None and blank.plan_id == plan.pk
        if any(stave.still_to_cut for stave in staves) and (is_begun or is_planned):
            found.append(blank)
    return found


def _given_by(blanks: Iterable[Blank]) -> dict[int, int]:
    counts: dict[int, int] = {}
    for blank in blanks:
        for pk, count in blank.gives().items():
            counts[pk] = counts.get(pk, 0) + count
    return counts
