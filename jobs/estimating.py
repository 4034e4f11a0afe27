"""What a job is reckoned to cost, frozen with every assumption when it is quoted.

Rack pieces at what they carry, purchases at the price on offer, lumber with the shop's waste on net, goods at what
the shelf would give and beyond that at the cheapest offer, less what offcuts should give back. Before a quote the
estimate follows the accepted plan; after it, or once something was charged under it, it stays.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from inventory import goods
from inventory.models import GoodsLot, Material, Movement, Offer
from jobs import expecting
from jobs.models import BuyLine, EstimateLine, GoodsWanted, Job, Layout, Plan
from jobs.yard_list import ROLL_NOTE, lumber_to_buy, rolls_to_buy
from shared.models import Shop
from shared.money import cost_of
from shared.refusal import Refused
from shared.shop import the_shop

NOTHING = Decimal("0.00")
Sort = EstimateLine.Sort


def lines_for(job: Job, plan: Plan | None, shop: Shop) -> list[EstimateLine]:
    """The estimate as it is today, not saved. Without a plan: what was charged, and the goods wanted."""
    lines = [*_charged(job)]
    if plan:
        lines += [*_from_layouts(job, plan, shop), *_beside_sheets(job, plan, shop)]
    return [*lines, *_goods(job, shop)]


def total_of(lines: Iterable[EstimateLine]) -> Decimal:
    """What lines add up to."""
    return sum((line.amount for line in lines), NOTHING)


def current_plan(job: Job) -> Plan | None:
    """The plan an estimate stands on: the accepted one, else the one that is ready."""
    for state in (Plan.State.ACCEPTED, Plan.State.READY):
        if plan := job.plans.filter(state=state).first():
            return plan
    return None


@transaction.atomic
def freeze(job: Job, plan: Plan | None) -> Decimal:
    """Keep today's estimate with its lines in place of any before; returns what it comes to."""
    lines = lines_for(job, plan, the_shop())
    job.estimate_lines.all().delete()
    EstimateLine.objects.bulk_create(lines)
    job.estimate, job.estimated_at = total_of(lines), timezone.now()
    job.save(update_fields=["estimate", "estimated_at"])
    return job.estimate


def freeze_for_plan(job: Job, plan: Plan) -> None:
    """When a plan is accepted: anew, unless the job is quoted or was charged something under the estimate."""
    is_begun = job.estimated_at and job.charges.filter(at__gte=job.estimated_at).exists()
    if not (job.quoted_at or is_begun):
        freeze(job, plan)


def freeze_anew(job: Job) -> Decimal:
    """The owner takes today's estimate in place of the one before. Refused where there is nothing to reckon
    with."""
    plan = current_plan(job)
    if plan is None and not job.goods_wanted.exists():
        raise Refused(f"There is nothing to quote for {job.number} yet. Plan it, or list its goods, first.")
    return freeze(job, plan)


@transaction.atomic
def quote(job: Job) -> Decimal:
    """The job is quoted: today's estimate is frozen. Refused where there is nothing to reckon with."""
    job = Job.objects.select_for_update().get(pk=job.pk)
    amount = freeze_anew(job)
    job.quoted_at = timezone.now()
    if job.state == Job.State.ASKED:
        job.state = Job.State.QUOTED
    job.save(update_fields=["quoted_at", "state"])
    return amount


def _charged(job: Job) -> Iterator[EstimateLine]:
    sums: dict[int, Decimal] = defaultdict(lambda: NOTHING)
    for charge in job.charges.select_related("movement__piece", "movement__lot"):
        thing = charge.movement.piece or charge.movement.lot
        assert thing
        sums[thing.material_id] += charge.amount
    for material, amount in sums.items():
        if amount:
            yield EstimateLine(
                job=job,
                sort=Sort.CHARGED,
                material_id=material,
                unit="charged before",
                price=max(amount, NOTHING),
                amount=amount,
            )


def _from_layouts(job: Job, plan: Plan, shop: Shop) -> Iterator[EstimateLine]:
    """Pieces of the rack, sheets to buy, and what both should give back."""
    layouts = list(plan.layouts.filter(state=Layout.State.TO_CUT).select_related("piece", "offer__supplier"))
    to_buy: dict[tuple[int, Decimal, str], int] = defaultdict(int)
    for layout in layouts:
        if layout.piece:
            yield EstimateLine(
                job=job,
                sort=Sort.RACK,
                material_id=layout.material_id,
                piece=layout.piece,
                unit=layout.piece.get_kind_display(),
                price=layout.price,
                amount=layout.price,
                note=layout.piece.code,
            )
        else:
            seller = layout.offer.supplier.name if layout.offer else ""
            to_buy[layout.material_id, layout.price, seller] += 1
    for (material, price, seller), count in to_buy.items():
        yield EstimateLine(
            job=job,
            sort=Sort.BUY,
            material_id=material,
            quantity=Decimal(count),
            unit="sheet",
            price=price,
            amount=price * count,
            note=f"as {seller} asks" if seller else "",
        )
    for material in dict.fromkeys(layout.material_id for layout in layouts):
        back = expecting.given_back(plan, [one for one in layouts if one.material_id == material])
        if back:
            yield EstimateLine(
                job=job,
                sort=Sort.BACK,
                material_id=material,
                unit="offcuts",
                amount=-back,
                note=f"their area’s share at a keep rate of {shop.keep_rate:.0%}",
            )


def _beside_sheets(job: Job, plan: Plan, shop: Shop) -> Iterator[EstimateLine]:
    for line in (*lumber_to_buy(plan, shop), *rolls_to_buy(plan, shop)):
        yield EstimateLine(
            job=job,
            sort=Sort.LUMBER if line.unit == "board foot" else Sort.BUY,
            material=line.material,
            quantity=line.quantity,
            unit=line.unit,
            price=line.price,
            amount=cost_of(line.quantity, line.price),
            note=line.note,
        )


def _goods(job: Job, shop: Shop) -> Iterator[EstimateLine]:
    wanted = job.goods_wanted.select_related("material")
    for material, quantity, amount, note in _goods_costs(wanted, issued(job), {}, shop):
        yield EstimateLine(
            job=job,
            sort=Sort.GOODS,
            material=material,
            quantity=quantity,
            unit=material.unit,
            price=(amount / quantity).quantize(NOTHING),
            amount=amount,
            note=note,
        )
    yield from _goods_on_the_buy_list(job)


def _goods_on_the_buy_list(job: Job) -> Iterator[EstimateLine]:
    """What is to be bought for the job and stands on no list of it. Rolls of edging are the plan's."""
    on_list = job.goods_wanted.values("material")
    lines = job.buy_lines.open().filter(material__kind=Material.Kind.GOODS).exclude(note=ROLL_NOTE)
    for line in lines.exclude(material__in=on_list).select_related("material"):
        if line.still_to_come:
            yield EstimateLine(
                job=job,
                sort=Sort.GOODS,
                material=line.material,
                quantity=line.still_to_come,
                unit=line.unit,
                price=line.price,
                amount=cost_of(line.still_to_come, line.price),
                note="on the buy list",
            )


def goods_to_come(
    job: Job,
    outstanding: Iterable[BuyLine],
    wanted: Iterable[GoodsWanted],
    had: Mapping[int, Decimal],
    shop: Shop,
) -> dict[Material, Decimal]:
    """What goods on an open job's list will still cost; those on the buy list count there."""
    if not job.is_open:
        return {}
    on_list: dict[int, Decimal] = defaultdict(Decimal)
    for line in outstanding:
        on_list[line.material_id] += line.still_to_come
    return {material: amount for material, _, amount, _ in _goods_costs(wanted, had, on_list, shop)}


def _goods_costs(
    list_of_it: Iterable[GoodsWanted],
    had: Mapping[int, Decimal],
    on_list: Mapping[int, Decimal],
    shop: Shop,
) -> Iterator[tuple[Material, Decimal, Decimal, str]]:
    """(goods, how many a job still needs, what they will cost, how so), in two queries at most."""
    missing = {
        wanted.material: wanted.quantity - had.get(wanted.material_id, 0) - on_list.get(wanted.material_id, 0)
        for wanted in list_of_it
    }
    missing = {material: more for material, more in missing.items() if more > 0}
    lots: dict[int, list[GoodsLot]] = defaultdict(list)
    for lot in GoodsLot.objects.filter(material__in=missing).with_some_left() if missing else ():
        lots[lot.material_id].append(lot)
    prices: dict[int, Decimal] = {}
    for offer in Offer.objects.current().filter(material__in=missing) if missing else ():
        prices[offer.material_id] = min(offer.unit_price, prices.get(offer.material_id, offer.unit_price))
    for material, more in missing.items():
        there, worth = goods.worth_of(lots[material.pk], more, shop)
        price = prices.get(material.pk)
        yield material, more, worth + cost_of(more - there, price or NOTHING), _how(more, there, price)


def _how(wanted: Decimal, there: Decimal, price: Decimal | None) -> str:
    if there == wanted:
        return "from the shelf"
    bought = "to buy" if price is not None else "to buy, no price known"
    return f"{there.normalize():f} from the shelf, the rest {bought}" if there else bought


def issued(job: Job) -> dict[int, Decimal]:
    """How many of each goods the job has, net of what it gave back, by material."""
    rows = Movement.objects.filter(lot__isnull=False, job_number=job.number).order_by()
    sums = rows.values("lot__material").annotate(n=Sum("quantity"))
    return {row["lot__material"]: -row["n"] for row in sums}
