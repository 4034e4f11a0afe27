"""The stock bills of 1909 to 1912, imported as parts lists and planned on the boards that the buy list would ask
a yard for."""

from collections import defaultdict
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from inventory import receiving
from jobs import planning
from jobs.models import Plan
from jobs.partslist.preview import preview
from jobs.partslist.reading import read_file
from jobs.partslist.saving import save_parts
from jobs.yard_list import LEAST_WIDTH, USUAL_LENGTH, Wanted, least_boards
from shared.measure import inches
from shared.models import Shop
from tests.factories import make_job, make_person, make_supplier
from tests.outside.check_plan import Checker
from tests.outside.published_plans import PLANS, file_of, name_of, stated, ticks
from tests.outside.test_published_plans import answer_for, make_materials

#: A packing case of 1911 prints a total besides: it stands in test_published_plans.
BILLS = [plan for plan in PLANS if plan["kind"] == "solid" and not plan["stated_stock"]]
KERF = inches("1/8")
#: A bill's sizes are those to saw: no allowance is added.
AS_PRINTED = {"rough_length": 0, "rough_width": 0, "kerf": KERF}


def by_thickness(bill):
    """A bill's parts by thickness, as the yard sells them, each with its number on the bill."""
    found = defaultdict(list)
    for number, part in enumerate(bill["parts"]):
        row = Wanted(part["id"], part["quantity"], ticks(part["length"], "in"), ticks(part["width"], "in"))
        found[part["thickness"]].append((f"{number}", row))
    return found


def imported(bill, materials):
    """The bill on a job's parts list, read from a file as its maker would have written it."""
    job, grid = make_job(), read_file(*file_of(bill))
    asked = [one.key for one in preview(grid, "in").open_questions]
    shown = preview(grid, "in", answers={key: answer_for(key, materials).pk for key in asked})
    save_parts(job=job, lines=shown.lines())
    return job


def boards_for(job):
    """What the buy list would ask for, by material: (width, length) of each board, in ticks."""
    wanted = defaultdict(list)
    for part in job.parts.select_related("material"):
        across = part.grain == "width"
        size = (part.width, part.length) if across else (part.length, part.width)
        wanted[part.material].append(Wanted(part, part.quantity, *size))
    return {material: least_boards(rows, KERF) for material, rows in wanted.items()}


def planned(job, by) -> Plan:
    """A plan in a second; where a busy machine left parts over, another in eight."""
    for seconds in (1, 8):
        Shop.objects.update(planning_seconds=seconds)
        plan = Plan.objects.create(job=job, asked_by=by)
        planning.work_out(plan)
        if not plan.answer["unplaced"]:
            break
    return plan


def test_there_are_32_bills():
    assert len(BILLS) == 32


@pytest.mark.django_db
@pytest.mark.parametrize("bill", BILLS, ids=name_of)
def test_a_bill_is_imported_and_cut_from_the_boards_asked_for(bill):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, **AS_PRINTED})
    by, job = make_person(), imported(bill, make_materials(bill))
    for number, (material, boards) in enumerate(boards_for(job).items()):
        line = receiving.BoardLine(material, tuple(boards), Decimal("4.00"))
        asked = {"supplier": make_supplier(), "number": f"{number}", "date": date(2026, 11, 2), "by": by}
        receiving.receive(lines=[line], **asked)
    plan = planned(job, by)
    checker = Checker(plan.problem, plan.answer)
    checker.run()
    assert checker.faults == []
    assert plan.answer["unplaced"] == []
    given = sum(one.count for layout in plan.layouts.all() for one in layout.parts.all())
    assert given == sum(part["quantity"] for part in bill["parts"])


@pytest.mark.parametrize("bill", BILLS, ids=name_of)
def test_no_board_asked_for_is_narrower_or_shorter_than_its_parts(bill):
    for rows in by_thickness(bill).values():
        boards = least_boards([row for _, row in rows], KERF)
        wanted = sum(row.length * row.width * row.count for _, row in rows)
        assert sum(width * length for width, length in boards) >= wanted
        widest = max(row.width for _, row in rows)
        longest = max(row.length for _, row in rows)
        assert max(width for width, _ in boards) == max(widest, LEAST_WIDTH)
        assert longest <= max(length for _, length in boards) <= max(longest, USUAL_LENGTH)


@pytest.mark.parametrize("bill", BILLS, ids=name_of)
def test_the_board_feet_of_what_is_asked_for_are_no_less_than_the_bills(bill):
    total = Fraction(0)
    for thickness, rows in by_thickness(bill).items():
        thick = max(Fraction(1), stated(thickness))
        for width, length in least_boards([row for _, row in rows], KERF):
            total += thick * Fraction(width, inches(1)) * Fraction(length, inches(1)) / 144
    assert total >= Fraction(bill["computed"]["board_feet_trade_fraction"])
