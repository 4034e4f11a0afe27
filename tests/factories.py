"""Valid things for tests, made through the shop's own functions. What a test is about stands in the test."""

from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

from django.contrib.auth.models import Group

from inventory import putting_in, receiving
from inventory.models import Material, Piece, Place, Supplier
from jobs.models import Client, Job, Part
from shared.measure import inches
from shared.models import Person
from shared.shop import take_codes

_numbers = count(1)


def make_person(role: str = "owner", **others: Any) -> Person:
    person = Person.objects.create_user(
        username=others.pop("username", f"{role}{next(_numbers)}"), password="bench dog 42", **others
    )
    person.groups.add(Group.objects.get(name=role))
    return person


def make_material(name: str | None = None, kind: str = "sheet", **others: Any) -> Material:
    defaults: dict[str, Any] = {"thickness_text": "3/4", "thickness": inches("23/32"), "density_kg_m3": 600}
    if kind == "lumber":
        defaults = {"thickness_text": "5/4", "thickness": inches("1 1/4"), "density_kg_m3": 670}
    if kind == "goods":
        defaults = {"unit": "each", "is_grained": False}
    return Material.objects.create(
        kind=kind, name=name or f"{kind} {next(_numbers)}", **{**defaults, **others}
    )


def make_place(name: str | None = None) -> Place:
    number = next(_numbers)
    return Place.objects.create(name=name or f"Bay {number}", code=take_codes(1)[0], walk_order=number)


def make_supplier(name: str | None = None) -> Supplier:
    return Supplier.objects.create(name=name or f"Yard {next(_numbers)}")


def make_sheets(
    count_: int = 1,
    *,
    by: Person,
    material: Material | None = None,
    length: str = "96",
    width: str = "48",
    price: str = "92.00",
    **others: Any,
) -> list[Piece]:
    """Sheets received on one receipt, newest codes last."""
    receipt = receiving.receive(
        supplier=others.pop("supplier", None) or make_supplier(),
        number=f"R{next(_numbers)}",
        date=others.pop("date", date(2026, 11, 2)),
        lines=[
            receiving.SheetLine(
                material or make_material(), count_, inches(length), inches(width), Decimal(price)
            )
        ],
        by=by,
        **others,
    )
    return list(Piece.objects.filter(receipt_line__receipt=receipt).order_by("pk"))


def make_sheet(*, by: Person, **others: Any) -> Piece:
    return make_sheets(1, by=by, **others)[0]


def make_offcut(
    *,
    by: Person,
    material: Material | None = None,
    length: str = "40 1/2",
    width: str = "22",
    value: str = "0",
    **others: Any,
) -> Piece:
    """An offcut that was in the shop already."""
    return putting_in.put_in(
        material=material or make_material(),
        kind="offcut",
        length=inches(length),
        width=inches(width),
        value=Decimal(value),
        by=by,
        **others,
    )


def make_job(title: str = "Wash stand", **others: Any) -> Job:
    number = others.pop("number", f"26-{next(_numbers):03}")
    client = others.pop("client", None) or Client.objects.create(name=f"Client {number}")
    return Job.objects.create(number=number, title=title, client=client, **others)


def make_part(
    job: Job,
    material: Material,
    name: str = "side",
    length: str = "34 1/2",
    width: str = "15 1/4",
    quantity: int = 1,
    **others: Any,
) -> Part:
    return Part.objects.create(
        job=job,
        code=take_codes(1)[0],
        position=job.parts.count() + 1,
        name=name,
        length=inches(length),
        width=inches(width),
        quantity=quantity,
        material=material,
        **others,
    )
