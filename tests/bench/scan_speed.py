"""Server time from a scan to a usable page: python -m tests.bench.scan_speed [pieces]

The processor's time beside the clock's, as others may use the machine; and what the page weighs.
"""

# ruff: noqa: E402
import os
import statistics
import sys
import time

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"

import django

django.setup()

from django.core.management import call_command
from django.test import Client

from inventory.models import Material, Piece, Place, State
from shared.codes import code_for
from shared.measure import inches
from shared.models import Person
from shared.shop import set_up, the_shop

SCANS = 60


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    call_command("migrate", verbosity=0)
    set_up(the_shop(), {"unit": "in"})
    fill(count)
    browser = Client(SERVER_NAME="localhost")
    browser.force_login(Person.objects.create_superuser("root", password="bench dog 42"))
    for name, address in {
        "the piece's page": "/S/{}",
        "the part of the scan page": "/scan/part?code={}",
    }.items():
        by_clock, by_processor, weights = [], [], []
        for number in range(0, count, count // SCANS):
            began = time.perf_counter(), time.process_time()
            answer = browser.get(address.format(code_for(number)))
            by_clock.append(1000 * (time.perf_counter() - began[0]))
            by_processor.append(1000 * (time.process_time() - began[1]))
            weights.append(len(answer.content))
            assert answer.status_code == 200, answer.status_code
        print(f"{name}, {count:,} pieces, at most {max(weights) / 1000:.1f} kB:")
        for what, took in (("clock", by_clock), ("processor", by_processor)):
            middle, slowest = statistics.median(took), sorted(took)[int(len(took) * 0.95)]
            print(f"  by the {what} {middle:.0f} ms, 95 of 100 within {slowest:.0f} ms")


def fill(count: int) -> None:
    """So many offcuts on the rack, written past the ledger: only the reading of them is timed."""
    materials = [
        Material.objects.create(
            kind="sheet", name=f"Plywood {n}", thickness_text="3/4", thickness=inches("3/4")
        )
        for n in range(40)
    ]
    places = [Place.objects.create(name=f"Bay {n}", code=code_for(20_000_000 + n)) for n in range(80)]
    rows = (
        Piece(
            code=code_for(n),
            kind="offcut",
            material=materials[n % 40],
            place=places[n % 80],
            state=State.ON_RACK,
            was_put_in=True,
            length=inches(20 + n % 70),
            width=inches(6 + n % 40),
        )
        for n in range(count)
    )
    Piece.objects.bulk_create(rows, batch_size=2_000)


if __name__ == "__main__":
    main()
