"""A sideboard from the demo shop's own rack: plywood with faced edges, legs out of 8/4, a run of fronts glued
up as one blank; planned in one go, checked from outside, cut, costed, and the books still whole."""

from decimal import Decimal

from django.test import TestCase

from inventory.models import Material, Piece, State
from inventory.sawing import LeftOver
from jobs import auditing, buying, costing, demo, holding, layouts, making, planning, taking_on
from jobs.models import MatchSet, Part, Plan
from jobs.partslist.saving import PartLine, save_parts
from shared.measure import inches
from shared.models import Person
from tests.outside.check_plan import Checker

PLY, BACK, OAK, ASH = "Red oak plywood 3/4", "Red oak plywood 1/4", "Red oak 4/4", "Ash 8/4"
LIST = [
    (2, "Side", "30", "17 1/2", PLY, {"edging": "front, 1/4 red oak"}),
    (1, "Bottom", "58", "17 1/2", PLY, {"edging": "front"}),
    (1, "Top", "60", "18", PLY, {"edging": "front and both ends, 3/8 red oak"}),
    (2, "Shelf", "28 1/2", "16", PLY, {"edging": "front"}),
    (1, "Back", "59", "29", BACK, {}),
    (4, "Leg", "7", "2 1/4", ASH, {"thickness": inches("1 3/4")}),
    (2, "Rail", "40", "2", ASH, {}),
    (1, "Tall front", "16", "13 1/2", OAK, {"match_set": "fronts"}),
    (3, "Tray front", "18", "4 3/8", OAK, {"match_set": "fronts"}),
]


class TestASideboardFromTheDemoRack(TestCase):
    @classmethod
    def setUpTestData(cls):
        demo.load()
        cls.owner = Person.objects.get(username="owner")
        cls.job = taking_on.take_on(title="Sideboard in red oak", client_name="The Reading Room")
        save_parts(
            job=cls.job,
            lines=[
                PartLine(
                    count, name, inches(length), inches(width), Material.objects.get(name=wood), **others
                )
                for count, name, length, width, wood, others in LIST
            ],
        )
        tall, tray = (cls.job.parts.get(name=name) for name in ("Tall front", "Tray front"))
        stack = {"cut": "rip", "of": [f"p{tray.pk}-{number}" for number in (1, 2, 3)]}
        tree = {"cut": "crosscut", "of": [f"p{tall.pk}-1", stack]}
        MatchSet.objects.create(job=cls.job, name="fronts", tree=tree, may_be_glued=True)

    def test_it_is_planned_checked_bought_cut_and_costed(self):
        plan = Plan.objects.create(job=self.job, asked_by=self.owner)
        planning.work_out(plan)
        plan.refresh_from_db()
        checker = Checker(plan.problem, plan.answer)
        checker.run()
        assert checker.faults == []
        assert plan.answer["unplaced"] == []
        blank = plan.blanks.get()
        assert blank.staves.filter(kind=Part.Kind.STAVE).exists()
        holding.accept(plan=plan, by=self.owner)
        self.take_delivery()
        for layout in plan.layouts.select_related("piece", "plan").order_by("position"):
            self.cut(layout)
        listed = self.job.parts.listed()
        assert [part.cut for part in listed] == [part.quantity for part in listed]
        cost = costing.job_cost(self.job)
        assert (cost.still_to_cut, cost.to_buy) == (0, 0)
        kept = sum(
            (piece.value for piece in Piece.objects.filter(parent__layouts__plan=plan, state=State.ON_RACK)),
            Decimal(0),
        )
        assert cost.actual == sum(layout.price for layout in plan.layouts.all()) - kept
        assert auditing.faults() == []

    def take_delivery(self):
        lines = self.job.buy_lines.open().select_related("offer__supplier", "material")
        for section in buying.by_supplier(lines):
            buying.receive(
                arrived=[buying.Arrived(line, line.quantity, line.price) for line in section.lines],
                supplier=section.supplier,
                number=f"S {self.job.number}",
                date=self.job.made_at.date(),
                by=self.owner,
            )

    def cut(self, layout):
        layout.refresh_from_db()
        drawn = layouts.read(layout, layout.plan, {})
        left = [LeftOver(one.length, one.width) for one in layouts.offcuts(drawn)]
        making.pull(piece=layout.piece, by=self.owner)
        making.cut_layout(layout=layout, left=left, by=self.owner)
