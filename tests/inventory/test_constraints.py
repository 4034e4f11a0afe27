"""The database refuses what must never be in the stock, and no movement is ever changed."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from inventory import handling
from inventory.models import (
    AccountName,
    ClosedPeriod,
    Count,
    CountLine,
    Flaw,
    GoodsLot,
    LabelPaper,
    LabelToPrint,
    Material,
    MaterialName,
    Movement,
    Offer,
    Piece,
    Place,
    Receipt,
    ReceiptLine,
    Species,
    Supplier,
)
from shared.measure import inches
from tests.constraints import constraints_of, is_a_sentence, refused, unique_columns_of
from tests.factories import make_material, make_offcut, make_person, make_place, make_sheet, make_supplier

pytestmark = pytest.mark.django_db


def a_piece(**columns: Any) -> None:
    """A sheet on the rack, changed past the ledger."""
    sheet = make_sheet(by=make_person())
    Piece.objects.filter(pk=sheet.pk).update(**columns)


def a_piece_from_itself() -> None:
    offcut = make_offcut(by=make_person())
    Piece.objects.filter(pk=offcut.pk).update(parent=offcut)


def a_material(made_as: str = "sheet", **columns: Any) -> None:
    Material.objects.filter(pk=make_material(kind=made_as).pk).update(**columns)


def an_offer(**columns: Any) -> None:
    sheet = {"length": inches(96), "width": inches(48), "price": Decimal(90), "per": "sheet"}
    Offer.objects.create(
        material=make_material(), supplier=make_supplier(), seen_on=date(2026, 11, 1), **{**sheet, **columns}
    )


def a_receipt(**columns: Any) -> Receipt:
    defaults = {"supplier": make_supplier, "number": "1", "total": Decimal(0)}
    given = {name: value() if callable(value) else value for name, value in {**defaults, **columns}.items()}
    return Receipt.objects.create(date=date(2026, 11, 1), entered_by=make_person(), **given)


def a_line(**columns: Any) -> None:
    amounts = {"count": 1, "price": Decimal(1), "amount": Decimal(1), "cost": Decimal(1)}
    ReceiptLine.objects.create(receipt=a_receipt(), material=make_material(), **{**amounts, **columns})


def a_lot(**columns: Any) -> None:
    goods = {"received": 10, "left": 5, "cost": Decimal("9.00"), "value": Decimal("4.50")}
    GoodsLot.objects.create(material=make_material(kind="goods"), **{**goods, **columns})


def a_flaw(**columns: Any) -> None:
    at = {"x": 0, "y": 0, "length": inches(1), "width": inches(1)}
    Flaw.objects.create(piece=make_sheet(by=make_person()), **{**at, **columns})


def a_movement(**columns: Any) -> Movement:
    by = make_person()
    thing = {} if "lot" in columns else {"piece": make_sheet(by=by)}
    return Movement.objects.create(**{"verb": "pull", "by": by, **thing, **columns})


def a_closed_period() -> None:
    sums = dict.fromkeys(("received", "charged", "written_off", "sold"), Decimal(0))
    by, day = make_person(), date(2026, 10, 31)
    ClosedPeriod.objects.create(last_day=day, ends_at=timezone.now(), closed_by=by, **sums)


def twice(make: Any, **columns: Any) -> None:
    for _ in range(2):
        make(**columns)


def a_tap_counted_twice() -> None:
    by = make_person()
    twice(a_movement, by=by, key="k1")


def a_movement_undone_twice() -> None:
    twice(a_movement, verb="undo", undoes=a_movement())


def a_count_posted_by_nobody() -> None:
    Count.objects.create(begun_by=make_person(), posted_at=timezone.now())


def a_label_seen_twice() -> None:
    person = make_person()
    count = Count.objects.create(begun_by=person)
    for _ in range(2):
        CountLine.objects.create(count=count, code="K7M2Q8", by=person)


def a_movement_of_a_piece_and_a_lot() -> None:
    hinges = make_material(kind="goods")
    lot = GoodsLot.objects.create(material=hinges, received=1, left=1, cost=Decimal(1), value=Decimal(1))
    a_movement(lot=lot, piece=make_sheet(by=make_person()))


def a_label_paper(**columns: Any) -> None:
    millimetres = {
        "paper_width": 210, "paper_height": 297, "label_width": 70, "label_height": 37, "columns": 3, "rows": 8,
        "left_margin": 0, "top_margin": 0, "pitch_x": 70, "pitch_y": 37,
    }  # fmt: skip
    LabelPaper.objects.create(name="ours", **{**millimetres, **columns})


WRONG = {
    "label_paper_has_labels": lambda: a_label_paper(rows=0),
    "labels_do_not_lie_over_each_other": lambda: a_label_paper(pitch_y=36),
    "a_count_is_posted_by_someone": a_count_posted_by_nobody,
    "a_label_is_seen_once_a_count": a_label_seen_twice,
    "account_has_a_name": lambda: AccountName.objects.create(sort="stock", name=""),
    "material_name_once_a_kind": lambda: [make_material("Ash ply"), make_material("ash PLY")],
    "material_code_once": lambda: twice(make_material, code="K7M2Q8"),
    "material_is_of_a_known_kind": lambda: a_material(kind="stone"),
    "lumber_has_a_quarter": lambda: a_material("lumber", thickness_text=""),
    "goods_have_a_unit": lambda: a_material("goods", unit=""),
    "only_lumber_is_dressed": lambda: a_material("sheet", is_dressed=True),
    "material_has_a_thickness": lambda: a_material(thickness=None),
    "material_density_above_zero": lambda: a_material(density_kg_m3=0),
    "offer_price_not_negative": lambda: an_offer(price=Decimal("-0.01")),
    "offered_pack_holds_something": lambda: an_offer(pack=0),
    "offered_sheet_has_a_size": lambda: an_offer(width=None),
    "receipt_number_once_a_supplier": lambda: twice(a_receipt, supplier=make_supplier()),
    "receipt_amounts_not_negative": lambda: a_receipt(discount=Decimal("-0.01")),
    "receipt_line_counts_something": lambda: a_line(count=0),
    "receipt_line_amounts_not_negative": lambda: a_line(cost=Decimal("-0.01")),
    "goods_left_between_none_and_received": lambda: a_lot(left=11),
    "goods_worth_not_below_nothing": lambda: a_lot(value=Decimal("-0.01")),
    "goods_used_up_are_worth_nothing": lambda: a_lot(left=0, value=Decimal("0.01")),
    "no_place_within_itself": lambda: [
        Place.objects.filter(pk=p.pk).update(within=p) for p in [make_place()]
    ],
    "piece_has_a_size": lambda: a_piece(width=0),
    "piece_value_not_negative": lambda: a_piece(value=Decimal("-0.01")),
    "offcut_came_from_somewhere": lambda: a_piece(kind="offcut"),
    "only_the_rack_has_places": lambda: a_piece(state="pulled", place=make_place()),
    "a_piece_gone_carries_nothing": lambda: a_piece(state="used"),
    "no_piece_from_itself": a_piece_from_itself,
    "flaw_has_a_size": lambda: a_flaw(length=0),
    "label_is_for_one_thing": lambda: LabelToPrint.objects.create(),
    "the_same_tap_counts_once": a_tap_counted_twice,
    "movement_is_of_one_thing": a_movement_of_a_piece_and_a_lot,
    "value_has_another_side": lambda: a_movement(value=Decimal("0.01")),
    "undo_names_what_it_undoes": lambda: a_movement(verb="undo"),
    "cut_areas_not_negative": lambda: a_movement(waste_area=-1),
}

TWICE = {
    "AccountName.sort": lambda: twice(AccountName.objects.create, sort="stock", name="1200"),
    "ClosedPeriod.last_day": lambda: twice(a_closed_period),
    "Species.name": lambda: twice(Species.objects.create, name="Bog oak"),
    "MaterialName.normal": lambda: twice(
        MaterialName.objects.create, material=make_material(), name="Ash", normal="ash"
    ),
    "Supplier.name": lambda: twice(Supplier.objects.create, name="Yard"),
    "Place.code": lambda: [Place.objects.create(code="K7M2Q8", name=name) for name in "AB"],
    "Place.name": lambda: [Place.objects.create(code=code, name="Bay") for code in ("K7M2Q8", "K7M2Q9")],
    "LabelPaper.name": lambda: twice(a_label_paper),
    "Piece.code": lambda: twice(a_piece, code="K7M2Q8"),
    "LabelToPrint.piece": lambda: LabelToPrint.objects.create(piece=make_sheet(by=make_person())),
    "LabelToPrint.place": lambda: twice(LabelToPrint.objects.create, place=make_place()),
    "LabelToPrint.material": lambda: twice(LabelToPrint.objects.create, material=make_material()),
    "Movement.undoes": a_movement_undone_twice,
}


@pytest.mark.parametrize("name", [*WRONG, *TWICE])
def test_the_database_refuses_what_must_never_be(name):
    refused("inventory", name, {**WRONG, **TWICE}[name])


def test_every_constraint_of_the_stock_is_tried_above():
    assert set(WRONG) == set(constraints_of("inventory"))
    assert set(TWICE) == unique_columns_of("inventory")


@pytest.mark.parametrize("name", sorted(constraints_of("inventory")))
def test_a_constraint_says_what_is_wrong_in_a_sentence(name):
    assert is_a_sentence(constraints_of("inventory")[name])


def test_the_ledger_is_sealed_by_triggers():
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s", [TABLE])
            wanted = {"movement_is_never_changed", "movement_is_never_deleted", OPEN}
        else:
            cursor.execute(
                "SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal"
                " AND tgenabled = 'O'",
                [TABLE],
            )
            wanted = {"movement_is_sealed", OPEN}
        assert {name for (name,) in cursor.fetchall()} == wanted


TABLE, OPEN = Movement._meta.db_table, "movement_is_in_an_open_period"


@pytest.mark.parametrize(
    "statement",
    [
        f"UPDATE {TABLE} SET value = value + 1",
        f"UPDATE {TABLE} SET note = note",
        f"DELETE FROM {TABLE}",
        f"DELETE FROM {TABLE} WHERE verb = 'pull'",
    ],
)
def test_no_statement_changes_or_deletes_a_movement(statement):
    by = make_person()
    handling.pull(piece=make_sheet(by=by), by=by)
    before = list(Movement.objects.values())
    with pytest.raises(DatabaseError, match="Undo it by a movement"), transaction.atomic():
        connection.cursor().execute(statement)
    assert list(Movement.objects.values()) == before
