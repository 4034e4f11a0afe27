"""Another process at the same database, as a second server worker is: it does what it is told, on a word.

Reads a line of JSON that says what to do, waits for a second line, does it, and answers with a line of JSON.
"""

import faulthandler
import json
import sys
import traceback
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import django

django.setup()

from inventory import handling, putting_in, receiving, sawing  # noqa: E402
from inventory.models import GoodsLot, Material, Movement, Piece, Place, Supplier  # noqa: E402
from jobs import auditing, holding, making, undoing  # noqa: E402
from jobs.models import Job, Layout, Part, Plan  # noqa: E402
from shared.measure import inches  # noqa: E402
from shared.models import Person  # noqa: E402
from shared.refusal import Refused  # noqa: E402
from tests import factories  # noqa: E402
from tests.jobs.layouts_of_jobs import accepted_layout  # noqa: E402

GIVE_UP_AFTER_S = 100


def tap(by: int, key: str) -> dict[str, Any]:
    return {"by": Person.objects.get(pk=by), "key": key}


def pull(piece: int, **by: Any) -> int:
    return making.pull(piece=Piece.objects.get(pk=piece), **tap(**by)).pk


def put_back(piece: int, **by: Any) -> int:
    return handling.put_back(piece=Piece.objects.get(pk=piece), **tap(**by)).pk


def move(piece: int, place: int, **by: Any) -> int:
    to = Place.objects.get(pk=place)
    return handling.move(piece=Piece.objects.get(pk=piece), place=to, **tap(**by)).pk


def lose(piece: int, **by: Any) -> int:
    return handling.lose(piece=Piece.objects.get(pk=piece), **tap(**by)).pk


def find(piece: int, **by: Any) -> int:
    return handling.find(piece=Piece.objects.get(pk=piece), **tap(**by)).pk


def cut(piece: int, **by: Any) -> list[int]:
    left = [sawing.LeftOver(inches(20), inches(20))]
    taken = [(1, inches(9), inches(9))]
    done = making.cut_free(piece=Piece.objects.get(pk=piece), taken=taken, left=left, **tap(**by))
    return [done.movement.pk, *(offcut.pk for offcut in done.offcuts)]


def hold(piece: int, job: int, **by: Any) -> str:
    held = holding.hold(piece=Piece.objects.get(pk=piece), job=Job.objects.get(pk=job), **tap(**by))
    return held.job.number if held else ""


def release(piece: int, **by: Any) -> None:
    holding.release(piece=Piece.objects.get(pk=piece), **tap(**by))


def undo(movement: int, **by: Any) -> int:
    return undoing.undo(movement=Movement.objects.get(pk=movement), **tap(**by)).pk


def undo_last(piece: int, **by: Any) -> int:
    last = Movement.objects.filter(piece=piece).exclude(verb__in=["undo", "hold", "release"]).first()
    assert last
    return undo(movement=last.pk, **by)


def receive(supplier: int, material: int, number: str, **by: Any) -> int:
    line = receiving.SheetLine(Material.objects.get(pk=material), 2, inches(96), inches(48), Decimal("92.00"))
    return receiving.receive(
        supplier=Supplier.objects.get(pk=supplier),
        number=number,
        date=date(2026, 11, 2),
        lines=[line],
        **tap(**by),
    ).pk


def put_in(material: int, **by: Any) -> int:
    return putting_in.put_in(
        material=Material.objects.get(pk=material),
        kind="offcut",
        length=inches(30),
        width=inches(12),
        value=Decimal("4.00"),
        **tap(**by),
    ).pk


def issue(material: int, job: int, quantity: int, **by: Any) -> None:
    making.issue_goods(
        job=Job.objects.get(pk=job),
        material=Material.objects.get(pk=material),
        quantity=Decimal(quantity),
        **tap(**by),
    )


def give_back(material: int, job: int, quantity: int, **by: Any) -> None:
    making.put_goods_back(
        job=Job.objects.get(pk=job),
        material=Material.objects.get(pk=material),
        quantity=Decimal(quantity),
        **tap(**by),
    )


def cut_layout(layout: int, **by: Any) -> int:
    return making.cut_layout(layout=Layout.objects.get(pk=layout), left=[], **tap(**by)).movement.pk


def spoil(part: int, **by: Any) -> int:
    return making.spoil(part=Part.objects.get(pk=part), count=1, **tap(**by)).pk


def accept(plan: int, by: int) -> int:
    return holding.accept(plan=Plan.objects.get(pk=plan), by=Person.objects.get(pk=by)).pk


def open_shop() -> dict[str, Any]:
    """Two people, two jobs, three sheets, ten hinges, and a layout of a fourth sheet."""
    by, other = factories.make_person(), factories.make_person("bench")
    ply, hinges = factories.make_material(), factories.make_material(kind="goods")
    putting_in.put_in_goods(material=hinges, quantity=Decimal(10), value=Decimal("9.99"), by=by)
    jobs = [factories.make_job(), factories.make_job()]
    part = factories.make_part(jobs[0], ply, length="30", width="10", quantity=2)
    *sheets, to_cut = factories.make_sheets(4, by=by, material=ply)
    return {
        "people": [by.pk, other.pk],
        "jobs": [job.pk for job in jobs],
        "numbers": [job.number for job in jobs],
        "sheets": [sheet.pk for sheet in sheets],
        "places": [factories.make_place().pk, factories.make_place().pk],
        "part": part.pk,
        "layout": accepted_layout(to_cut, part, by).pk,
        "hinges": hinges.pk,
        "ply": ply.pk,
        "yard": factories.make_supplier().pk,
    }


def plans_for(piece: int, by: int, jobs: int) -> list[int]:
    """Ready plans that cut the same piece: one each of two new jobs, or two of one."""
    sheet = Piece.objects.get(pk=piece)
    of = [factories.make_job() for _ in range(jobs)]
    problem = {"unit": "in", "kerf": "1/8", "stock": [], "parts": []}
    plans = [
        Plan.objects.create(job=of[n % jobs], state="ready", asked_by_id=by, problem=problem)
        for n in range(2)
    ]
    for plan in plans:
        Layout.objects.create(
            plan=plan,
            position=1,
            piece=sheet,
            stock_id=sheet.code,
            material=sheet.material,
            length=sheet.length,
            width=sheet.width,
            tree={"waste": True},
        )
    return [plan.pk for plan in plans]


def look(goods: int) -> dict[str, Any]:
    """What the books say now, and how much of some goods is left."""
    return {
        "faults": auditing.faults(),
        "movements": Movement.objects.count(),
        "left": str(GoodsLot.objects.get(material=goods).left),
    }


DEEDS: dict[str, Callable[..., Any]] = {
    deed.__name__: deed
    for deed in (
        pull,
        put_back,
        move,
        lose,
        find,
        cut,
        hold,
        release,
        undo,
        undo_last,
        receive,
        put_in,
        issue,
        give_back,
        cut_layout,
        spoil,
        accept,
        open_shop,
        plans_for,
        look,
    )
}


def answer(do: str, **asked: Any) -> dict[str, Any]:
    try:
        return {"done": DEEDS[do](**asked)}
    except Refused as refusal:
        return {"refused": str(refusal)}
    except Exception:
        return {"error": traceback.format_exc()}


def main() -> None:
    faulthandler.dump_traceback_later(GIVE_UP_AFTER_S, exit=True)
    sys.stdout.write("here\n")
    sys.stdout.flush()
    for line in iter(sys.stdin.readline, ""):
        asked = json.loads(line)
        sys.stdin.readline()
        sys.stdout.write(json.dumps(answer(**asked)) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
