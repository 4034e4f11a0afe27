"""How long the stock page takes at 100,000 pieces: python -m tests.bench.stock_page FOLDER

FOLDER gets a database of its own the first time and is used again after that.
"""

import os
import random
import sys
import time
from decimal import Decimal

QUESTIONS = {
    "everything": "",
    "the last page": "page=100",
    "a size either way": "length=30&width=12",
    "a size with the grain, free": "length=30&width=12&way=grain&held=free",
    "a rare size": "length=110&width=44",
    "along the walk": "sort=place",
    "largest first": "sort=largest",
    "the start of a code": "q=k7m",
    "words": "q=material 7",
    "any state, a size": "state=any&length=30&width=12",
}


def fill() -> None:
    """100,000 pieces on the rack and 20,000 that are gone, of 200 materials in 120 places."""
    from django.db import connection

    from inventory.models import Piece
    from shared.measure import inches
    from shared.shop import take_codes
    from tests.factories import make_material, make_place

    made = random.Random(1)
    materials = [
        make_material(f"material {number} 3/4", kind=made.choice(["sheet", "sheet", "lumber"]))
        for number in range(200)
    ]
    places = [make_place() for _ in range(120)]
    pieces = []
    for number, code in enumerate(take_codes(120_000)):
        material, is_there = made.choice(materials), number < 100_000
        piece = Piece(
            code=code,
            kind="board" if material.is_lumber else made.choice(["offcut", "offcut", "sheet"]),
            material=material,
            length=inches(made.randint(10, 120)),
            width=inches(made.randint(4, 48)),
            state="rack" if is_there else "used",
            place=made.choice(places) if is_there else None,
            value=Decimal(made.randint(1, 90)) if is_there else Decimal(0),
            was_put_in=True,
        )
        pieces.append(piece)
    Piece.objects.bulk_create(pieces, batch_size=2_000)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


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
        fill()
    client = Client()
    client.force_login(make_person("buyer", username=f"buyer {time.time()}"))
    for question, query in QUESTIONS.items():
        seconds = []
        for _ in range(3):
            began = time.perf_counter()
            answer = client.get(f"/stock?{query}")
            seconds.append(time.perf_counter() - began)
        print(f"{min(seconds) * 1000:5.0f} ms  {question} ({answer.status_code})")


if __name__ == "__main__":
    main(sys.argv[1])
