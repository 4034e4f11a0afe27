"""What the shop keeps, where, and from whom: materials with their names and offers, places, suppliers."""

from collections.abc import Mapping
from datetime import date as Date  # noqa: N812 - a type beside a column of that name
from decimal import Decimal
from typing import Any, TypedDict, TypeVar, Unpack

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction

from inventory.models import LabelToPrint, Material, MaterialName, Offer, Place, Species, Supplier
from inventory.models.materials import normal_name
from shared.refusal import Refused
from shared.shop import take_codes

Row = TypeVar("Row", bound=models.Model)


class MaterialColumns(TypedDict, total=False):
    """What can be said of a material, besides its kind."""

    name: str
    species: Species | None
    core: str
    thickness_text: str
    thickness: int | None
    is_grained: bool
    is_dressed: bool
    density_kg_m3: Decimal | None
    formaldehyde_class: str
    unit: str
    reorder_point: Decimal | None
    is_counted_whole: bool
    note: str
    retired: bool


@transaction.atomic
def add_material(*, kind: str, **columns: Unpack[MaterialColumns]) -> Material:
    """A material the shop will keep. Goods get a code for their shelf, and its label waits to be printed.

    Refused where there is one of this kind with this name.
    """
    material = Material(kind=kind, **columns)
    if material.is_goods:
        (material.code,) = take_codes(1)
        material.is_grained = False
    _keep(material)
    if material.is_goods:
        LabelToPrint.objects.create(material=material)
    return material


def change_material(*, material: Material, **columns: Unpack[MaterialColumns]) -> Material:
    """Say something else of a material; only what differs is written. Its kind stays."""
    return _change(material, columns)


@transaction.atomic
def add_offer(
    *,
    material: Material,
    supplier: Supplier,
    price: Decimal,
    seen_on: Date,
    length: int | None = None,
    width: int | None = None,
    pack: Decimal = Decimal(1),
    pack_name: str = "",
) -> Offer:
    """What a supplier asks for a material, in ticks and for the unit its kind is sold by; goods by the pack.

    A new price for the same size takes the place of the old one, which is kept as it was seen. The same price
    seen on the same day is one offer.
    """
    Material.objects.select_for_update().get(pk=material.pk)
    per = {"sheet": Offer.Per.SHEET, "lumber": Offer.Per.BOARD_FOOT, "goods": Offer.Per.UNIT}[material.kind]
    if per == Offer.Per.SHEET and not (length and width):
        raise Refused("A sheet on offer needs its length and width.")
    alike = material.offers.current().filter(supplier=supplier, length=length, width=width, per=per)
    before = [offer for offer in alike if offer.pack == pack]
    if same := next((one for one in before if (one.price, one.seen_on) == (price, seen_on)), None):
        return same
    Offer.objects.filter(pk__in=[one.pk for one in before]).update(is_current=False)
    return Offer.objects.create(
        material=material,
        supplier=supplier,
        price=price,
        per=per,
        seen_on=seen_on,
        length=length,
        width=width,
        pack=pack,
        pack_name=pack_name,
    )


def end_offer(*, offer: Offer) -> None:
    """A supplier sells this no longer; what it cost is kept."""
    Offer.objects.filter(pk=offer.pk).update(is_current=False)


def add_name(*, material: Material, name: str) -> MaterialName:
    """Another name parts lists may use for a material. Refused where it stands for another one."""
    name = " ".join(name.split())
    known, _ = MaterialName.objects.get_or_create(
        normal=normal_name(name), defaults={"material": material, "name": name}
    )
    if known.material_id != material.pk:
        raise Refused(f"“{name}” already stands for {known.material}. Remove it there first.")
    return known


def remove_name(*, name: MaterialName) -> None:
    """A parts list that uses this name will ask again what it means."""
    name.delete()


@transaction.atomic
def add_place(*, name: str, within: Place | None = None, walk_order: int | None = None) -> Place:
    """A place with a code; its label waits to be printed. Without an order it comes last along the walk."""
    if walk_order is None:
        last = Place.objects.aggregate(last=models.Max("walk_order"))["last"]
        walk_order = (last or 0) + 1
    (code,) = take_codes(1)
    place = Place(code=code, name=name, within=within, walk_order=walk_order)
    _keep(place)
    LabelToPrint.objects.create(place=place)
    return place


@transaction.atomic
def change_place(*, place: Place, name: str, within: Place | None, walk_order: int) -> Place:
    """Rename a place, put it into another or elsewhere along the walk. Refused within itself."""
    outer = within
    while outer is not None:
        if outer.pk == place.pk:
            raise Refused(f"{within} is within {place}, so {place} can't be within {within}.")
        outer = outer.within
    return _change(place, {"name": name, "within": within, "walk_order": walk_order})


def add_supplier(*, name: str, reach: str = "", note: str = "") -> Supplier:
    """Someone the shop buys from. Refused where there is one of this name."""
    return _keep(Supplier(name=name, reach=reach, note=note))


def change_supplier(*, supplier: Supplier, name: str, reach: str, note: str) -> Supplier:
    """Another name, phone number or note."""
    return _change(supplier, {"name": name, "reach": reach, "note": note})


def supplier_called(name: str) -> Supplier:
    """The supplier of that name, however it is capitalised; added where there is none."""
    name = " ".join(name.split())
    known = Supplier.objects.filter(name__iexact=name).first()
    return known or Supplier.objects.get_or_create(name=name)[0]


def _keep(row: Row) -> Row:
    """Save a new row, or refuse it in the words of the constraint it breaks."""
    try:
        row.full_clean()
        with transaction.atomic():
            row.save()
    except (ValidationError, IntegrityError) as error:
        raise _refusal(error) from error
    return row


def _change(row: Row, columns: Mapping[str, Any]) -> Row:
    """Write what differs, or refuse it in the words of the constraint it breaks."""
    changed = [name for name, value in columns.items() if getattr(row, name) != value]
    for name in changed:
        setattr(row, name, columns[name])
    try:
        row.full_clean()
        with transaction.atomic():
            row.save(update_fields=changed)
    except (ValidationError, IntegrityError) as error:
        raise _refusal(error) from error
    return row


def _refusal(error: ValidationError | IntegrityError) -> Refused:
    if isinstance(error, ValidationError):
        return Refused(" ".join(error.messages))
    return Refused("Someone else has just entered the same. Look whether it is there now.")
