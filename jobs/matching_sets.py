"""Match sets of a job: which parts lie side by side, in which order, so that the figure runs on over them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, cast

from django.db import transaction

from jobs.cutting.problem import Cut
from jobs.models import Job, MatchSet, Part
from jobs.trees import leaves_of, part_of
from shared.refusal import Refused

Tree = dict[str, Any]


@dataclass(frozen=True, slots=True)
class SetOfParts:
    """A match set with the parts that are still to be cut for it; `names` are theirs in a problem, one each."""

    row: MatchSet
    parts: tuple[Part, ...]
    names: tuple[str, ...]
    tree: Tree

    @property
    def material_keys(self) -> set[int]:
        """The materials that all of its parts may be cut from; of one kind, as a set is one blank."""
        if len({part.material.kind for part in self.parts}) > 1:
            return set()
        each = [{part.material_id, *(one.pk for one in part.also.all())} for part in self.parts]
        return set.intersection(*each)

    @property
    def is_solid(self) -> bool:
        return self.parts[0].material.is_lumber

    @property
    def has_groups(self) -> bool:
        return any(not isinstance(child, str) for child in self.tree["of"])

    def part(self, name: str) -> Part:
        return next(part for part in self.parts if part.pk == part_of(name))

    @property
    def fault(self) -> str:
        """Why it can't be cut as one blank, in a sentence; empty where it can."""
        if not self.material_keys:
            names = ", ".join(sorted({part.material.name for part in self.parts}))
            return f"Match set {self.row.name}: its parts are of {names}. Give all of them one material."
        ways = {part.grain for part in self.parts} - {Part.Grain.ANY}
        if len(ways) > 1 and self.is_solid:
            return (
                f"Match set {self.row.name}: the grain runs two ways in it. Let it run one way in all parts."
            )
        return ""


def copies(part: Part, given: int = 0) -> list[str]:
    """What a problem calls each of the parts still to be cut, counted on from those that are cut, or that a
    blank in the making gives."""
    return [f"p{part.pk}-{number}" for number in range(part.cut + given + 1, part.quantity + 1)]


def sets_of(
    job: Job, parts: Iterable[Part] | None = None, given: Mapping[int, int] | None = None
) -> list[SetOfParts]:
    """The job's match sets with at least two parts to cut. One without an order of its own lies side by side
    with the grain, in the order of the parts list. `given` says how many of a part blanks in the making give.
    """
    given = given or {}
    listed = job.parts.listed().with_materials().order_by("position", "pk") if parts is None else parts
    named: dict[str, list[Part]] = {}
    for part in listed:
        if part.match_set and part.kind == Part.Kind.LISTED and copies(part, given.get(part.pk, 0)):
            named.setdefault(part.match_set, []).append(part)
    rows = {row.name: row for row in job.match_sets.all()}
    found = []
    for name, within in named.items():
        names = tuple(copy for part in within for copy in copies(part, given.get(part.pk, 0)))
        if len(names) > 1:
            row = rows.get(name) or MatchSet(job=job, name=name)
            found.append(SetOfParts(row, tuple(within), names, settled(row.tree, names)))
    return found


def settled(tree: Tree, names: Iterable[str]) -> Tree:
    """A tree over exactly these parts: those not wanted any more are left out, new ones stand at the end.

    >>> settled({"cut": "rip", "of": ["p1-1", "p2-1"]}, ["p2-1", "p3-1"])
    {'cut': 'rip', 'of': ['p2-1', 'p3-1']}
    >>> settled({}, ["p1-1", "p1-2"])
    {'cut': 'crosscut', 'of': ['p1-1', 'p1-2']}
    """
    wanted = dict.fromkeys(names)
    kept = _only(tree, wanted) if tree else None
    if kept is None:
        return {"cut": "crosscut", "of": list(wanted)}
    there = set(leaves_of(kept))
    new = [name for name in wanted if name not in there]
    if isinstance(kept, str):
        return {"cut": tree["cut"], "of": [kept, *new]}
    return cast("Tree", kept | {"of": [*kept["of"], *new]})


def _only(tree: Any, wanted: Mapping[str, object]) -> Any:
    if isinstance(tree, str):
        return tree if tree in wanted else None
    of = [kept for child in tree["of"] if (kept := _only(child, wanted)) is not None]
    if not of:
        return None
    return of[0] if len(of) == 1 else {"cut": tree["cut"], "of": of}


# ---- editing --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Row:
    """Where a part or a group stands: its number in the order of what it is in, "" for the set itself."""

    name: str
    order: int
    within: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Parts that lie together within a set, side by side with the grain (crosscut) or stacked (rip)."""

    row: Row
    cut: Cut


@dataclass(slots=True)
class Arranged:
    """What a person asked for."""

    cut: Cut
    parts: list[Row]
    groups: list[Group] = field(default_factory=list)


def tree_of(arranged: Arranged) -> Tree:
    """The tree that an arrangement means. Refused where groups lie within each other in a circle.

    >>> parts = [Row("tall", 1), Row("low", 2, "A"), Row("high", 1, "A")]
    >>> tree_of(Arranged("crosscut", parts, [Group(Row("A", 2), "rip")]))
    {'cut': 'crosscut', 'of': ['tall', {'cut': 'rip', 'of': ['high', 'low']}]}
    """
    groups = {group.row.name: group for group in arranged.groups}
    for group in groups.values():
        _refuse_circle(group, groups)

    def of(within: str) -> list[Any]:
        here = [row for row in arranged.parts if row.within == within]
        nested = [group.row for group in groups.values() if group.row.within == within]
        return [built for row in sorted([*here, *nested], key=lambda row: row.order) if (built := build(row))]

    def build(row: Row) -> Any:
        if row.name not in groups:
            return row.name
        inside = of(row.name)
        return inside[0] if len(inside) == 1 else inside and {"cut": groups[row.name].cut, "of": inside}

    return {"cut": arranged.cut, "of": of("")}


def _refuse_circle(group: Group, groups: Mapping[str, Group]) -> None:
    seen, at = [group.row.name], group.row.within
    while at:
        if at in seen:
            circle = " within ".join([*seen, at])
            raise Refused(
                f"Group {circle}: that goes round in a circle. Put one of them into the set itself."
            )
        if at not in groups:
            raise Refused(f"There is no group {at}. Choose one that is there, or the set itself.")
        seen.append(at)
        at = groups[at].row.within


def arrangement(tree: Tree) -> Arranged:
    """The other way round: a tree as rows and groups, for the editor."""
    arranged = Arranged(tree["cut"], [])

    def walk(node: Tree, within: str) -> None:
        for order, child in enumerate(node["of"], 1):
            if isinstance(child, str):
                arranged.parts.append(Row(child, order, within))
                continue
            name = chr(ord("A") + len(arranged.groups))
            arranged.groups.append(Group(Row(name, order, within), child["cut"]))
            walk(child, name)

    walk(tree, "")
    return arranged


@transaction.atomic
def arrange(*, of: SetOfParts, arranged: Arranged, may_be_glued: bool) -> MatchSet:
    """Keep how a set's parts lie. Refused where a part is left out, stands twice, or groups go in a circle."""
    tree = tree_of(arranged)
    placed = leaves_of(tree)
    if sorted(placed) != sorted(of.names):
        raise Refused(
            "Every part of the set stands in it once. Give each its number, and load the page again."
        )
    row, _ = MatchSet.objects.update_or_create(
        job=of.row.job, name=of.row.name, defaults={"tree": tree, "may_be_glued": may_be_glued}
    )
    return row
