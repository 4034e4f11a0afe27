"""Wood facts of a job: what its parts weigh, and how a solid part moves with the seasons."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from jobs.models import Job, Part
from jobs.sizing import panel_size
from shared.measure import TICKS_PER_64TH, TICKS_PER_MM, Unit, format_length_with_unit, weight_kg
from shared.wood import Movement, movement_of

#: Heated winter air and a damp summer, indoors: common practice, no source.
DRY_PCT, DAMP_PCT = Decimal(7), Decimal(11)


@dataclass(frozen=True, slots=True)
class SeasonalMovement:
    """How much a solid part is wider in the damp than in the dry, in ticks; `source` of the coefficients."""

    width: int
    from_pct: Decimal
    to_pct: Decimal
    moves: Movement
    species: str
    source: str

    def in_words(self, unit: Unit) -> list[str]:
        """“1/4 in where it is flat-sawn”, to the nearest mark of a tape."""
        said = []
        for ticks, how in ((self.moves.flat_sawn, "flat-sawn"), (self.moves.quarter_sawn, "quarter-sawn")):
            if ticks is not None:
                said.append(f"{_to_a_mark(abs(ticks), unit)} where it is {how}")
        return said


def _to_a_mark(ticks: int, unit: Unit) -> str:
    mark = TICKS_PER_64TH if unit == "in" else TICKS_PER_MM // 10
    return format_length_with_unit(round(ticks / mark) * mark, unit)


def seasonal_movement(
    part: Part, from_pct: Decimal = DRY_PCT, to_pct: Decimal = DAMP_PCT
) -> SeasonalMovement | None:
    """The movement across a solid part's grain; None where it is no solid wood or its species has no figures.

    Raises NotItsMoisture outside 6 to 14 percent.
    """
    species = part.material.species
    if not part.material.is_lumber or species is None:
        return None
    if species.movement_radial is None and species.movement_tangential is None:
        return None
    across = part.length if part.grain == Part.Grain.WIDTH else part.width
    moves = movement_of(across, species.movement_radial, species.movement_tangential, from_pct, to_pct)
    return SeasonalMovement(across, from_pct, to_pct, moves, species.name, species.cited)


@dataclass(frozen=True, slots=True)
class Weight:
    """Kilograms of the parts whose density is known, and how many parts of how many that are."""

    kg: Decimal
    parts: int
    of_parts: int

    @property
    def unknown(self) -> int:
        return self.of_parts - self.parts


def weight_of(job: Job) -> Weight | None:
    """What the finished job weighs from its parts' own sizes and their strips; None where nothing is known."""
    parts = list(job.parts.exclude(kind=Part.Kind.STAVE).with_materials())
    listed = [part for part in parts if part.kind == Part.Kind.LISTED]
    known = [part for part in parts if part_weight(part) is not None]
    if not known:
        return None
    kg = sum((part_weight(part) or Decimal(0)) * part.quantity for part in known)
    return Weight(
        Decimal(kg),
        _count(part for part in known if part.kind == Part.Kind.LISTED),
        _count(listed),
    )


def _count(parts: Iterable[Part]) -> int:
    return sum(part.quantity for part in parts)


def part_weight(part: Part) -> Decimal | None:
    """Kilograms of one part at its finished size; solid wood without a finished thickness counts as bought."""
    thickness = part.thickness or part.material.thickness
    if not part.material.density or not thickness:
        return None
    length, width = (part.length, part.width) if part.kind == Part.Kind.STRIP else panel_size(part)
    return weight_kg(length, width, thickness, part.material.density)
