"""The audit finds what is wrong in the books, and nothing where they are right.

Faults are planted past the ledger, which the database refuses as long as its triggers are there: they are taken off
inside the test, whose transaction brings them back.
"""

from datetime import timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from inventory import handling
from inventory.books import sums_up_to
from inventory.models import ClosedPeriod, GoodsLot, Movement, Piece, Receipt, ReceiptLine
from inventory.putting_in import put_in_goods
from inventory.sawing import LeftOver
from jobs import auditing, making, undoing
from jobs.models import Blank, Charge, Hold, Layout, Part
from shared.measure import inches
from tests.factories import make_job, make_material, make_part, make_person, make_place, make_sheets
from tests.jobs.layouts_of_jobs import accepted_layout

pytestmark = pytest.mark.django_db


def busy_shop(jobs: int = 1) -> SimpleNamespace:
    """Jobs that have pulled, cut, spoiled, used goods and taken things back, each on sheets of its own."""
    by, ply, hinges = make_person(), make_material(), make_material(kind="goods")
    put_in_goods(material=hinges, quantity=Decimal(100), value=Decimal("33.33"), by=by)
    for _ in range(jobs):
        job = make_job()
        part = make_part(job, ply, length="30", width="10", quantity=4)
        first, second, lost = make_sheets(
            3, by=by, material=ply, place=make_place(), freight=Decimal("10.00")
        )
        layouts = [accepted_layout(sheet, part, by) for sheet in (first, second)]
        making.pull(piece=first, by=by)
        cut = making.cut_layout(layout=layouts[0], left=[LeftOver(inches(33), inches(40))], by=by)
        taken_back = making.cut_layout(layout=layouts[1], left=[], by=by)
        undoing.undo(movement=taken_back.movement, by=by)
        making.spoil(part=part, count=1, by=by)
        making.issue_goods(job=job, material=hinges, quantity=Decimal(3), by=by)
        handling.lose(piece=lost, by=by)
        handling.find(piece=lost, by=by)
    return SimpleNamespace(job=job, part=part, cut=cut, layout=layouts[0], lost=lost, by=by)


@pytest.fixture
def shop():
    return busy_shop()


def unseal() -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("DROP TRIGGER movement_is_never_changed")
            cursor.execute("DROP TRIGGER movement_is_never_deleted")
        else:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("DROP TRIGGER movement_is_sealed ON inventory_movement")


def a_piece_gains_a_cent(shop):
    Piece.objects.filter(pk=shop.lost.pk).update(value=shop.lost.value + Decimal("0.01"))


def a_piece_is_somewhere_else(shop):
    Piece.objects.filter(pk=shop.lost.pk).update(place=make_place())


def a_movement_in_the_middle_is_gone(shop):
    unseal()
    Movement.objects.get(verb="pull").delete()


def a_lot_has_more_than_was_issued(shop):
    GoodsLot.objects.update(left=98)


def an_undoing_is_for_another_amount(shop):
    unseal()
    undone = Movement.objects.get(verb="undo", undoes__verb="cut")
    Movement.objects.filter(pk=undone.pk).update(value=undone.value - Decimal("0.01"))


def a_receipt_came_to_more(shop):
    receipt = Receipt.objects.get()
    Receipt.objects.update(total=receipt.total + Decimal("0.01"))


def a_line_cost_more_than_came_in(shop):
    line = ReceiptLine.objects.get()
    ReceiptLine.objects.update(cost=line.cost + Decimal("0.01"))


def waste_went_missing(shop):
    unseal()
    Movement.objects.filter(pk=shop.cut.movement.pk).update(waste_area=shop.cut.movement.waste_area - 1)


def an_offcut_grew(shop):
    Piece.objects.filter(pk=shop.cut.offcuts[0].pk).update(length=inches(97))


def a_piece_was_cut_twice(shop):
    Movement.objects.create(verb="cut", by=shop.by, piece=shop.cut.movement.piece, to_state="used")


def a_piece_that_is_gone_is_held(shop):
    Hold.objects.create(piece=shop.cut.movement.piece, job=shop.job, by=shop.by)


def a_charge_is_a_cent_off(shop):
    charge = shop.job.charges.first()
    Charge.objects.filter(pk=charge.pk).update(amount=charge.amount + Decimal("0.01"))


def a_charge_is_gone(shop):
    shop.job.charges.first().delete()


def a_charge_is_on_another_job(shop):
    Charge.objects.filter(pk=shop.job.charges.first().pk).update(job=make_job())


def more_parts_are_cut_than_layouts_gave(shop):
    Part.objects.filter(pk=shop.part.pk).update(cut=2)


def a_layout_is_cut_by_what_was_undone(shop):
    undone = Movement.objects.get(verb="cut", undone_by__isnull=False)
    Layout.objects.filter(state="to cut").update(state="cut", movement=undone)


def the_triggers_are_gone(shop):
    unseal()


def a_period_was_closed_with_a_cent_more(shop):
    now = timezone.now()
    sums = sums_up_to(now.date())
    sums["received"] += Decimal("0.01")
    ClosedPeriod.objects.create(last_day=now.date(), ends_at=now, closed_by=shop.by, **sums)


PLANTED = [
    (auditing.value_is_all_accounted_for, a_piece_gains_a_cent, "was received, but"),
    (auditing.pieces_are_what_their_movements_say, a_piece_gains_a_cent, "its movements say"),
    (auditing.pieces_are_what_their_movements_say, a_piece_is_somewhere_else, "not where its last movement"),
    (auditing.pieces_are_what_their_movements_say, a_movement_in_the_middle_is_gone, "does not start where"),
    (
        auditing.lots_are_what_their_movements_say,
        a_lot_has_more_than_was_issued,
        "differs from its movements",
    ),
    (auditing.undoings_are_the_same_backwards, an_undoing_is_for_another_amount, "does not take back"),
    (auditing.receipts_add_up, a_receipt_came_to_more, "its lines cost"),
    (auditing.receipts_add_up, a_line_cost_more_than_came_in, "but what came in carries"),
    (auditing.cuts_lose_no_area, waste_went_missing, "parts, offcuts and waste are not its area"),
    (auditing.cuts_lose_no_area, an_offcut_grew, "is larger than"),
    (auditing.pieces_are_cut_once_and_held_in_the_shop, a_piece_was_cut_twice, "was cut 2 times"),
    (auditing.pieces_are_cut_once_and_held_in_the_shop, a_piece_that_is_gone_is_held, "but gone"),
    (auditing.charges_are_the_movements, a_charge_is_a_cent_off, "from the rack, but"),
    (auditing.charges_are_the_movements, a_charge_is_gone, "from the rack, but 0.00 is charged"),
    (auditing.charges_are_the_movements, a_charge_is_on_another_job, "its movement is another job's"),
    (auditing.parts_are_cut_by_layouts, more_parts_are_cut_than_layouts_gave, "are marked cut, the layouts"),
    (auditing.layouts_cut_stand, a_layout_is_cut_by_what_was_undone, "but that was undone"),
    (auditing.the_ledger_is_sealed, the_triggers_are_gone, "triggers are gone"),
    (
        auditing.closed_periods_are_as_they_were_closed,
        a_period_was_closed_with_a_cent_more,
        "its movements say",
    ),
]


@pytest.mark.parametrize(
    ("check", "plant", "sentence"),
    PLANTED,
    ids=[f"{check.__name__}-{plant.__name__}" for check, plant, _ in PLANTED],
)
def test_a_planted_fault_is_found(shop, check, plant, sentence):
    assert auditing.faults() == []
    plant(shop)
    found = [one for one in check() if sentence in one]
    assert len(found) == 1
    assert found[0] in auditing.faults()


def test_every_rule_has_a_fault_planted_for_it():
    assert {check for check, *_ in PLANTED} == set(auditing.CHECKS)


def test_the_command_names_the_faults(shop, capsys):
    call_command("audit")
    assert "The books hold" in capsys.readouterr().out
    a_piece_gains_a_cent(shop)
    with pytest.raises(CommandError, match="its movements say"):
        call_command("audit")


def test_the_audit_asks_as_often_of_a_large_shop_as_of_a_small_one(shop):
    with CaptureQueriesContext(connection) as few:
        auditing.faults()
    busy_shop(jobs=5)
    with CaptureQueriesContext(connection) as many:
        assert auditing.faults() == []
    assert len(many) == len(few)


def test_parts_that_come_out_of_blanks_are_asked_for_all_at_once(shop):
    def glue_up(job) -> None:
        part = make_part(job, make_material(), length="30", width="10", may_be_glued=True)
        stave = make_part(job, part.material, name="stave", length="30", width="10")
        layout = accepted_layout(
            make_sheets(1, by=shop.by, material=part.material)[0], stave, shop.by, count=1
        )
        blank = Blank.objects.create(
            plan=layout.plan, name="top", material=part.material, tree=f"p{part.pk}-1", length=1, width=1
        )
        Part.objects.filter(pk=stave.pk).update(kind="stave", blank=blank)
        making.cut_layout(layout=layout, left=[], by=shop.by)
        part.refresh_from_db()
        assert part.cut == 1

    glue_up(make_job())
    with CaptureQueriesContext(connection) as few:
        assert auditing.faults() == []
    for _ in range(3):
        glue_up(make_job())
    with CaptureQueriesContext(connection) as many:
        assert auditing.faults() == []
    assert len(many) == len(few)


def test_a_shop_full_of_faults_is_told_in_few_words(shop):
    busy_shop(jobs=8)
    Piece.objects.filter(state="rack").update(value=Decimal("1.23"))
    with CaptureQueriesContext(connection) as queries:
        found = auditing.pieces_are_what_their_movements_say()
    assert len(found) == auditing.MOST_NAMED
    assert len(queries) == 3


def test_the_days_of_charges_are_those_of_their_movements(shop):
    assert timezone.now() - Movement.objects.latest("at").at < timedelta(minutes=5)
    assert not [
        charge for charge in Charge.objects.select_related("movement") if charge.at != charge.movement.at
    ]
