"""People at the shelf of hinges: goods go to jobs, come back and are counted, at random."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from inventory import goods
from inventory.models import Movement
from tests.books import NO, NOTHING, Event, LotByHand, Step, to_cents
from tests.inventory.shop_floor import CENT, ShopFloor, whiches

quantities = st.integers(1, 40).map(lambda eighths: Decimal(eighths) / 8)
Expected = list[tuple[LotByHand, Decimal, Decimal]]


class ShelfMachine(ShopFloor):
    """Issue, give back and count goods, first in first out or at the average."""

    jobs_that_take_goods: tuple[str, ...] = ("", "26-001", "26-002")

    def issue_goods(self, job: str, **asked: Any) -> Any:
        return goods.issue(material=self.hinges, job_number=job, **asked)

    def give_goods_back(self, job: str, **asked: Any) -> Any:
        return goods.put_back(material=self.hinges, job_number=job, **asked)

    @precondition(lambda self: bool(self.books.with_some_left()))
    @rule(quantity=quantities, which=whiches)
    def issue(self, quantity: Decimal, which: int) -> None:
        job = self.jobs_that_take_goods[which % len(self.jobs_that_take_goods)]
        may = quantity <= self.in_stock()
        self.tap(self.issue_goods, may=may, quantity=quantity, job=job)
        if may:
            self.write_taken("issue", quantity, "job" if job else "written off", job)

    def in_stock(self) -> Decimal:
        return sum((lot.left for lot in self.books.lots.values()), NO)

    def write_taken(self, verb: str, quantity: Decimal, account: str, job: str = "") -> None:
        """What the lots gave is as the shop costs goods."""
        carried, there = sum((lot.value for lot in self.books.lots.values()), NOTHING), self.in_stock()
        expected = self.books.first_out(quantity)
        event = self.write_rows(verb, account, job)
        moved = {step.thing.pk: -step.quantity for step in event.steps if step.quantity}
        assert moved == {lot.pk: taken for lot, taken, _ in expected}
        if not self.books.is_averaged:
            assert [-step.value for step in event.steps] == [worth for _, _, worth in expected]
            return
        share = Fraction(carried) * Fraction(quantity) / Fraction(there)
        assert -sum((step.value for step in event.steps), NOTHING) == to_cents(share)
        for lot in self.books.with_some_left():
            even = Fraction(carried - to_cents(share)) * Fraction(lot.left) / Fraction(self.in_stock())
            assert abs(Fraction(lot.value) - even) < CENT

    @precondition(lambda self: any(event.verb == "issue" and event.job for event in self.books.standing()))
    @rule(quantity=quantities, which=whiches)
    def give_back(self, quantity: Decimal, which: int) -> None:
        jobs = [job for job in self.jobs_that_take_goods if job]
        job = jobs[which % len(jobs)]
        has = self.books.with_the_job(job)
        there, worth = sum((n for _, n, _ in has), NO), sum((value for _, _, value in has), NOTHING)
        may = quantity <= there
        self.tap(self.give_goods_back, may=may, quantity=quantity, job=job)
        if may:
            event = self.write_rows("goods back", "job", job)
            assert sum((step.quantity for step in event.steps), NO) == quantity
            self.came_back_at(event, has, Fraction(worth) * Fraction(quantity) / Fraction(there))

    def came_back_at(self, event: Event, has: Expected, average: Fraction) -> None:
        """The last lots out come back first, at what they were charged; or at the average of the job's."""
        with_it = {lot.pk: (out, worth) for lot, out, worth in has}
        latest = sorted(with_it, reverse=True)
        assert [step.thing.pk for step in event.steps] == [pk for pk in latest if with_it[pk][0] > 0][
            : len(event.steps)
        ]
        if self.books.is_averaged:
            assert sum((step.value for step in event.steps), NOTHING) == to_cents(average)
            return
        for step in event.steps:
            out, worth = with_it[step.thing.pk]
            assert step.value == to_cents(Fraction(worth) * Fraction(step.quantity) / Fraction(out))

    @rule(counted=st.integers(0, 120).map(lambda eighths: Decimal(eighths) / 8))
    def count(self, counted: Decimal) -> None:
        """What is missing is written off; what is too many comes back at what was written off for it."""
        there = self.in_stock()
        self.tap(goods.count, may=True, material=self.hinges, counted=counted)
        if counted < there:
            self.write_taken("lose", there - counted, "written off")
        elif counted > there:
            self.write_found(counted - there)

    def write_found(self, quantity: Decimal) -> None:
        missing, worth = self.books.missed()
        again = min(quantity, max(missing, NO))
        value = to_cents(Fraction(worth) * Fraction(again) / Fraction(missing)) if again else NOTHING
        row = self.latest_row()
        assert row.lot_id
        self.books.lots[row.lot_id] = LotByHand(row.lot_id, self.hinges.pk, quantity, value)
        event = self.write_rows("find", "written off")
        assert [(step.quantity, step.value) for step in event.steps] == [(quantity, value)]

    def write_rows(self, verb: str, account: str, job: str = "") -> Event:
        """The rows of the latest tap, as they are in the ledger."""
        main = self.latest_row()
        rows = [main, *main.others.order_by("pk")]
        assert {row.job_number for row in rows} == {job}
        assert {row.account for row in rows if row.value} <= {account}
        steps = [
            Step(self.books.lots[row.lot_id], row.value, row.account, row.quantity)
            for row in rows
            if row.lot_id
        ]
        return self.books.write(verb, main.pk, steps, job=job)

    def latest_row(self) -> Movement:
        latest = Movement.objects.order_by("pk").last()
        assert latest
        return latest.part_of or latest
