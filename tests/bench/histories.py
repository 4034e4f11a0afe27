"""Thousands of random histories of a shop, the books checked after every step.

    python -m tests.bench.histories 2000 --seed 1

Each is up to 17 steps long, over some months, with a keep rate and a way of costing goods of its own, and with
prices, freight and offcuts that divide evenly by nothing. After every step: value in = on the rack + charged +
written off + sold. At its end: the audit, the journal, closed periods, and files against the pages they are of.
"""

import argparse
import os
import random
import tempfile
import time
from collections import Counter
from contextlib import suppress
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

STEPS = 16
RATES = ("0", "0.333", "0.5", "0.777", "1")


class History:
    """One shop's story, told by chance."""

    def __init__(self, seed: int, materials: dict[str, Any], by: Any) -> None:
        from tests.factories import make_job

        self.chance, self.materials, self.by = random.Random(seed), materials, by
        self.day = date(2026, 7, 1) + timedelta(days=self.chance.randrange(30))
        self.jobs = [make_job(), make_job()]
        self.done: Counter[str] = Counter()

    def cents(self, most: int = 9_999) -> Decimal:
        return Decimal(self.chance.randint(1, most)) / 100

    def piece(self, *states: str) -> Any:
        from inventory.models import Piece

        found = list(Piece.objects.filter(state__in=states or ("rack", "pulled")).order_by("pk"))
        return self.chance.choice(found) if found else None

    # ---- what may happen ----------------------------------------------------------------------------------

    def receive(self) -> None:
        from inventory import receiving
        from shared.measure import inches
        from tests.factories import make_supplier

        chance = self.chance
        lines: list[receiving.Line] = [
            receiving.SheetLine(
                self.materials["sheet"], chance.randint(1, 7), inches(96), inches(48), self.cents()
            )
        ]
        if chance.random() < 0.5:
            lines.append(
                receiving.GoodsLine(
                    self.materials["goods"], Decimal(chance.randint(1, 9)), self.cents(999), Decimal(7)
                )
            )
        if chance.random() < 0.4:
            boards = tuple((inches(chance.randint(3, 11)), inches(96)) for _ in range(chance.randint(1, 5)))
            lines.append(receiving.BoardLine(self.materials["lumber"], boards, self.cents(1_500)))
        receiving.receive(
            supplier=make_supplier(),
            number="1",
            date=self.day - timedelta(days=chance.randrange(-3, 40)),
            lines=lines,
            by=self.by,
            freight=self.cents(700),
            tax=self.cents(1_300),
            discount=self.cents(50),
        )

    def put_in(self) -> None:
        from tests.factories import make_offcut

        make_offcut(by=self.by, material=self.materials["sheet"], value=str(self.cents(3_000)))

    def cut(self) -> None:
        from inventory import sawing
        from jobs import making

        if not (piece := self.piece()):
            self.receive()
            return
        along = self.chance.randint(1, piece.length // 2)
        left = [sawing.LeftOver(along, self.chance.randint(1, piece.width)) for _ in range(2)]
        job = self.chance.choice([*self.jobs, None])
        making.cut_free(piece=piece, taken=[], left=left, by=self.by, job=job)

    def issue(self) -> None:
        from jobs import making

        how_many = Decimal(self.chance.randint(1, 20))
        making.issue_goods(
            job=self.chance.choice(self.jobs), material=self.materials["goods"], quantity=how_many, by=self.by
        )

    def bring_back(self) -> None:
        from jobs import making

        how_many = Decimal(self.chance.randint(1, 5))
        making.put_goods_back(
            job=self.chance.choice(self.jobs), material=self.materials["goods"], quantity=how_many, by=self.by
        )

    def count(self) -> None:
        from inventory import goods

        there = goods.in_stock(self.materials["goods"])
        counted = max(there + self.chance.randint(-5, 3), Decimal(0))
        goods.count(material=self.materials["goods"], counted=counted, by=self.by)

    def part_with(self) -> None:
        from inventory import handling

        if not (piece := self.piece()):
            self.put_in()
            return
        what = self.chance.randrange(3)
        if what == 0:
            handling.scrap(piece=piece, by=self.by)
        elif what == 1:
            handling.sell(piece=piece, price=self.cents(), by=self.by)
        else:
            handling.lose(piece=piece, by=self.by)
            if self.chance.random() < 0.5:
                handling.find(piece=piece, by=self.by)

    def undo(self) -> None:
        from inventory.models import Movement
        from jobs import undoing

        undone = list(Movement.objects.main().standing().order_by("pk"))
        if undone:
            undoing.undo(movement=self.chance.choice(undone), by=self.by)

    def close(self) -> None:
        from inventory import books

        last = self.day - timedelta(days=self.chance.randint(1, 20))
        before = books.sums_up_to(last), list(books.journal(None, last))
        books.close(last_day=last, by=self.by)
        assert (books.sums_up_to(last), list(books.journal(None, last))) == before

    # ---- one after the other ------------------------------------------------------------------------------

    def tell(self) -> int:
        """Live through it; how many steps were taken and not refused."""
        from shared.refusal import Refused
        from tests.inventory.test_books import on

        often = [self.receive, self.cut, self.cut, self.issue, self.issue, self.part_with, self.undo]
        any_of = [*often, self.put_in, self.bring_back, self.count, self.close]
        steps = [self.receive, *self.chance.choices(any_of, k=self.chance.randint(3, STEPS))]
        for step in steps:
            self.day += timedelta(days=self.chance.randrange(12))
            with on(self.day), suppress(Refused):
                step()
                self.done[step.__name__] += 1
            self.value_is_all_there()
        with on(self.day):
            self.the_books_hold()
        return sum(self.done.values())

    def value_is_all_there(self) -> None:
        from django.db.models import Sum

        from inventory.models import GoodsLot, Movement, Piece
        from jobs.models import Charge

        def total(rows: Any, column: str) -> Decimal:
            return rows.aggregate(n=Sum(column, default=Decimal("0.00")))["n"]

        received = total(Movement.objects.filter(account__in=["supplier", "shop"]), "value")
        rack = total(Piece.objects.all(), "value") + total(GoodsLot.objects.all(), "value")
        gone = -total(Movement.objects.filter(account__in=["written off", "sold"]), "value")
        assert received == rack + total(Charge.objects.all(), "amount") + gone

    def the_books_hold(self) -> None:
        from inventory import books
        from jobs import auditing, rack_worth, spending, tables

        assert auditing.faults() == []
        lines = list(books.journal(None, None))
        assert sum(one.debit for one in lines) == sum(one.credit for one in lines)
        middle = self.day - timedelta(days=30)
        for first, last in ((None, None), (None, middle), (middle + timedelta(days=1), None)):
            sides = Counter[str]()
            for one in books.journal(first, last):
                sides[one.account] += one.debit - one.credit  # type: ignore[assignment]
            shown = {one.name: one.debit - one.credit for one in books.balances(first, last)}
            assert {name: side for name, side in shown.items() if side} == {
                name: side for name, side in sides.items() if side
            }
        for group in spending.GROUPS:
            found = spending.spend(spending.Asked(group=group))
            assert found.total == spending.ledger_total(spending.Asked())
            assert sum(row[-1] for row in spending.as_table(found, group)[1:-1]) == found.total
        rack = rack_worth.by_age()
        assert rack.total == rack_worth.carried()
        assert tables.of_accounts(books.balances(None, None))[-1][1] == sum(one.debit for one in lines)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("count", type=int)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(
            DATABASE_URL=f"sqlite:///{folder}/shop.sqlite3", SAWBUCK_DATA=folder, SAWBUCK_DEBUG="1",
            DJANGO_SETTINGS_MODULE="shared.settings",
        )  # fmt: skip
        import django

        django.setup()
        from django.conf import settings
        from django.core.management import call_command
        from django.db import transaction

        from shared.models import Shop
        from tests.factories import make_material, make_person

        settings.DEBUG = False
        call_command("migrate", verbosity=0)
        by = make_person()
        materials = {kind: make_material(kind=kind) for kind in ("sheet", "lumber", "goods")}
        began, steps, done = time.perf_counter(), 0, Counter[str]()
        for number in range(given.seed, given.seed + given.count):
            with transaction.atomic():
                choice = random.Random(number)
                Shop.objects.update_or_create(
                    pk=1,
                    defaults={
                        "is_set_up": True,
                        "keep_rate": Decimal(choice.choice(RATES)),
                        "goods_costing": choice.choice(("fifo", "average")),
                    },
                )
                history = History(number, materials, by)
                try:
                    steps += history.tell()
                except Exception as error:
                    error.add_note(f"history {number}, on {history.day}, after {dict(history.done)}")
                    raise
                done += history.done
                transaction.set_rollback(True)
            if number % 100 == 0:
                print(f"  {number:,}, {steps:,} steps, {time.perf_counter() - began:.0f} s", flush=True)
        told = ", ".join(f"{name} {count:,}" for name, count in done.most_common())
        print(
            f"{given.count:,} histories of {steps:,} steps held ({told}) in {time.perf_counter() - began:.0f} s"
        )


if __name__ == "__main__":
    main()
