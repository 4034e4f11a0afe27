"""The demo shop: loaded as a person would have entered it, and the same each time."""

import runpy
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db.models import Sum
from django.test import TestCase
from django.utils import timezone

from inventory.models import Account, Material, Movement, Piece
from jobs import auditing, demo, planning
from jobs.models import Job, Plan
from jobs.partslist.preview import preview
from jobs.partslist.reading import read_file
from shared.shop import the_shop
from tests.factories import make_person


class TestTheDemo(TestCase):
    """Loaded once for all of these."""

    @classmethod
    def setUpTestData(cls):
        demo.load()

    def test_it_is_a_shop_whose_ledger_is_whole(self):
        assert auditing.faults() == []

    def test_jobs_stand_at_every_stage(self):
        stages = {job.title.split()[0]: job.state for job in Job.objects.all()}
        assert stages == {"Toy": "done", "Hallway": "making", "Wash": "quoted", "Library": "asked"}

    def test_what_is_done_was_cut_and_costed(self):
        done = Job.objects.with_progress().get(state="done")
        assert done.parts_cut == done.parts_wanted
        assert done.estimate is not None
        assert done.charged > 0

    def test_what_is_being_made_is_half_cut(self):
        making = Job.objects.with_progress().get(state="making")
        assert 0 < making.parts_cut < making.parts_wanted
        assert making.plans.accepted().get().layouts.filter(state="to cut").exists()
        assert making.buy_lines.open().exists()

    def test_what_is_quoted_has_a_plan_that_still_holds(self):
        plan = Plan.objects.get(job__state="quoted")
        assert plan.state == Plan.State.READY
        assert planning.why_out_of_date(plan) == []
        assert plan.answer["unplaced"] == []

    def test_the_rack_is_that_of_a_small_shop(self):
        on_rack = Piece.objects.in_rack()
        assert 40 <= on_rack.count() <= 80
        assert set(on_rack.values_list("kind", flat=True)) == {"sheet", "offcut", "board"}

    def test_it_happened_over_months_up_to_today(self):
        days = [at.date() for at in Movement.objects.order_by("id").values_list("at", flat=True)]
        assert days == sorted(days)
        assert days[0] < timezone.now().date() - timedelta(days=90)
        assert timezone.now().date() - timedelta(days=7) < days[-1] <= timezone.now().date()

    def test_receipts_carry_their_freight_and_tax(self):
        received = Movement.objects.filter(account=Account.SUPPLIER).aggregate(n=Sum("value"))["n"]
        on_receipts = sum(receipt.total for receipt in demo.Receipt.objects.all())
        assert received == on_receipts
        assert any(receipt.freight and receipt.tax for receipt in demo.Receipt.objects.all())

    def test_the_library_can_be_uploaded_without_a_question(self):
        file = demo.FOLDER / "parts" / "library-shelves.csv"
        shown = preview(read_file(file.name, file.read_bytes()), "in")
        assert shown.is_ready
        assert shown.part_count >= 60
        assert len({row.material for row in shown.rows}) == 2

    def test_loading_twice_is_once(self):
        before = Movement.objects.count()
        call_command("load_demo", stdout=StringIO())
        assert Movement.objects.count() == before


@pytest.mark.django_db
def test_it_is_never_put_into_a_shop_that_has_people():
    make_person("owner")
    with pytest.raises(CommandError, match="a shop of its own"):
        call_command("load_demo", stdout=StringIO())
    assert not Material.objects.exists()
    assert the_shop().name != "Two Benches"


def test_the_lists_that_are_made_are_as_their_script_makes_them(tmp_path):
    made = runpy.run_path(str(demo.settings.BASE_DIR / "scripts" / "write_demo_lists.py"))
    for function in (made["write_chest"], made["write_library"]):
        function.__globals__["PARTS"] = tmp_path
        function()
    for name in ("toy-chest.xlsx", "library-shelves.csv"):
        kept = (demo.FOLDER / "parts" / name).read_bytes()
        assert read_file(name, (tmp_path / name).read_bytes()) == read_file(name, kept)
