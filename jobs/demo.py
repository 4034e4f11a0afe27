"""The demo shop: what fixtures/demo/ says, done by the shop's own functions on the days it was done."""

import csv
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, time, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any
from unittest import mock

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from inventory import cataloguing, labelling, putting_in, receiving, sawing
from inventory.boardlist import read_boards
from inventory.models import Material, Movement, Place, Receipt, Species, Supplier
from jobs import buying, holding, layouts, making, planning, taking_on
from jobs.models import Job, Layout, Plan
from jobs.partslist.preview import preview
from jobs.partslist.reading import read_file
from jobs.partslist.saving import save_parts
from shared import people
from shared.addresses import time_zone_here
from shared.measure import parse_length
from shared.models import Person
from shared.shop import change_settings, set_up, the_shop

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "demo"
SECONDS_A_PLAN = 2  # enough for its small lists; who starts the demo waits for it
Row = dict[str, str]
Step = tuple[int, Callable[[], object]]


class NotEmpty(Exception):  # noqa: N818 - raised and read as "the database is not empty"
    """The demo is only put into a database that holds nothing yet."""


def is_loaded() -> bool:
    """Whether this database holds the demo: its first receipt, which nothing can take out again."""
    first = rows("receipts")[0]
    return Receipt.objects.filter(number=first["number"], supplier__name=first["supplier"]).exists()


def load() -> None:
    """Put the demo shop into an empty database; does nothing where it is there already. Raises NotEmpty."""
    if is_loaded():
        return
    if Person.objects.exists() or Material.objects.exists():
        raise NotEmpty("This database holds a shop of its own, so the demo is not put into it.")
    with transaction.atomic():
        set_up(
            the_shop(),
            {"name": "Two Benches", "unit": "in", "currency": "USD", "time_zone": time_zone_here()},
        )
        usual = the_shop().planning_seconds
        change_settings(the_shop(), {"planning_seconds": SECONDS_A_PLAN})
        _bring_people_and_catalogue()
        story = [*_stock_story(), *_jobs_story()]
        for days_ago, do in sorted(story, key=lambda step: -step[0]):
            with _on_the_day(days_ago):
                do()
        change_settings(the_shop(), {"planning_seconds": usual})


def rows(name: str) -> list[Row]:
    """The rows of one of the demo's tables."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@contextmanager
def _on_the_day(days_ago: int) -> Iterator[None]:
    """The clock as it stood at ten on a day that many days ago, for all that is written down meanwhile."""
    at_ten = datetime.combine(timezone.localdate() - timedelta(days=days_ago), time(10))
    then = min(timezone.make_aware(at_ten), timezone.now())
    # A movement's time was tied to the clock when its class was made, so that it is set apart.
    its_time = mock.patch.object(Movement._meta.get_field("at"), "get_default", return_value=then)
    with mock.patch("django.utils.timezone.now", return_value=then), its_time:
        yield


def _by(role: str) -> Person:
    return Person.objects.get(username=role)


def _ticks(text: str) -> int:
    return parse_length(text, "in")


def _size(text: str) -> tuple[int, int]:
    length, width = text.split(" x ")
    return _ticks(length), _ticks(width)


# ---- what the shop is ----------------------------------------------------------------------------


def _bring_people_and_catalogue() -> None:
    for row in rows("people"):
        people.add_person(**row)
    for row in rows("places"):
        within = Place.objects.get(name=row["within"]) if row["within"] else None
        cataloguing.add_place(name=row["name"], within=within)
    for row in rows("suppliers"):
        cataloguing.add_supplier(**row)
    for row in rows("materials"):
        _add_material(row)
    for row in rows("offers"):
        length, width = _size(row["size"]) if row["size"] else (None, None)
        cataloguing.add_offer(
            material=Material.objects.get(name=row["material"]),
            supplier=Supplier.objects.get(name=row["supplier"]),
            price=Decimal(row["price"]),
            seen_on=timezone.localdate() - timedelta(days=int(row["days_ago"])),
            length=length,
            width=width,
        )


def _add_material(row: Row) -> None:
    material = cataloguing.add_material(
        kind=row["kind"],
        name=row["name"],
        species=Species.objects.get(name=row["species"]) if row["species"] else None,
        core=row["core"],
        thickness_text=row["thickness_text"],
        thickness=_ticks(row["thickness"]) if row["thickness"] else None,
        is_grained=row["grained"] == "yes",
        density_kg_m3=Decimal(row["density"]) if row["density"] else None,
        formaldehyde_class=row["formaldehyde"],
        unit=row["unit"],
        is_counted_whole=row["whole"] != "no",
        reorder_point=Decimal(row["reorder"]) if row["reorder"] else None,
    )
    if row["also_called"]:
        cataloguing.add_name(material=material, name=row["also_called"])


# ---- what came in --------------------------------------------------------------------------------


def _stock_story() -> Iterator[Step]:
    for row in rows("already_there"):
        yield 110, partial(_put_in, row)
    for row in rows("receipts"):
        yield int(row["days_ago"]), partial(_receive, row)
    yield 2, _print_labels


def _print_labels() -> None:
    labelling.printed([thing.code for thing in labelling.waiting()])


def _put_in(row: Row) -> None:
    material, value = Material.objects.get(name=row["material"]), Decimal(row["value"])
    if row["kind"] == "goods":
        putting_in.put_in_goods(
            material=material, quantity=Decimal(row["size"]), value=value, by=_by("buyer")
        )
        return
    length, width = _size(row["size"])
    putting_in.put_in(
        material=material,
        kind=row["kind"],
        length=length,
        width=width,
        place=Place.objects.get(name=row["place"]),
        value=value,
        note=row["note"],
        by=_by("bench"),
    )


def _receive(row: Row) -> None:
    receiving.receive(
        supplier=Supplier.objects.get(name=row["supplier"]),
        number=row["number"],
        date=timezone.localdate(),
        lines=[_line(line) for line in rows("receipt_lines") if line["number"] == row["number"]],
        place=Place.objects.filter(name=row["place"]).first(),
        freight=Decimal(row["freight"]),
        tax=Decimal(row["tax"]),
        discount=Decimal(row["discount"]),
        by=_by("buyer"),
    )


def _line(row: Row) -> receiving.Line:
    material, price = Material.objects.get(name=row["material"]), Decimal(row["price"])
    if material.is_lumber:
        return receiving.BoardLine(material, tuple(read_boards(row["size"].replace("; ", "\n"), "in")), price)
    if material.is_goods:
        return receiving.GoodsLine(material, Decimal(row["count"]), price)
    return receiving.SheetLine(material, int(row["count"]), *_size(row["size"]), price)


# ---- what was made -------------------------------------------------------------------------------


def _jobs_story() -> Iterator[Step]:
    for row in rows("jobs"):
        yield int(row["taken_on"]), partial(_take_on, row)
        steps = {"planned": _plan, "accepted": _accept, "delivered": _take_delivery, "finished": _finish}
        for name, do in steps.items():
            if row[name]:
                yield int(row[name]), partial(do, row["title"])
        if row["sawn_from"]:
            for days_ago in range(int(row["sawn_from"]), int(row["sawn_to"]) - 1, -1):
                yield days_ago, partial(_saw, row, days_ago)
    for row in rows("goods_used"):
        yield int(row["days_ago"]), partial(_use_goods, row)
    for row in rows("goods_wanted"):
        yield int(row["days_ago"]), partial(_want_goods, row)


def _job(title: str) -> Job:
    return Job.objects.get(title=title)


def _goods(row: Row) -> dict[str, Any]:
    return {
        "job": _job(row["job"]),
        "material": Material.objects.get(name=row["material"]),
        "quantity": Decimal(row["quantity"]),
    }


def _take_on(row: Row) -> None:
    job = taking_on.take_on(
        title=row["title"],
        client_name=row["client"],
        due=timezone.localdate() + timedelta(days=int(row["due_after"])),
        note=row["note"],
    )
    if row["parts"]:
        list_ = FOLDER / "parts" / row["parts"]
        save_parts(job=job, lines=preview(read_file(list_.name, list_.read_bytes()), "in").lines())
    if row["state"]:
        Job.objects.filter(pk=job.pk).update(state=row["state"])


def _use_goods(row: Row) -> None:
    making.issue_goods(**_goods(row), by=_by("bench"))


def _want_goods(row: Row) -> None:
    buying.want(**_goods(row))


def _plan(title: str) -> None:
    planning.work_out(Plan.objects.create(job=_job(title), asked_by=_by("owner")))


def _accept(title: str) -> None:
    holding.accept(plan=_job(title).plans.get(), by=_by("owner"))


def _take_delivery(title: str) -> None:
    """All sheets on the job's buy list come, on a receipt a supplier."""
    job = _job(title)
    lines = job.buy_lines.open().filter(unit="sheet").select_related("offer__supplier", "material")
    for section in buying.by_supplier(lines):
        assert section.supplier
        buying.receive(
            arrived=[buying.Arrived(line, line.quantity, line.price) for line in section.lines],
            supplier=section.supplier,
            number=f"{job.number}/{section.supplier.pk}",
            date=timezone.localdate(),
            freight=Decimal("15.00"),
            by=_by("buyer"),
            place=Place.objects.get(name="Sheet rack 1"),
        )


def _saw(row: Row, days_ago: int) -> None:
    """The day's share of the layouts, evenly from the first day to the last."""
    plan = _job(row["title"]).plans.accepted().get()
    ready = list(plan.layouts.exclude(piece=None).select_related("piece", "plan"))
    days = int(row["sawn_from"]) - int(row["sawn_to"]) + 1
    wanted = len(ready) if row["layouts"] == "all" else len(ready) // 2
    by_today = wanted * (int(row["sawn_from"]) - days_ago + 1) // days
    for layout in ready[:by_today]:
        if layout.state == Layout.State.TO_CUT:
            _cut(layout, plan)


def _cut(layout: Layout, plan: Plan) -> None:
    assert layout.piece
    making.pull(piece=layout.piece, by=_by("bench"))
    drawn = layouts.read(layout, plan, {})
    left = [sawing.LeftOver(offcut.length, offcut.width) for offcut in layouts.offcuts(drawn)]
    making.cut_layout(layout=layout, left=left, by=_by("bench"))


def _finish(title: str) -> None:
    holding.finish(job=_job(title), by=_by("owner"))
