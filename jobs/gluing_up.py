"""Solid blanks of a job: kept with the plan that chose them, counted when their staves are cut."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from inventory.models import Material
from jobs.cutting import problem as cutting
from jobs.cutting.problem import Side
from jobs.gluing import Rules, Stave
from jobs.models import Blank, Part, Plan
from jobs.sawlist import part_id
from jobs.sizing import panel_size
from jobs.trees import leaves_of, part_of
from shared.models import Shop
from shared.shop import take_codes


@dataclass(frozen=True, slots=True)
class ChosenBlank:
    """A blank before it is kept: what its parts take without allowances, and its staves, `sawn` long. Ticks."""

    name: str
    material: Material
    tree: Any
    length: int
    width: int
    sawn: int
    position: int
    staves: tuple[Stave, ...]

    @property
    def parts(self) -> Counter[int]:
        """How many of each part, by its key, come out of it."""
        return Counter(part_of(name) for name in leaves_of(self.tree))

    @property
    def is_from_boards(self) -> bool:
        """Whether it is glued up, and its staves were thought from boards that are there."""
        return len(self.staves) > 1 and all(stave.board for stave in self.staves)

    @property
    def alike(self) -> list[tuple[int, int]]:
        """Its staves as lines of a parts list, (width, how many): those of one width in a row are one line."""
        return [(width, len(list(run))) for width, run in groupby(stave.width for stave in self.staves)]


def stave_id(blank: int, line: int) -> str:
    """What a problem calls a stave while it is not kept: by the numbers of its blank and line."""
    return f"stave {blank}-{line}"


def rules_of(shop: Shop) -> Rules:
    """The shop's settings as gluing takes them."""
    return Rules(shop.stave_least, shop.stave_most, shop.glue_joint, shop.glue_trim, shop.kerf)


def keep_blanks(plan: Plan, chosen: Sequence[ChosenBlank]) -> dict[str, str]:
    """Keep a plan's blanks and their staves; what a problem calls each stave before and from now on."""
    names: dict[str, str] = {}
    for number, one in enumerate(chosen):
        blank = Blank.objects.create(
            plan=plan,
            name=one.name,
            material=one.material,
            tree=one.tree,
            length=one.length,
            width=one.width,
        )
        staves = _keep_staves(plan, blank, one)
        names |= {stave_id(number, line): part_id(stave) for line, stave in enumerate(staves)}
    return names


def _keep_staves(plan: Plan, blank: Blank, chosen: ChosenBlank) -> list[Part]:
    what = "Stave" if len(chosen.staves) > 1 else "Blank"
    return [
        Part.objects.create(
            job_id=plan.job_id,
            code=code,
            kind=Part.Kind.STAVE,
            blank=blank,
            position=chosen.position,
            name=f"{what} of {blank.name[:60]}",
            quantity=count,
            length=chosen.sawn,
            width=width,
            material=blank.material,
        )
        for (width, count), code in zip(chosen.alike, take_codes(len(chosen.alike)), strict=True)
    ]


def size_of(tree: Any, parts: Iterable[Part], shop: Shop) -> tuple[int, int]:
    """Length and width, in ticks, of parts that lie so, one kerf apart: solid ones as the list has them, panels
    as they are cut."""
    by_key = {part.pk: part for part in parts}
    rows = {name: _as_lies(name, by_key[part_of(name)]) for name in leaves_of(tree)}
    return cutting.blank_size(side_of(tree), rows, shop.kerf)


def size_in_set(part: Part) -> tuple[int, int]:
    """What a part measures in its set."""
    return (part.length, part.width) if part.material.is_lumber else panel_size(part)


def _as_lies(name: str, part: Part) -> cutting.Part:
    return cutting.Part(name, *size_in_set(part), grain="width" if part.grain == "width" else "length")


def side_of(tree: Any) -> str | Side:
    """A tree as the planner has it."""
    return tree if isinstance(tree, str) else Side(tree["cut"], tuple(side_of(child) for child in tree["of"]))


def has_changed(plan: Plan, shop: Shop) -> bool:
    """Whether the parts a plan's blanks are for have other sizes or another order now."""
    for blank in plan.blanks.all():
        keys = set(blank.gives())
        parts = list(Part.objects.filter(pk__in=keys).select_related("material"))
        if len(parts) < len(keys) or any(part.material_id != blank.material_id for part in parts):
            return True
        if size_of(blank.tree, parts, shop) != (blank.length, blank.width):
            return True
    return False


def parts_from(staves: Iterable[Part]) -> list[Part]:
    """The parts that come out of these staves' blanks, locked; other parts among them are passed over."""
    blanks = Blank.objects.filter(pk__in={stave.blank_id for stave in staves if stave.blank_id})
    keys = {pk for blank in blanks for pk in blank.gives()}
    return list(Part.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))


def given_by_blanks(part: Part) -> int:
    """How many of a part have come out of blanks: a blank gives its parts when its last stave is cut."""
    if part.kind != Part.Kind.LISTED or not (part.match_set or part.may_be_glued):
        return 0
    blanks = Blank.objects.filter(plan__job=part.job_id).prefetch_related("staves")
    return sum(blank.gives().get(part.pk, 0) for blank in blanks if is_finished(blank))


def given_by_all_blanks() -> Counter[int]:
    """The same for the parts of all jobs, by their keys."""
    given: Counter[int] = Counter()
    for blank in Blank.objects.prefetch_related("staves"):
        if is_finished(blank):
            given.update(blank.gives())
    return given


def is_finished(blank: Blank) -> bool:
    """Whether all its staves are cut, so that it gives its parts."""
    return all(not stave.still_to_cut for stave in blank.staves.all())
