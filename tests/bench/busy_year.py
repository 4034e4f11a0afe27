"""A year of a busy shop, made through the shop's own functions, and how long its pages of money take.

    python -m tests.bench.busy_year            a tenth: 50 jobs, 2,000 pieces, 20,000 movements
    python -m tests.bench.busy_year --scale 1  500 jobs, 20,000 pieces, 200,000 movements, in 40 minutes beside others

It is written into a new SQLite file (--keep leaves it there; --use reads one that was kept).
"""

import argparse
import os
import random
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from unittest import mock

JOBS, PIECES, MOVEMENTS = 500, 20_000, 200_000
FIRST = date(2025, 11, 3)
YARDS = ("North Yard", "Mill Lane", "Sheet Goods Counter", "Ironmonger")
SHEETS = [
    ("birch plywood 3/4", "Birch, paper"), ("oak plywood 3/4", "Oak, white"), ("maple plywood 1/2", "Maple, sugar"),
    ("walnut plywood 3/4", "Walnut, black"), ("MDF 3/4", ""), ("ash plywood 1/4", "Ash, white"),
]  # fmt: skip
GOODS = ["butt hinges", "drawer slides", "wood glue", "wax", "screws", "shelf pins"]


class Shop:
    """The shop that is busy: what there is, and a day's work."""

    def __init__(self, seed: int) -> None:
        from inventory import cataloguing
        from inventory.models import Species, Supplier
        from shared.measure import inches
        from tests.factories import make_person

        self.random, self.inches = random.Random(seed), inches
        self.number = 0
        self.people = [make_person(role) for role in ("owner", "buyer", "bench", "bench")]
        self.yards = [Supplier.objects.create(name=name) for name in YARDS]
        self.bays = [cataloguing.add_place(name=f"Bay {number}") for number in range(1, 21)]
        self.sheets = [
            cataloguing.add_material(
                kind="sheet",
                name=name,
                thickness_text="3/4",
                thickness=inches("3/4"),
                species=Species.objects.get(name=species) if species else None,
            )
            for name, species in SHEETS
        ]
        self.goods = [cataloguing.add_material(kind="goods", name=name, unit="each") for name in GOODS]
        for material in self.sheets:
            cataloguing.add_offer(
                material=material,
                supplier=self.yards[2],
                price=Decimal(90),
                seen_on=FIRST,
                length=inches(96),
                width=inches(48),
            )

    @property
    def someone(self) -> Any:
        return self.random.choice(self.people)

    def receive(self) -> None:
        """A delivery of sheets and goods, its freight spread unevenly."""
        from django.utils import timezone

        from inventory import receiving

        self.number += 1
        price = Decimal(self.random.randint(6_000, 12_000)) / 100
        length, width = self.inches(96), self.inches(48)
        lines: list[receiving.Line] = [
            receiving.SheetLine(self.random.choice(self.sheets), 12, length, width, price),
            receiving.GoodsLine(self.random.choice(self.goods), Decimal(40), round(price / 20, 2)),
        ]
        receiving.receive(
            supplier=self.random.choice(self.yards),
            number=f"D{self.number}",
            date=timezone.localdate(),
            lines=lines,
            by=self.someone,
            place=self.random.choice(self.bays),
            freight=Decimal("37.01"),
        )

    def some_on_the_rack(self, count: int) -> list[Any]:
        """Pieces drawn at random, by their numbers: sorting the whole rack for each would cost more than the work."""
        from inventory.models import Piece

        last = Piece.objects.latest("pk").pk
        while True:
            drawn = self.random.sample(range(1, last + 1), min(last, 4 * count))
            there = Piece.objects.in_rack().in_bulk(drawn)
            if len(there) >= count:
                return [there[pk] for pk in drawn if pk in there][:count]

    def work_on(self, job: Any) -> None:
        """Pull, carry about, cut with offcuts left, issue goods, spoil, undo, count, scrap and sell."""
        from inventory import goods, handling, sawing
        from jobs import making, undoing
        from shared.refusal import Refused

        pieces = self.some_on_the_rack(5)
        for piece in pieces:
            for bay in self.random.sample(self.bays, 6):
                if bay.pk != piece.place_id:
                    piece.place_id = handling.move(piece=piece, place=bay, by=self.someone).to_place_id
            making.pull(piece=piece, by=self.someone)
            handling.put_back(piece=piece, by=self.someone, place=bay)
            making.pull(piece=piece, by=self.someone)
        long, wide = pieces[0].length // 3, pieces[0].width // 2
        left = [
            sawing.LeftOver(long, pieces[0].width, self.bays[0]),
            sawing.LeftOver(long, wide, self.bays[1]),
        ]
        cut = making.cut_free(piece=pieces[0], taken=[(1, long, wide)], left=left, by=self.someone, job=job)
        if self.random.random() < 0.05:
            undoing.undo(movement=cut.movement, by=self.someone)
        for piece in pieces[1:]:
            handling.put_back(piece=piece, by=self.someone)
        with suppress(Refused):  # none left: the next delivery brings some
            making.issue_goods(
                job=job, material=self.random.choice(self.goods), quantity=Decimal(3), by=self.someone
            )
        if self.random.random() < 0.05:
            handling.scrap(piece=pieces[1], by=self.someone)
        if self.random.random() < 0.02:
            handling.sell(piece=pieces[2], price=Decimal(20), by=self.someone)
        if self.random.random() < 0.02:
            material = self.random.choice(self.goods)
            goods.count(
                material=material, counted=max(goods.in_stock(material) - 1, Decimal(0)), by=self.someone
            )


@contextmanager
def at(moment: datetime) -> Iterator[None]:
    """The clock as it stood then, for all that is written down meanwhile."""
    from inventory.models import Movement

    def now() -> datetime:  # a mock would remember each of its calls
        return moment

    its_time = mock.patch.object(Movement._meta.get_field("at"), "get_default", now)
    with mock.patch("django.utils.timezone.now", now), its_time:
        yield


def make_year(scale: float, seed: int) -> None:
    """Jobs over a year until there are as many pieces and movements as wanted."""
    from django.db import transaction
    from django.utils import timezone

    from inventory.models import Movement, Piece
    from tests.factories import make_job, make_part

    shop = Shop(seed)
    jobs = max(3, int(JOBS * scale))
    start = timezone.make_aware(datetime.combine(FIRST, datetime.min.time()))
    made = []
    for number in range(jobs):
        with transaction.atomic(), at(start + timedelta(days=365 * number / jobs)):
            job = make_job(f"piece {number}", number=f"Y-{number:04}")
            make_part(job, shop.random.choice(shop.sheets), length="24", width="16", quantity=6)
            made.append(job)
            while Piece.objects.count() < PIECES * scale * 0.9 * (number + 1) / jobs:
                shop.receive()
            while Movement.objects.count() < MOVEMENTS * scale * (number + 1) / jobs:
                shop.work_on(shop.random.choice(made[-5:]))
        if number == jobs - 1:
            with transaction.atomic(), at(start + timedelta(days=364)):
                while Piece.objects.count() < PIECES * scale:
                    shop.receive()
        if number % max(1, jobs // 10) == 0:
            print(f"  {number} of {jobs} jobs, {Movement.objects.count():,} movements", flush=True)


def clocked(what: str, do: Callable[[], Any]) -> None:
    """Do it twice; print the queries of the second, and its time of the processor and by the clock."""
    from django.db import connection, reset_queries
    from django.test.utils import CaptureQueriesContext

    do()
    reset_queries()
    started, busy = time.perf_counter(), time.process_time()
    with CaptureQueriesContext(connection) as queries:
        do()
    took = f"{time.process_time() - busy:.2f} s | {time.perf_counter() - started:.2f} s"
    print(f"| {what} | {len(queries)} | {took} |", flush=True)


def measure() -> None:
    """The pages of money, the audit and the exports, each with its queries and its time."""
    from django.test import Client as Browser

    from inventory.models import Material, Movement, Piece, Supplier
    from jobs import auditing
    from jobs.models import Charge, Client, Job
    from shared.models import Person

    print(
        f"\n{Job.objects.count():,} jobs, {Piece.objects.count():,} pieces, {Movement.objects.count():,} "
        f"movements, {Charge.objects.count():,} charges\n\n"
        "| what | queries | processor | clock |\n| --- | ---: | ---: | ---: |"
    )
    browser = Browser()
    browser.force_login(Person.objects.get(groups__name="owner"))
    client, job = Client.objects.all()[0].pk, Job.objects.all()[0].number
    material, supplier = Material.objects.sheet_goods()[0].pk, Supplier.objects.all()[0].pk
    asked = [
        *(f"/spend?group={group}" for group in ("job", "client", "month", "material", "species", "supplier")),
        f"/spend?group=month&client={client}&material={material}",
        f"/spend?group=material&supplier={supplier}&first=2026-01-01&last=2026-06-30",
        "/spend/movements",
        f"/spend/movements?supplier={supplier}",
        "/spend/saved?first=2025-11-01",
        "/spend/rack",
        "/spend/rack/goods",
        f"/spend/prices?material={material}",
        "/spend/compare?like=Y-0000+Y-0001+Y-0002",
        f"/jobs/{job}/cost",
        "/shop/books?first=2025-11-01&last=2026-11-30",
        "/spend/export.csv?group=job",
        "/shop/books/journal.csv?first=2025-11-01&last=2026-11-30",
    ]
    for address in asked:
        shown = address.replace(str(client), "…") if "client=" in address else address
        clocked(f"`{shown}`", lambda address=address: _fine(browser.get(address)))  # type: ignore[misc]
    clocked("`manage.py audit`", lambda: _holds(auditing.faults()))


def _fine(page: Any) -> None:
    assert page.status_code == 200, page.status_code


def _holds(faults: list[str]) -> None:
    assert faults == [], faults


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--scale", type=float, default=0.1)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--keep", type=Path, help="write the year to this file and leave it there")
    asked.add_argument("--use", type=Path, help="measure a year that was kept")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        file = given.use or given.keep or Path(folder) / "year.sqlite3"
        os.environ.update(
            DATABASE_URL=f"sqlite:///{file.resolve()}", SAWBUCK_DATA=folder, SAWBUCK_HOSTS="testserver",
            DJANGO_SETTINGS_MODULE="shared.settings", SAWBUCK_DEBUG="1",
        )  # fmt: skip
        import django

        django.setup()
        from django.conf import settings
        from django.core.management import call_command

        from shared.models import Shop as Settings

        # As a shop runs it: while DEBUG is on, each query is written down and its values are asked for again.
        settings.DEBUG = False
        call_command("migrate", verbosity=0)
        if not given.use:
            Settings.objects.update_or_create(pk=1, defaults={"is_set_up": True})
            started = time.perf_counter()
            make_year(given.scale, given.seed)
            print(f"made in {time.perf_counter() - started:.0f} s (scale {given.scale:g}, seed {given.seed})")
        measure()


if __name__ == "__main__":
    main()
