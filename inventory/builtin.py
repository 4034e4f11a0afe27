"""The published figures that come with the program: woods, sheet sizes, panel densities, lumber sizes.

Each row of inventory/data/*.csv names its source and its basis: `read` (seen in the source), `memory`
(recalled, to be confirmed), `mixed` (part and part; the note or the row's own basis columns say which),
`derived` (computed from a published figure). Trade habits are marked "common practice, no source".
"""

import csv
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from shared.measure import exact_ticks, inches, mm

_DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """Where a row's figures are from, and how surely."""

    source: str
    basis: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesFacts(Published):
    """A wood's averages; None where the source has no figure.

    Specific gravity and density are at 12 percent moisture, shrinkage from green to ovendry. Movement is the
    share of its width that a flat-sawn (tangential) or quarter-sawn (radial) board gains by a percent more
    moisture.
    """

    name: str
    botanical_name: str
    group: str  # hardwood, softwood or imported
    specific_gravity: Decimal
    shrinkage_radial_pct: Decimal
    shrinkage_tangential_pct: Decimal
    movement_radial: Decimal | None
    movement_tangential: Decimal | None
    density_kg_m3: Decimal
    specific_gravity_basis: str
    shrinkage_basis: str
    movement_basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSize(Published):
    """A size sheets are sold in, in ticks: length with the face grain, width across it."""

    name: str  # as the trade says it, which may put the width first
    products: str
    length: int
    width: int
    unit: str  # the one it is sold by: in or mm


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelDensity(Published):
    """What a cubic metre of a panel weighs in kg, for thicknesses in ticks (None: any)."""

    product: str
    thickness_from: int | None
    thickness_to: int | None
    density_kg_m3: Decimal
    density_low: Decimal | None
    density_high: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Quarter(Published):
    """A hardwood thickness as the trade names it, and how thick it is in ticks as sold, dried and planed."""

    name: str  # 4/4
    nominal: int
    rough: int
    kiln_dried_rough: int
    surfaced_one_side: int | None
    surfaced_two_sides: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DressedSize(Published):
    """A size that softwood is sold by, and the least it measures in ticks once it is planed, dry or green."""

    name: str  # 6, or 5/4
    nominal: int
    dry: int
    green: int


def species() -> list[SpeciesFacts]:
    """59 North American and imported woods, by name within their group.

    >>> next(wood.density_kg_m3 for wood in species() if wood.name == "Ash, white")
    Decimal('672')
    """
    return [
        SpeciesFacts(
            name=row["name"],
            botanical_name=row["botanical_name"],
            group=row["group"],
            specific_gravity=Decimal(row["specific_gravity"]),
            shrinkage_radial_pct=Decimal(row["shrinkage_radial_pct"]),
            shrinkage_tangential_pct=Decimal(row["shrinkage_tangential_pct"]),
            movement_radial=_figure(row["movement_radial"]),
            movement_tangential=_figure(row["movement_tangential"]),
            density_kg_m3=Decimal(row["density_kg_m3"]),
            specific_gravity_basis=row["specific_gravity_basis"],
            shrinkage_basis=row["shrinkage_basis"],
            movement_basis=row["movement_basis"],
            **_origin(row),
        )
        for row in _rows("species.csv")
    ]


def sheet_sizes() -> list[SheetSize]:
    """Sizes sheets are sold in, those by the inch first.

    >>> [size.name for size in sheet_sizes() if size.length < size.width]
    ['8 × 4 ft']
    """
    return [
        SheetSize(
            name=row["name"],
            products=row["products"],
            length=exact_ticks(f"{row['length']} {row['unit']}", "in"),
            width=exact_ticks(f"{row['width']} {row['unit']}", "in"),
            unit=row["unit"],
            **_origin(row),
        )
        for row in _rows("panel_sizes.csv")
    ]


def panel_densities() -> list[PanelDensity]:
    """Densities of panels, some of them by thickness.

    >>> [panel.density_kg_m3 for panel in panel_densities() if panel.product == "MDF, furniture grade"]
    [Decimal('750')]
    """
    return [
        PanelDensity(
            product=row["product"],
            thickness_from=mm(row["thickness_from_mm"]) if row["thickness_from_mm"] else None,
            thickness_to=mm(row["thickness_to_mm"]) if row["thickness_to_mm"] else None,
            density_kg_m3=Decimal(row["density_kg_m3"]),
            density_low=_figure(row["density_low"]),
            density_high=_figure(row["density_high"]),
            **_origin(row),
        )
        for row in _rows("panel_densities.csv")
    ]


def quarters() -> list[Quarter]:
    """Hardwood thicknesses, thinnest first.

    >>> [quarter.name for quarter in quarters()][4:8]
    ['4/4', '5/4', '6/4', '7/4']
    """
    return [
        Quarter(
            name=row["name"],
            nominal=inches(row["nominal_in"]),
            rough=inches(row["rough_in"]),
            kiln_dried_rough=inches(row["kiln_dried_rough_in"]),
            surfaced_one_side=inches(row["surfaced_one_side_in"]) if row["surfaced_one_side_in"] else None,
            surfaced_two_sides=inches(row["surfaced_two_sides_in"]),
            **_origin(row),
        )
        for row in _rows("hardwood_quarters.csv")
    ]


def dressed_widths() -> list[DressedSize]:
    """Softwood widths, narrowest first: a 2 × 6 is 5 1/2 wide.

    >>> next(size.dry == inches("5 1/2") for size in dressed_widths() if size.name == "6")
    True
    """
    return _dressed("width")


def dressed_thicknesses() -> list[DressedSize]:
    """Softwood thicknesses, thinnest first: a 2 × 6 is 1 1/2 thick."""
    return _dressed("thickness")


def _dressed(side: str) -> list[DressedSize]:
    return [
        DressedSize(
            name=row["name"],
            nominal=inches(row["nominal_in"]),
            dry=inches(row["dry_in"]),
            green=inches(row["green_in"]),
            **_origin(row),
        )
        for row in _rows("softwood_sizes.csv")
        if row["side"] == side
    ]


def _rows(name: str) -> list[dict[str, str]]:
    with (_DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _origin(row: dict[str, str]) -> dict[str, str]:
    return {"source": row["source"], "basis": row["basis"], "note": row["note"]}


def _figure(text: str) -> Decimal | None:
    return Decimal(text) if text else None
