"""How much finish a job needs: an estimate from the faces and edges of its parts.

Area = volume × solids × transfer ÷ dry film: a volume of finish, less what dries off and what misses the
piece, spread as thick as the film dries (tests/outside/data/reference/finish.csv, F01 to F04: coatings
technical bulletin, theoretical spreading rate; R. Joseph's paint question column, October 2003). The film is
that of all coats together.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from jobs.models import Job, Part
from shared.measure import TICKS_PER_MM
from shared.units import convert

MICROMETRE = Decimal(TICKS_PER_MM) / 1000
#: Units finish is sold in, and what pint calls them.
VOLUMES = {
    "quart": "quart",
    "gallon": "gallon",
    "pint": "pint",
    "litre": "litre",
    "liter": "litre",
    "l": "litre",
    "ml": "millilitre",
}
FORMULA = "volume = area × dry film ÷ (solids × transfer)"


@dataclass(frozen=True, slots=True)
class Coating:
    """A finish and how it is put on. `film_um`: one coat's dry film in micrometres; shares of 1."""

    coats: int
    film_um: Decimal
    solids: Decimal
    transfer: Decimal

    def __post_init__(self) -> None:
        if self.coats < 1 or self.film_um <= 0:
            raise ValueError("A finish needs at least one coat and a film above zero.")
        if not (0 < self.solids <= 1 and 0 < self.transfer <= 1):
            raise ValueError("Solids and transfer are shares above 0 and up to 100 %.")


@dataclass(frozen=True, slots=True)
class Surfaces:
    """Which sides of a part are finished: one face, both, or none; edges or not."""

    faces: int = 2
    edges: bool = True


def surface(part: Part, sides: Surfaces) -> int:
    """Square ticks of one part's faces and edges, at its listed size."""
    thick = part.thickness or part.material.thickness or 0
    edges = 2 * (part.length + part.width) * thick if sides.edges else 0
    return sides.faces * part.length * part.width + edges


def area_m2(parts: Iterable[Part], sides: Surfaces) -> Decimal:
    """Square metres of all parts."""
    ticks = sum(surface(part, sides) * part.quantity for part in parts)
    return Decimal(ticks) / (1000 * TICKS_PER_MM) ** 2


def litres(area: Decimal, coating: Coating) -> Decimal:
    """Litres for an area in square metres.

    >>> finish = Coating(coats=1, film_um=Decimal(28), solids=Decimal("0.35"), transfer=Decimal(1))
    >>> litres(Decimal("12.5"), finish)
    Decimal('1.00')
    """
    film = coating.film_um * coating.coats / 1000  # a micrometre over a square metre is a millilitre
    return area * film / (coating.solids * coating.transfer)


def spreading_rate(coating: Coating) -> Decimal:
    """Square metres that a litre covers with one coat."""
    return 1000 * coating.solids * coating.transfer / coating.film_um


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a job needs: square metres and litres, and how many of the unit the finish is counted in."""

    area: Decimal
    litres: Decimal
    quantity: Decimal | None
    unit: str

    @property
    def square_feet(self) -> Decimal:
        return convert(self.area, "m^2", "ft^2")


def estimate(job: Job, coating: Coating, sides: Surfaces, unit: str = "") -> Estimate:
    """How much of a finish the parts on a job's list need; `unit` is the one it is counted in."""
    parts = job.parts.listed().select_related("material")
    area = area_m2(parts, sides)
    needed = litres(area, coating)
    volume = VOLUMES.get(unit.lower())
    quantity = convert(needed, "litre", volume) if volume else None
    return Estimate(area, needed, quantity, unit)
