"""All that is sawn for a job, as a problem of the planning format names it: parts, strips, staves, blanks."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from inventory.models import Material
from jobs.matching_sets import SetOfParts, sets_of
from jobs.models import Blank, Job, Part, Plan
from jobs.sizing import sawn_size
from jobs.trees import part_of
from shared.measure import exact_text
from shared.models import Shop


def part_id(part: Part) -> str:
    """How a problem names a part."""
    return f"p{part.pk}"


def material_id(material: Material) -> str:
    """How a problem, and the planner's sentences, name a material. A name stands once a kind."""
    return f"{material.name} (lumber)" if material.is_lumber else material.name


ALSO = "also"


def other_kind_id(part: Part) -> str:
    """How a problem names those of a part that are cut from the other kind of its materials."""
    return f"{part_id(part)}-{ALSO}"


def other_kind(part: Part) -> str:
    """The kind of its other materials, where a part may be of sheet goods or of lumber; else "".

    Only where it stands alone: what lies in a set, or has its edges faced, stays of one kind.
    """
    if part.kind != Part.Kind.LISTED or part.match_set or part.faced_edges:
        return ""
    kinds = (material.kind for material in part.also.all())
    return next((kind for kind in kinds if kind != part.material.kind), "")


def moved_in(problem: Mapping[str, Any]) -> dict[int, int]:
    """How many of each part, by its key, a problem asks for from the other kind of its materials."""
    rows = problem.get("parts", ())
    return {part_of(row["id"]): row["quantity"] for row in rows if row["id"].endswith(f"-{ALSO}")}


def blank_id(one: SetOfParts) -> str:
    """How a problem names a match set that is cut from one sheet."""
    return f"set {one.row.name}"


@dataclass(slots=True)
class SawList:
    """What a plan has to place.

    `parts` are sawn one by one; `given` of each come out of blanks in the making instead, and `moved` are cut
    from the other kind of its materials. `sets` are cut from one sheet each, `solid` are the sets of solid
    wood that a blank has still to be made for.
    """

    parts: list[Part] = field(default_factory=list)
    sets: list[SetOfParts] = field(default_factory=list)
    solid: list[SetOfParts] = field(default_factory=list)
    given: dict[int, int] = field(default_factory=dict)
    moved: Mapping[int, int] = field(default_factory=dict)

    @property
    def everything(self) -> list[Part]:
        return [*self.parts, *(part for one in (*self.sets, *self.solid) for part in one.parts)]

    def left(self, part: Part) -> int:
        """How many of a part are still to be sawn."""
        return part.still_to_cut - self.given.get(part.pk, 0)

    def problem_parts(self, shop: Shop) -> list[dict[str, Any]]:
        """Rows for the problem's parts; each part of a set is one of its own."""
        return [*self._each_alone(shop), *self._within_sets(shop)]

    def _each_alone(self, shop: Shop) -> Iterator[dict[str, Any]]:
        for part in self.parts:
            moved = min(self.moved.get(part.pk, 0), self.left(part))
            yield _row(part, part_id(part), self.left(part) - moved, shop)
            if moved:
                yield _row(part, other_kind_id(part), moved, shop, other_kind(part))

    def _within_sets(self, shop: Shop) -> Iterator[dict[str, Any]]:
        for one in self.sets:
            for name in one.names:
                yield _row(one.part(name), name, 1, shop)

    def less(self, given: Mapping[int, int]) -> "SawList":
        """What is left when blanks for all solid sets, and for whatever else they give, are in the making."""
        both = Counter(self.given) + Counter(given)
        parts = [part for part in self.parts if part.still_to_cut > both[part.pk]]
        return replace(self, parts=parts, solid=[], given=dict(both))

    def problem_blanks(self) -> list[dict[str, Any]]:
        """Rows for the problem's blanks."""
        return [
            {"id": blank_id(one), "grain": "length", "quantity": 1, "tree": one.tree} for one in self.sets
        ]


def _row(part: Part, name: str, quantity: int, shop: Shop, kind: str = "") -> dict[str, Any]:
    """`kind` is that of the materials it is cut from, the part's own where none is given."""
    kind = kind or part.material.kind
    length, width = sawn_size(part, shop, kind)
    of_kind = (material for material in (part.material, *part.also.all()) if material.kind == kind)
    materials = [material_id(material) for material in of_kind]
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
