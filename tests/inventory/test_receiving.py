"""Deliveries: what is counted, what it costs, what is refused."""

from datetime import date
from decimal import Decimal

import pytest

from inventory import putting_in, receiving
from inventory.models import Piece, Receipt
from shared.measure import inches
from shared.refusal import Refused
from tests.factories import make_material, make_person, make_supplier

pytestmark = pytest.mark.django_db


def boards_of(material, *boards, by_tally=True, price="4.00"):
    sizes = tuple((inches(width), inches(length)) for width, length in boards)
    return receiving.BoardLine(material, sizes, Decimal(price), by_tally=by_tally)


def test_a_bundle_of_boards_is_rounded_once():
    # Three of 6 in by 6 ft: 3 + 3 + 3 square feet × 1 1/4 = 11 1/4, which a yard invoices as 11.
    line = boards_of(make_material(kind="lumber"), ("6", "72"), ("6", "72"), ("6", "72"))
    assert (line.board_feet, line.amount) == (11, Decimal("44.00"))


def test_an_exact_count_of_board_feet_rounds_only_the_amount():
    line = boards_of(make_material(kind="lumber"), ("6", "72"), ("6", "72"), ("6", "72"), by_tally=False)
    assert (float(line.board_feet), line.amount) == (11.25, Decimal("45.00"))


def test_board_feet_go_by_the_quarter_whatever_the_caliper_says():
    planed = make_material(kind="lumber", thickness_text="5/4", thickness=inches("1 1/16"))
    assert boards_of(planed, ("12", "96"), by_tally=False).board_feet == 10


def test_freight_and_discount_are_spread_by_value():
    cheap, dear = make_material(), make_material()
    lines = [
        receiving.SheetLine(cheap, 1, inches(96), inches(48), Decimal("50")),
        receiving.SheetLine(dear, 2, inches(96), inches(48), Decimal("75")),
    ]
    costs = receiving.cost_of_lines(lines, freight=Decimal("30"), tax=Decimal("0"), discount=Decimal("10"))
    assert costs == [Decimal("55.00"), Decimal("165.00")]


def test_half_a_hinge_is_not_received():
    hinges = make_material("Butt hinge", "goods")
    with pytest.raises(Refused, match="counted whole"):
        receiving.cost_of_lines([receiving.GoodsLine(hinges, Decimal("1.5"), Decimal("4"))])


def test_glue_by_the_litre_may_be_received_in_parts():
    glue = make_material("Hide glue", "goods", unit="litre", is_counted_whole=False)
    assert receiving.cost_of_lines([receiving.GoodsLine(glue, Decimal("1.5"), Decimal("4"))]) == [6]


def test_a_number_that_was_entered_is_refused_before_anything_is_put_on_the_rack():
    buyer, yard = make_person("buyer"), make_supplier()
    line = receiving.SheetLine(make_material(), 1, inches(96), inches(48), Decimal("50"))
    receiving.receive(supplier=yard, number="118", date=date(2026, 11, 2), lines=[line], by=buyer)
    with pytest.raises(Refused, match="entered already"):
        receiving.refuse_second_entry(yard, " 118 ")
    receiving.refuse_second_entry(make_supplier(), "118")
    assert Receipt.objects.count() == 1


def put_in(*flaws, **others):
    return putting_in.put_in(
        material=make_material(),
        kind="offcut",
        length=inches(40),
        width=inches(20),
        flaws=flaws,
        by=make_person("bench"),
        **others,
    )


def test_a_flaw_is_kept_where_it_was_measured():
    piece = put_in(putting_in.FlawAt(inches(30), 0, inches(10), inches("2 1/2"), "dent"))
    flaw = piece.flaws.get()
    assert (flaw.x, flaw.y, flaw.length, flaw.width, flaw.why) == (
        inches(30),
        0,
        inches(10),
        inches("2 1/2"),
        "dent",
    )


@pytest.mark.parametrize(("x", "y"), [("30 1/64", "0"), ("0", "17 33/64")])
def test_a_flaw_that_leaves_its_piece_is_refused_and_nothing_put_in(x, y):
    with pytest.raises(Refused, match="not within the piece"):
        put_in(putting_in.FlawAt(inches(x), inches(y), inches(10), inches("2 1/2")))
    assert not Piece.objects.exists()
