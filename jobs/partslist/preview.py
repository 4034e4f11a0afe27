"""A parts list before it is saved: each row as understood, each material found or asked for once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from inventory.models import Material
from jobs import facing
from jobs.edging import NotEdging, parse_edging
from jobs.models import MatchSet, Part
from jobs.partslist.columns import Columns, find_columns
from jobs.partslist.grid import Grid, NotAPartsList
from jobs.partslist.matching import Candidate, Match, Matcher, remembered_as
from jobs.partslist.rows import ReadList, ReadRow, understand
from jobs.partslist.saving import PartLine, remember_name
from jobs.partslist.words import Field
from jobs.sizing import thinnest_quarter
from shared.measure import Unit
from shared.models import Shop


@dataclass(slots=True)
class Asked:
    """A material's name that the shop does not know: it is asked for once, and the answer remembered."""

    key: str
    text: str
    rows: list[int] = field(default_factory=list)
    suggestions: list[Material] = field(default_factory=list)
    answer: Material | None = None


@dataclass(slots=True)
class PreviewRow:
    """A row as understood, with the materials it means; `material` is None while it is asked for."""

    read: ReadRow
    material: Material | None
    also: list[Material]
    remark: str = ""  # what is not understood of its edging; it can be saved all the same

    @property
    def grain(self) -> str:
        """The way of the grain; where the list leaves it open, with the length on what has grain."""
        if self.read.grain != "default":
            return self.read.grain
        return Part.Grain.LENGTH if self.material is None or self.material.is_grained else Part.Grain.ANY


@dataclass(slots=True)
class Preview:
    """All a page shows of a list before it is saved. `problem` says why nothing could be read."""

    grid: Grid
    columns: Columns
    unit: Unit
    read: ReadList | None = None
    problem: str = ""
    rows: list[PreviewRow] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)

    @property
    def open_questions(self) -> list[Asked]:
        return [one for one in self.asked if one.answer is None]

    @property
    def is_ready(self) -> bool:
        """Whether it can be saved: read, without errors, nothing left to ask."""
        return self.read is not None and not self.read.errors and not self.open_questions

    @property
    def part_count(self) -> int:
        return sum(row.read.quantity or 0 for row in self.rows)

    def lines(self) -> list[PartLine]:
        """What is saved. Only where `is_ready`."""
        assert self.is_ready
        return [_line(row) for row in self.rows]

    def remember(self) -> None:
        """Keep the answers for the next list."""
        for one in self.asked:
            if one.answer and one.text:
                remember_name(material=one.answer, text=one.key)


def _line(row: PreviewRow) -> PartLine:
    read = row.read
    assert row.material
    assert read.quantity
    assert read.length
    assert read.width
    return PartLine(
        quantity=read.quantity,
        name=read.name,
        length=read.length,
        width=read.width,
        material=row.material,
        grain=row.grain,
        also=tuple(row.also),
        edging=read.edging,
        match_set=read.match_set,
        note=read.note,
        thickness=read.thickness if row.material.is_lumber else None,
        may_be_glued=read.may_be_glued,
    )


def preview(
    grid: Grid,
    unit: Unit,
    *,
    by_hand: Mapping[Field, int | None] | None = None,
    answers: Mapping[str, int] | None = None,
) -> Preview:
    """What would be saved of a grid.

    `unit` is that of bare lengths, `by_hand` sets columns, `answers` maps a question's key to a material's pk.
    """
    columns = find_columns(grid, unit)
    if by_hand:
        columns = columns.placed(by_hand)
    shown = Preview(grid, columns, unit)
    try:
        shown.read = understand(grid, columns, unit)
    except NotAPartsList as error:
        shown.problem = str(error)
        return shown
    _find_materials(shown, answers or {})
    return shown


def candidates(materials: Iterable[Material]) -> list[Candidate]:
    """The shop's materials as matching knows them."""
    return [
        Candidate(
            id=material.pk,
            name=material.name,
            kind=material.kind,  # type: ignore[arg-type]
            species=material.species.name if material.species else "",
            core=material.core,
            thickness_text=material.thickness_text,
            other_names=tuple(name.name for name in material.names.all()),
        )
        for material in materials
    ]


def _find_materials(shown: Preview, answers: Mapping[str, int]) -> None:
    materials = {
        material.pk: material
        for material in Material.objects.in_use()
        .exclude(kind=Material.Kind.GOODS)
        .select_related("species")
        .prefetch_related("names")
    }
    matcher = Matcher(candidates(materials.values()), shown.unit)
    found: dict[str, Match] = {}
    asked: dict[str, Asked] = {}

    def material_of(text: str, row: ReadRow, *, is_other: bool = False) -> Material | None:
        key = remembered_as(text, row.thickness, shown.unit)
        if key not in found:
            found[key] = matcher.match(text, row.thickness)
        match = found[key]
        if match.taken:
            return materials[match.taken]
        # The finished thickness is that of the solid part; a panel that would do too has its own.
        if is_other and (by_name := matcher.match(text)).taken:
            return materials[by_name.taken]
        if key not in asked:
            suggestions = _thick_enough_first([materials[pk] for pk in match.suggestions], row.thickness)
            asked[key] = Asked(key, text, [], suggestions, materials.get(answers.get(key, 0)))
        asked[key].rows.append(row.number)
        return asked[key].answer

    assert shown.read
    for row in shown.read.rows:
        also = [material_of(text, row, is_other=True) for text in row.also_texts]
        main = material_of(row.material_text, row)
        others = [material for material in also if material]
        shown.rows.append(PreviewRow(row, main, others, _edging_remark(row.edging, shown.unit)))
    shown.asked = list(asked.values())


def _thick_enough_first(suggestions: list[Material], finished: int | None) -> list[Material]:
    """Where a list gives a finished thickness, the thinnest quarter that planes to it comes first."""
    quarter = thinnest_quarter(finished) if finished else None
    if quarter is None:
        return suggestions
    return sorted(suggestions, key=lambda one: not (one.is_lumber and one.sold_thickness == quarter.nominal))


def _edging_remark(text: str, unit: Unit) -> str:
    try:
        parse_edging(text, unit)
    except NotEdging as error:
        return f"Edging: {error}"
    return ""


def as_rows(parts: Iterable[Part], shop: Shop) -> list[ReadRow]:
    """Saved parts as rows of a list, for export: what comes out reads back as what went in.

    A set's parts say whether it may be glued up, and an edging names its wood where one was chosen by hand.
    """
    parts, strips = list(parts), facing.strip_materials()
    sets = MatchSet.objects.filter(job__in={part.job_id for part in parts})
    glued = {(row.job_id, row.name): row.may_be_glued for row in sets}
    return [
        ReadRow(
            number=number,
            quantity=part.quantity,
            name=part.name,
            length=part.length,
            width=part.width,
            material_text=part.material.name,
            also_texts=tuple(material.name for material in part.also.all()),
            grain=part.grain,  # type: ignore[arg-type]
            edging=facing.edging_text(part, shop, strips),
            match_set=part.match_set,
            may_be_glued=glued.get((part.job_id, part.match_set), part.may_be_glued),
            thickness=part.thickness,
            note=part.note,
        )
        for number, part in enumerate(parts, 1)
    ]
