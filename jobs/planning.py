"""A plan for a job: its problem built from the database, worked out in the background, kept."""

import time
from collections import Counter, defaultdict
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone
from django_tasks import task

from inventory.models import Offer, Piece
from jobs import facing, gluing_up, matching_sets
from jobs.cutting.problem import ProblemError
from jobs.expecting import given_back
from jobs.layouts import leaves
from jobs.models import Job, Layout, LayoutPart, Part, Plan
from jobs.rack_list import Rack, defects_of, rack_for, trim_of
from jobs.rounds import Rounds, renamed
from jobs.sawlist import moved_in, saw_list
from jobs.trees import leaves_of, part_of
from shared.models import Person, Shop
from shared.refusal import Refused
from shared.shop import the_shop

PROGRESS_EVERY_S = 0.5
CENT = Decimal("0.01")
#: A plan still "being worked out" this long after its time limit was left half done by a stopped worker.
GIVEN_UP_AFTER_S = 120


def parts_to_cut(job: Job) -> list[Part]:
    """What of the parts list a plan has to give."""
    return list(job.parts.listed().to_cut().with_materials())


def ask_for_plan(*, job: Job, by: Person) -> Plan:
    """Start working out a plan for all that is still to be cut. Refused where there is nothing to cut."""
    if not job.is_open:
        raise Refused(f"{job} is {job.get_state_display()}; open it again before planning.")
    parts = parts_to_cut(job)
    if not parts:
        wanted = "Everything on the parts list is cut." if job.parts.exists() else "Its parts list is empty."
        raise Refused(f"There is nothing to plan for {job.number}. {wanted}")
    facing.refuse_too_small(parts, the_shop())
    if faults := [one.fault for one in matching_sets.sets_of(job) if one.fault]:
        raise Refused(" ".join(faults))
    with transaction.atomic():
        job.plans.filter(state__in=[Plan.State.READY, Plan.State.FAILED]).delete()
        plan = Plan.objects.create(job=job, asked_by=by)
        transaction.on_commit(lambda: work_out_in_background.enqueue(plan.pk))
    return plan


@task()
def work_out_in_background(plan_pk: int) -> None:
    """What the background process runs."""
    if plan := Plan.objects.filter(pk=plan_pk, state=Plan.State.WORKING).first():
        work_out(plan)


def work_out(plan: Plan) -> None:
    """Build the problem, solve it within the shop's time limit, and keep the answer with its layouts."""
    shop, parts = the_shop(), parts_to_cut(plan.job)
    with transaction.atomic():
        facing.make_strips(parts, shop)
        todo = saw_list(plan.job)
        rack = rack_for(plan.job, todo.everything)
    started = time.monotonic()
    try:
        rounds = Rounds(todo, rack, shop, progress=_keep_progress(plan), cancelled=_asked_to_stop(plan))
        found = rounds.work_out()
    except ProblemError as error:
        _give_up(plan, str(error))
        return
    except Exception:
        # The page must not wait for ever for a plan whose worker fell over; the log has the rest.
        _give_up(plan, "The planner stopped on a fault of its own. Plan again; if it stays, tell its makers.")
        raise
    plan.seconds = round(time.monotonic() - started, 2)
    with transaction.atomic():
        plan.problem, plan.answer = renamed(found, gluing_up.keep_blanks(plan, found.blanks))
        there = list(plan.job.parts.select_for_update(of=("self",)))
        if _asked(plan.problem) - {part.pk for part in there}:
            plan.blanks.all().delete()
            _give_up(plan, "Parts were taken off the list meanwhile. Plan again.")
            return
        layouts = _keep_layouts(plan, rack, shop)
        _keep_figures(plan, layouts, there)


def _asked(problem: dict[str, Any]) -> set[int]:
    """The keys of all parts that a problem asks for; those of its blanks are among them."""
    return {part_of(row["id"]) for row in problem["parts"]}


def _give_up(plan: Plan, why: str) -> None:
    plan.state, plan.error = Plan.State.FAILED, why[:300]
    plan.save(update_fields=["state", "error"])


def _keep_progress(plan: Plan) -> Any:
    last = [0.0]

    def keep(progress: Any) -> None:
        now = time.monotonic()
        if now - last[0] < PROGRESS_EVERY_S:
            return
        last[0] = now
        seen = {key: str(getattr(progress, key, "")) for key in ("bought", "bound", "seconds", "placed")}
        Plan.objects.filter(pk=plan.pk).update(progress=seen)

    return keep


def _asked_to_stop(plan: Plan) -> Any:
    last, answer = [0.0], [False]

    def asked() -> bool:
        now = time.monotonic()
        if now - last[0] > PROGRESS_EVERY_S:
            last[0] = now
            answer[0] = not Plan.objects.filter(pk=plan.pk, is_cancelled=False).exists()
        return answer[0]

    return asked


def given_by(tree: dict[str, Any], problem: dict[str, Any]) -> Counter[int]:
    """How many of each part, by its key, a layout gives; the parts of its blanks among them."""
    blanks = {blank["id"]: leaves_of(blank["tree"]) for blank in problem.get("blanks", ())}
    counts: Counter[int] = Counter()
    for leaf in leaves(tree):
        names = [leaf["part"]] if "part" in leaf else blanks.get(leaf.get("blank", ""), [])
        counts.update(part_of(name) for name in names)
    return counts


def _keep_layouts(plan: Plan, rack: Rack, shop: Shop) -> list[Layout]:
    """A row for each piece to cut; a layout that the plan uses several times is as many rows."""
    left = {code: list(group) for code, group in rack.pieces.items()}
    layouts: list[Layout] = []
    counts: list[Counter[int]] = []
    for row in plan.answer["layouts"]:
        for _ in range(row.get("count", 1)):
            layout = _layout_row(plan, row, left, rack, shop)
            layout.position = len(layouts) + 1
            layouts.append(layout)
            counts.append(given_by(row["tree"], plan.problem))
    Layout.objects.bulk_create(layouts)
    LayoutPart.objects.bulk_create(
        LayoutPart(layout=layout, part_id=pk, count=count)
        for layout, given in zip(layouts, counts, strict=True)
        for pk, count in given.items()
    )
    return layouts


def _layout_row(
    plan: Plan, row: dict[str, Any], left: dict[str, list[Piece]], rack: Rack, shop: Shop
) -> Layout:
    common = {"plan": plan, "stock_id": row["stock"], "tree": row["tree"]}
    if row["stock"] in left:
        piece = left[row["stock"]].pop(0)  # oldest first
        return Layout(
            piece=piece,
            material_id=piece.material_id,
            length=piece.length,
            width=piece.width,
            trim=trim_of(piece, shop),
            price=piece.value,
            **common,
        )
    offer = rack.offers[row["stock"]]
    return Layout(
        offer=offer,
        material_id=offer.material_id,
        length=offer.sheet_length,
        width=offer.sheet_width,
        trim=shop.trim,
        price=offer.price,
        **common,
    )


def _keep_figures(plan: Plan, layouts: list[Layout], parts: list[Part]) -> None:
    figures = plan.answer.get("figures", {})
    plan.bought, plan.rack_used = (
        Decimal(str(figures.get(key, 0))).quantize(CENT) for key in ("bought", "rack_used")
    )
    plan.kept = given_back(plan, layouts)  # offcut by offcut, as they will be booked
    bound = figures.get("bought_bound")
    plan.bound = None if bound is None else Decimal(str(bound)).quantize(CENT)
    plan.is_proven = plan.answer.get("status") == "optimal"
    plan.saved = saved_by_offcuts(plan, layouts, {part.pk: part for part in parts})
    plan.state = Plan.State.READY
    plan.save()


def saved_by_offcuts(plan: Plan, layouts: Iterable[Layout], parts: dict[int, Part]) -> Decimal:
    """What the parts cut from offcuts would have cost as their area of the cheapest sheet on offer."""
    area: dict[int, int] = defaultdict(int)
    for layout in layouts:
        if layout.piece and layout.piece.kind == Piece.Kind.OFFCUT:
            for pk, count in given_by(layout.tree, plan.problem).items():
                area[layout.material_id] += count * parts[pk].length * parts[pk].width
    prices = cheapest_by_area(area)
    return sum(
        ((prices.get(pk, Decimal(0)) * size).quantize(CENT) for pk, size in area.items()), Decimal("0.00")
    )


def cheapest_by_area(material_pks: Iterable[int]) -> dict[int, Decimal]:
    """The cheapest price of a square tick of each material on offer; left out where none is known."""
    offers = Offer.objects.current().filter(material_id__in=list(material_pks), per=Offer.Per.SHEET)
    prices: dict[int, Decimal] = {}
    for offer in offers:
        price = offer.price / (offer.sheet_length * offer.sheet_width)
        prices[offer.material_id] = min(price, prices.get(offer.material_id, price))
    return prices


def is_left_half_done(plan: Plan) -> bool:
    """Whether its worker stopped before it was done."""
    if plan.state != Plan.State.WORKING:
        return False
    limit = the_shop().planning_seconds + GIVEN_UP_AFTER_S
    return (timezone.now() - plan.asked_at).total_seconds() > limit


def _by_id(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(rows, key=lambda row: row["id"])


def why_out_of_date(plan: Plan) -> list[str]:
    """What has changed since the plan was made, in sentences; empty where it still holds."""
    reasons = []
    shop, todo = the_shop(), saw_list(plan.job, plan)
    todo.moved = moved_in(plan.problem)
    is_same = _by_id(todo.problem_parts(shop)) == _by_id(plan.problem.get("parts", ())) and not todo.solid
    is_same = is_same and todo.problem_blanks() == plan.problem.get("blanks", [])
    if not is_same or gluing_up.has_changed(plan, shop):
        reasons.append("The parts list has changed since.")
    wanted = [layout for layout in plan.layouts.all() if layout.piece_id]
    there = Piece.objects.free_for(plan.job_id).prefetch_related("flaws")
    free = {piece.pk: piece for piece in there.filter(pk__in=[layout.piece_id for layout in wanted])}
    stock = {row["id"]: row for row in plan.problem.get("stock", ())}
    for layout in wanted:
        piece = free.get(layout.piece_id or 0)
        if piece is None:
            reasons.append(f"{layout.piece} is not there for this job any more.")
        elif (piece.length, piece.width) != (layout.length, layout.width):
            reasons.append(f"{piece} has another size now.")
        elif defects_of(piece, shop) != stock.get(layout.stock_id, {}).get("defects", []):
            reasons.append(f"{piece} has other flaws now.")
    return reasons
