"""How long pages take in a shop of 100,000 pieces: python -m tests.bench.big_shop FOLDER

FOLDER gets a database of its own the first time and is used again after that. Its 100,000 pieces on the rack and
25,000 that are gone have receipts, movements and charges that the audit finds no fault in.
"""

import math
import os
import random
import statistics
import sys
import time
import tracemalloc
from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

SHEETS, CUT, BOARDS, OFFCUTS_OF_ONE = 40_000, 25_000, 10_000, 3
DELIVERIES, JOBS, MATERIALS, PLACES = 500, 400, 200, 120
RUNS = 15
BATCH = 2_000


def build() -> None:
    """Fill an empty database."""
    from django.db import connection, transaction

    with transaction.atomic():
        BigShop().fill()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


class BigShop:
    """Five years of a large shop, written in bulk with the movements that tell how it came to be."""

    def __init__(self) -> None:
        from tests import factories

        self.dice = random.Random(100_000)
        self.by = factories.make_person(username="bulk")
        self.sheet_goods = [
            factories.make_material(f"{wood} plywood {size}", thickness_text=size)
            for wood in WOODS
            for size in ("1/4", "1/2", "3/4")
        ]
        self.lumber = [
            factories.make_material(f"{wood} {quarter}", kind="lumber", thickness_text=quarter)
            for wood in WOODS
            for quarter in ("4/4", "5/4", "8/4")
        ]
        self.places = [factories.make_place() for _ in range(PLACES)]
        self.yards = [factories.make_supplier() for _ in range(6)]
        self.jobs = [factories.make_job(f"Commission {number}", state="done") for number in range(JOBS)]
        self.first_day = datetime.now().astimezone() - timedelta(days=5 * 365)

    def fill(self) -> None:
        sheets = self.receive("sheet", SHEETS, self.sheet_goods)
        self.receive("board", BOARDS, self.lumber)
        self.saw(sheets[:CUT])
        self.hold_some(sheets[CUT : CUT + 60])
        self.queue_labels(sheets[-150:])

    def day(self, share: float) -> datetime:
        """A time this far through the five years."""
        return self.first_day + timedelta(days=5 * 365 * share)

    # ---- deliveries ---------------------------------------------------------------------------------------

    def receive(self, kind: str, count: int, materials: list[Any]) -> list[Any]:
        from inventory.models import Movement, Receipt, ReceiptLine
        from shared.shop import take_codes

        pieces = [self.piece(kind, code, self.dice.choice(materials)) for code in take_codes(count)]
        costs = [Decimal(self.dice.randint(900, 18_000)) / 100 for _ in pieces]
        each = math.ceil(count / DELIVERIES)
        received = []
        for number in range(0, count, each):
            some, paid = pieces[number : number + each], costs[number : number + each]
            at = self.day(number / count * 0.6)
            receipt = Receipt.objects.create(
                supplier=self.dice.choice(self.yards),
                number=f"{kind} {number}",
                date=at.date(),
                total=sum(paid),
                entered_by=self.by,
            )
            line = ReceiptLine.objects.create(
                receipt=receipt,
                material=some[0].material,
                count=len(some),
                price=paid[0],
                amount=sum(paid),
                cost=sum(paid),
            )
            for piece, cost in zip(some, paid, strict=True):
                piece.receipt_line = piece.bought_on = line
                piece.value = cost
            received += self.keep(some, at)
        rows = [
            self.movement(piece, "receive", at=piece.made_at, value=piece.value, account="supplier")
            for piece in received
        ]
        Movement.objects.bulk_create(rows, batch_size=BATCH)
        return received

    def piece(self, kind: str, code: str, material: Any, **others: Any) -> Any:
        from inventory.models import Piece
        from shared.measure import inches

        size = {"length": inches(96), "width": inches(48)}
        if kind == "board":
            size = {"length": inches(self.dice.randint(72, 144)), "width": inches(self.dice.randint(4, 11))}
        place = self.dice.choice(self.places)
        return Piece(code=code, kind=kind, material=material, state="rack", place=place, **{**size, **others})

    def keep(self, pieces: list[Any], at: datetime) -> list[Any]:
        """Write pieces as if it were then."""
        from unittest import mock

        from inventory.models import Piece

        with mock.patch("django.utils.timezone.now", return_value=at):
            return list(Piece.objects.bulk_create(pieces, batch_size=BATCH))

    def movement(self, piece: Any, verb: str, **others: Any) -> Any:
        from inventory.models import Movement

        begins = {"from_state": "void", "to_state": "rack", "to_place": piece.place}
        account = others["account"] if others["value"] else ""
        return Movement(verb=verb, by=self.by, piece=piece, **{**begins, **others, "account": account})

    # ---- the saw ------------------------------------------------------------------------------------------

    def saw(self, sheets: list[Any]) -> None:
        """Each sheet is used up for a job, or for nothing, and leaves offcuts."""
        from inventory.models import Movement, Piece
        from shared.shop import take_codes

        each = math.ceil(len(sheets) / DELIVERIES)
        for number in range(0, len(sheets), each):
            some = sheets[number : number + each]
            at = self.day(0.6 + number / len(sheets) * 0.4)
            cuts = [self.cut(sheet, at) for sheet in some]
            Movement.objects.bulk_create(cuts)
            codes = iter(take_codes(len(some) * OFFCUTS_OF_ONE))
            offcuts = self.keep([offcut for sheet in some for offcut in self.offcuts_of(sheet, codes)], at)
            parents = {cut.piece_id: cut for cut in cuts}
            left = [self.leave(offcut, parents[offcut.parent_id], at) for offcut in offcuts]
            Movement.objects.bulk_create(left)
            self.charge([*cuts, *left])
        used = [sheet.pk for sheet in sheets]
        for number in range(0, len(used), BATCH):
            rows = Piece.objects.filter(pk__in=used[number : number + BATCH])
            rows.update(state="used", place=None, value=Decimal(0))

    def cut(self, sheet: Any, at: datetime) -> Any:
        sheet.left = self.rectangles()
        left = sum(length * width for length, width in sheet.left)
        parts = (sheet.area - left) * 9 // 10
        job = self.dice.choice(self.jobs) if self.dice.random() < 0.9 else None
        return self.movement(
            sheet,
            "cut",
            at=at,
            from_state="rack",
            from_place=sheet.place,
            to_state="used",
            to_place=None,
            value=-sheet.value,
            account="job" if job else "written off",
            job_number=job.number if job else "",
            parts_area=parts,
            waste_area=sheet.area - left - parts,
        )

    def rectangles(self) -> list[tuple[int, int]]:
        from shared.measure import inches

        return [
            (inches(self.dice.randint(12, 48)), inches(self.dice.randint(4, 20)))
            for _ in range(OFFCUTS_OF_ONE)
        ]

    def offcuts_of(self, sheet: Any, codes: Iterator[str]) -> Iterator[Any]:
        for length, width in sheet.left:
            size = {"length": length, "width": width}
            offcut = self.piece("offcut", next(codes), sheet.material, parent=sheet, **size)
            offcut.bought_on = sheet.bought_on
            offcut.value = Decimal(int(sheet.value * 50 * length * width / sheet.area)) / 100
            yield offcut

    def leave(self, offcut: Any, cut: Any, at: datetime) -> Any:
        tied = {"account": cut.account, "job_number": cut.job_number, "part_of": cut}
        return self.movement(offcut, "leave", at=at, value=offcut.value, **tied)

    def charge(self, movements: list[Any]) -> None:
        from jobs.models import Charge

        jobs = {job.number: job for job in self.jobs}
        Charge.objects.bulk_create(
            Charge(
                job=jobs[one.job_number],
                movement=one,
                amount=-one.value,
                sort="stock" if one.value < 0 else "offcut",
                at=one.at,
            )
            for one in movements
            if one.account == "job"
        )

    # ---- what waits ---------------------------------------------------------------------------------------

    def hold_some(self, sheets: list[Any]) -> None:
        from jobs.holding import hold
        from tests.factories import make_job

        for number in range(0, len(sheets), 5):
            job = make_job(f"Open commission {number}", state="making")
            for sheet in sheets[number : number + 5]:
                hold(piece=sheet, job=job, by=self.by)

    def queue_labels(self, pieces: list[Any]) -> None:
        from inventory.models import LabelToPrint

        LabelToPrint.objects.bulk_create(LabelToPrint(piece=piece) for piece in pieces)


WOODS = [f"wood {letter}" for letter in "abcdefghijklmnopqrstuvwxyzäöüßàéçñøåæœ"][: MATERIALS // 6]


# ---- measuring --------------------------------------------------------------------------------------------


def pages() -> dict[str, str]:
    """What is asked for, by what it is."""
    from inventory.models import Piece

    sheet, offcut = Piece.objects.in_rack().order_by("pk")[777], Piece.objects.offcuts()[777]
    size, shelf = "length=30&width=12", f"place={offcut.place_id}"
    return {
        "home": "/",
        "stock": "/stock",
        "stock, page 2": "/stock?page=2",
        "stock, page 200 asked, the last shown": "/stock?page=200",
        "stock, one material": f"/stock?material={sheet.material_id}",
        "stock, one place": f"/stock?place={sheet.place_id}",
        "stock, free offcuts of a thickness": f"/stock?{shelf}&kind=offcut&held=free&thickness=3/4",
        "stock, at least 30 × 12": f"/stock?{size}",
        "stock, at least 30 × 12 with the grain, free": f"/stock?{size}&way=grain&held=free",
        "stock, at least 30 × 12 of a material": f"/stock?{size}&material={offcut.material_id}",
        "stock, at least 100 × 46, none": "/stock?length=100&width=46",
        "stock, along the walk": "/stock?sort=place",
        "stock, largest first": "/stock?sort=largest",
        "stock, by code": "/stock?sort=code",
        "stock, words": "/stock?q=wood c plywood",
        "stock, the start of a code": f"/stock?q={sheet.code[:3]}",
        "stock, any state": "/stock?state=any",
        "a scan of a sheet": f"/s/{sheet.code}",
        "a scan of an offcut": f"/S/{offcut.code}",
        "jobs": "/jobs",
        "spend by job": "/spend",
        "spend by month": "/spend?group=month",
        "labels": "/labels",
    }


def measure(client: Any, address: str) -> tuple[int, int, list[float], list[float], float]:
    """Status, queries, milliseconds of the processor and of the clock in each run, megabytes at the peak of one."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client.get(address)  # what is loaded once is loaded
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(address)
    count, busy, waited = len(queries), [], []
    for _ in range(RUNS):
        began, begun = time.perf_counter(), time.process_time()
        client.get(address)
        waited.append((time.perf_counter() - began) * 1000)
        busy.append((time.process_time() - begun) * 1000)
    tracemalloc.start()
    client.get(address)
    peak = tracemalloc.get_traced_memory()[1] / 2**20
    tracemalloc.stop()
    return answer.status_code, count, sorted(busy), sorted(waited), peak


def report(client: Any) -> None:
    print("| page | queries | processor ms | 95th | clock ms | 95th | peak MB |")
    print("| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for what, address in pages().items():
        status, queries, busy, waited, peak = measure(client, address)
        note = "" if status == 200 else f" ({status})"
        times = " | ".join(
            f"{statistics.median(some):.0f} | {some[math.ceil(0.95 * RUNS) - 1]:.0f}"
            for some in (busy, waited)
        )
        print(f"| {what}{note} | {queries} | {times} | {peak:.1f} |", flush=True)
    from jobs import auditing

    began, begun = time.perf_counter(), time.process_time()
    faults = auditing.faults()
    took = f"{time.process_time() - begun:.1f} s of the processor, {time.perf_counter() - began:.1f} s by the clock"
    print(f"\nThe audit took {took}, and found {len(faults)} faults.")
    print("\n".join(faults))


def main(folder: str) -> None:
    os.environ |= {"SAWBUCK_DATA": folder, "DJANGO_SETTINGS_MODULE": "shared.settings", "SAWBUCK_DEBUG": "1"}
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.test import Client

    from inventory.models import Piece
    from shared.models import Shop
    from tests.factories import make_person

    settings.DEBUG, settings.ALLOWED_HOSTS = False, ["testserver"]
    call_command("migrate", verbosity=0)
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    if not Piece.objects.exists():
        began = time.perf_counter()
        build()
        print(f"{Piece.objects.count():,} pieces were built in {time.perf_counter() - began:.0f} s.\n")
    client = Client()
    client.force_login(make_person("owner", username=f"owner {time.time()}"))
    report(client)


if __name__ == "__main__":
    main(sys.argv[1])
