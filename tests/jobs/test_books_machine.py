"""Jobs and the rack as one state machine: plans are accepted, given up and sawn, pieces held and released,
parts spoiled, goods issued, everything undone, in any order. After each step the books kept by hand and the
audit agree.
"""

from collections import defaultdict
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.db.models import Sum
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, precondition, rule, run_state_machine_as_test

from inventory import sawing
from inventory.models import Movement, Piece
from jobs import auditing, costing, holding, making, rack_list, sawlist, spending, undoing
from jobs.models import Charge, Hold, Job, Layout, LayoutPart, Part, Plan, Spoiled
from shared.measure import inches
from shared.refusal import Refused
from shared.shop import take_codes, the_shop
from tests.books import HERE, PULLED, RACK, Event, PieceByHand
from tests.factories import make_job
from tests.inventory.rack_machine import Left, RackMachine
from tests.inventory.shop_floor import every_row, shares, whiches
from tests.jobs.by_hand import Drawing, LayoutByHand, PartByHand, SpoiledByHand, draw


class ShopMachine(RackMachine):
    """Two jobs on one rack."""

    @initialize(
        rate=st.sampled_from(["0", "0.333", "0.5", "1"]), costing=st.sampled_from(["fifo", "average"])
    )
    def open_the_shop(self, rate: str, costing: str) -> None:
        super().open_the_shop(rate, costing)
        jobs = [make_job(state=Job.State.MAKING), make_job(state=Job.State.MAKING)]
        self.jobs = {job.number: job for job in jobs}
        self.audited: object = None
        self.jobs_that_take_goods = tuple(self.jobs)
        self.parts: dict[int, PartByHand] = {}
        self.layouts: list[LayoutByHand] = []
        self.accepted: dict[str, int] = {}
        self.spoilings: list[SpoiledByHand] = []

    def job(self, which: int) -> str:
        return list(self.jobs)[which % 2]

    # ---- what the machine at the rack does, with jobs -----------------------------------------------------

    def pull_piece(self, **asked: Any) -> Movement:
        return making.pull(**asked)

    def job_that_saws(self) -> str:
        """Whom a cut without a plan is for: nobody, or one job or the other."""
        return ("", *self.jobs)[len(self.books.events) % 3]

    def account_of_cut(self, piece: PieceByHand) -> tuple[str, str]:
        job = self.job_that_saws() or piece.held_for
        return ("job", job) if job else ("written off", "")

    def cut_piece(self, piece: Piece, left: Left, parts_area: int, **asked: Any) -> sawing.Cut:
        job = self.jobs.get(self.job_that_saws())
        taken = [(1, parts_area // piece.width, piece.width)] if parts_area else []
        return making.cut_free(piece=piece, left=left, taken=taken, job=job, **asked)

    def write_cut(self, piece: PieceByHand, *others: Any, **options: Any) -> None:
        super().write_cut(piece, *others, **options)
        for layout in self.waiting_for(piece):
            layout.state = "dropped"

    def waiting_for(self, piece: PieceByHand) -> list[LayoutByHand]:
        return [
            layout
            for layout in self.layouts
            if layout.piece is piece and layout.state == "to cut" and self.is_accepted(layout)
        ]

    def is_accepted(self, layout: LayoutByHand) -> bool:
        return self.accepted.get(layout.job) == layout.plan

    def issue_goods(self, job: str, **asked: Any) -> None:
        making.issue_goods(job=self.jobs[job], material=self.hinges, **asked)

    def give_goods_back(self, job: str, **asked: Any) -> None:
        making.put_goods_back(job=self.jobs[job], material=self.hinges, **asked)

    def undo_movement(self, movement: Movement, **asked: Any) -> Movement:
        return undoing.undo(movement=movement, **asked)

    def may_undo(self, event: Event) -> bool:
        given = self.given(without=event.extra)
        spoiled = any(given[pk] < self.parts[pk].spoiled for pk in (event.extra.gives if event.extra else ()))
        return self.books.may_undo(event) and not spoiled

    def after_undo(self, event: Event) -> None:
        piece = event.steps[0].thing
        assert not event.extra or isinstance(piece, PieceByHand)
        if layout := event.extra:
            layout.state = "to cut" if self.is_accepted(layout) else "dropped"
            self.count_parts(layout)
        if event.verb == "cut" and isinstance(piece, PieceByHand) and event.job and self.waiting_for(piece):
            piece.held_for = event.job
        if event.verb in ("receive", "put in"):
            for layout in self.layouts:
                if layout.piece is piece and layout.state == "to cut":
                    layout.piece = None

    def given(self, without: LayoutByHand | None = None) -> dict[int, int]:
        """How many of each part standing cuts gave."""
        given: dict[int, int] = defaultdict(int)
        for layout in self.layouts:
            if layout.state == "cut" and layout is not without:
                for pk, count in layout.gives.items():
                    given[pk] += count
        return given

    def count_parts(self, layout: LayoutByHand) -> None:
        given = self.given()
        for part in (self.parts[pk] for pk in layout.gives):
            part.cut = min(part.quantity, given[part.pk] - part.spoiled)

    def twice(self, what: Callable[..., Any], **asked: Any) -> None:
        """A step without a key that may be taken twice and changes nothing more."""
        what(**asked)
        after = every_row()
        what(**asked)
        assert every_row() == after

    # ---- promises -----------------------------------------------------------------------------------------

    @precondition(lambda self: self.is_some(RACK, PULLED))
    @rule(which=whiches, whose=whiches)
    def hold(self, which: int, whose: int) -> None:
        piece, job = self.choose(which, RACK, PULLED), self.job(whose)
        may = piece.state in HERE and piece.held_for in ("", job)
        if self.tap(holding.hold, may=may, piece=self.row(piece), job=self.jobs[job]):
            self.promised(piece, job)

    def promised(self, piece: PieceByHand, job: str) -> None:
        """A promise is a movement, where there was none before."""
        if not piece.held_for:
            self.books.write("hold", Movement.objects.filter(piece=piece.pk, verb="hold").latest("pk").pk, [])
            piece.held_for = job

    @precondition(lambda self: any(piece.held_for for piece in self.books.pieces.values()))
    @rule(which=whiches)
    def release(self, which: int) -> None:
        held = [piece for piece in self.books.pieces.values() if piece.held_for]
        piece = held[which % len(held)] if held else self.choose(which)
        self.tap(holding.release, may=True, piece=self.row(piece))
        self.freed(piece)

    def freed(self, piece: PieceByHand) -> None:
        if piece.held_for:
            row = Movement.objects.filter(piece=piece.pk, verb="release").latest("pk")
            self.books.write("release", row.pk, [])
            piece.held_for = ""

    # ---- plans --------------------------------------------------------------------------------------------

    @precondition(lambda self: self.is_some(RACK, PULLED))
    @rule(
        whose=whiches,
        which=whiches,
        second=whiches,
        shape=st.tuples(shares, shares, st.integers(1, 3)),
        spare=st.integers(0, 1),
    )
    def accept_a_plan(
        self, whose: int, which: int, second: int, shape: tuple[Fraction, Fraction, int], spare: int
    ) -> None:
        """A plan of one or two pieces, each ripped once and the strip crosscut into equal parts."""
        number = self.job(whose)
        free = [
            piece
            for piece in self.books.pieces.values()
            if (piece.state == RACK and not piece.held_for)
            or (piece.state in HERE and piece.held_for == number)
        ]
        if not free:
            return
        chosen = dict.fromkeys([which % len(free), second % len(free)])
        drawn = [(free[n], drawing) for n in chosen if (drawing := draw(free[n], *shape))]
        if not drawn:
            return
        plan = self.write_plan(self.jobs[number], drawn, spare)
        self.twice(holding.accept, plan=plan, by=self.people[0])
        self.give_up_by_hand(number, keep=[piece for piece, _ in drawn])
        self.accepted[number] = plan.pk
        for piece, _ in sorted(drawn, key=lambda row: row[0].pk):
            self.promised(piece, number)

    def write_plan(self, job: Job, drawn: list[tuple[PieceByHand, Drawing]], spare: int) -> Plan:
        """The plan as planning would have kept it. `spare` parts fewer are wanted than the layouts give."""
        parts = [self.write_part(job, drawing, spare) for _, drawing in drawn]
        todo = sawlist.saw_list(job)
        problem = rack_list.problem_for(the_shop(), todo, rack_list.rack_for(job, todo.everything))
        plan = Plan.objects.create(job=job, problem=problem, state=Plan.State.READY, asked_by=self.people[0])
        for part, (piece, drawing) in zip(parts, drawn, strict=True):
            self.write_layout(plan, part, piece, drawing)
        return plan

    def write_part(self, job: Job, drawing: Drawing, spare: int) -> Part:
        part = Part.objects.create(
            job=job,
            code=take_codes(1)[0],
            position=len(self.parts) + 1,
            name=f"part {len(self.parts) + 1}",
            quantity=max(1, drawing.count - spare),
            length=drawing.length,
            width=drawing.width,
            material=self.sheets,
        )
        self.parts[part.pk] = PartByHand(part.pk, job.number, part.quantity)
        return part

    def write_layout(self, plan: Plan, part: Part, piece: PieceByHand, drawing: Drawing) -> None:
        layout = Layout.objects.create(
            plan=plan,
            position=part.position,
            stock_id=f"piece {piece.pk}",
            piece_id=piece.pk,
            material=self.sheets,
            length=piece.length,
            width=piece.width,
            trim=drawing.trim,
            price=piece.value,
            tree=drawing.tree(sawlist.part_id(part)),
        )
        LayoutPart.objects.create(layout=layout, part=part, count=drawing.count)
        self.layouts.append(
            LayoutByHand(layout.pk, plan.pk, plan.job.number, piece, drawing, {part.pk: drawing.count})
        )

    def give_up_by_hand(self, job: str, keep: list[PieceByHand]) -> None:
        for piece in self.books.pieces.values():
            if piece.held_for == job and piece not in keep:
                self.freed(piece)
        for layout in self.layouts:
            if layout.job == job and self.is_accepted(layout) and layout.state == "to cut":
                layout.state = "dropped"
        self.accepted.pop(job, None)

    @precondition(lambda self: bool(self.accepted))
    @rule(whose=whiches)
    def give_up(self, whose: int) -> None:
        number = self.job(whose)
        self.twice(holding.give_up_plan, job=self.jobs[number], by=self.people[0])
        self.give_up_by_hand(number, keep=[])

    # ---- at the saw ---------------------------------------------------------------------------------------

    @precondition(lambda self: bool(self.layouts))
    @rule(
        which=whiches,
        kept=st.lists(st.booleans(), min_size=2, max_size=2),
        more=st.sampled_from([0, 0, 0, 1]),
    )
    def cut_layout(self, which: int, kept: list[bool], more: int) -> None:
        """What is left is as planned, or not all of it, or an inch longer."""
        waiting = [layout for layout in self.layouts if layout.state == "to cut"]
        among = waiting if waiting and which % 5 else self.layouts
        layout = among[which // 5 % len(among)]
        piece = layout.piece
        left = [
            (length + more * inches(1), width)
            for (length, width), is_kept in zip(layout.drawing.offcuts, kept, strict=False)
            if is_kept
        ]
        may = (
            layout.state == "to cut"
            and self.is_accepted(layout)
            and piece is not None
            and piece.state in HERE
            and piece.held_for in ("", layout.job)
            and all(max(size) <= max(piece.length, piece.width) for size in left)
            and all(min(size) <= min(piece.length, piece.width) for size in left)
            and layout.drawing.parts_area + sum(length * width for length, width in left) <= piece.area
        )
        done = self.tap(
            making.cut_layout,
            may=may,
            layout=Layout.objects.get(pk=layout.pk),
            left=[sawing.LeftOver(*size) for size in left],
        )
        if done:
            assert piece
            layout.state = "cut"
            self.write_cut(piece, done, left, layout.drawing.parts_area, "job", layout.job, extra=layout)
            self.count_parts(layout)

    @precondition(lambda self: bool(self.parts))
    @rule(which=whiches, count=st.integers(0, 2))
    def spoil(self, which: int, count: int) -> None:
        cut = [part for part in self.parts.values() if part.cut]
        among = cut if cut and which % 4 else list(self.parts.values())
        part = among[which // 4 % len(among)]
        done = self.tap(
            making.spoil, may=1 <= count <= part.cut, part=Part.objects.get(pk=part.pk), count=count
        )
        if done:
            part.cut, part.spoiled = part.cut - count, part.spoiled + count
            self.spoilings.append(SpoiledByHand(done.pk, part, count))

    @precondition(lambda self: bool(self.spoilings))
    @rule(which=whiches)
    def unspoil(self, which: int) -> None:
        spoiled = self.spoilings[which % len(self.spoilings)]
        part, row, before = spoiled.part, Spoiled.objects.get(pk=spoiled.pk), every_row()
        if spoiled.is_undone or part.cut + spoiled.count > part.quantity:
            with pytest.raises(Refused):
                making.unspoil(row)
            assert every_row() == before
            return
        making.unspoil(row)
        spoiled.is_undone = True
        part.cut, part.spoiled = part.cut + spoiled.count, part.spoiled - spoiled.count

    # ---- what always holds --------------------------------------------------------------------------------

    @invariant()
    def the_audit_finds_nothing(self) -> None:
        if self.audited != (now := every_row()):  # what was refused changed nothing and needs no audit
            assert auditing.faults() == []
            self.audited = now

    @invariant()
    def each_piece_is_promised_to_whom_the_books_say(self) -> None:
        assert dict(Hold.objects.values_list("piece", "job__number")) == {
            piece.pk: piece.held_for for piece in self.books.pieces.values() if piece.held_for
        }

    @invariant()
    def each_part_and_layout_is_as_the_books_say(self) -> None:
        assert {
            pk: (cut, spoiled) for pk, cut, spoiled in Part.objects.values_list("pk", "cut", "spoiled")
        } == {part.pk: (part.cut, part.spoiled) for part in self.parts.values()}
        assert {
            pk: (state, piece) for pk, state, piece in Layout.objects.values_list("pk", "state", "piece")
        } == {one.pk: (one.state, one.piece.pk if one.piece else None) for one in self.layouts}

    @invariant()
    def jobs_are_charged_what_the_rack_gave_them(self) -> None:
        charged = {number: amount for number, amount in self.books.charged.items() if amount}
        rows = Charge.objects.order_by().values_list("job__number").annotate(n=Sum("amount"))
        assert {number: amount for number, amount in rows if amount} == charged

    @precondition(lambda self: len(self.books.events) % 4 == 0)
    @rule()
    def read_the_costs(self) -> None:
        charged = self.books.charged
        for number, job in self.jobs.items():
            assert costing.job_cost(job).actual == charged.get(number, 0)
        spent = spending.spend(spending.Asked())
        assert spent.total == spending.ledger_total(spending.Asked()) == sum(charged.values(), Decimal(0))


@pytest.mark.django_db
def test_whatever_jobs_do_the_books_come_out_right():
    examples = settings.default.max_examples // 12
    run_state_machine_as_test(
        ShopMachine, settings=settings(ShopMachine.TestCase.settings, max_examples=examples)
    )
