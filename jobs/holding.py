"""Accepting a plan: its pieces are held for the job, and what is missing goes on the buy list."""

from collections import defaultdict

from django.db import IntegrityError, transaction
from django.utils import timezone

from inventory import ledger
from inventory.models import Offer, Piece, State, Verb
from jobs import estimating
from jobs.models import BuyLine, Hold, Job, Layout, Plan
from jobs.planning import why_out_of_date
from jobs.yard_list import ROLL_NOTE, lumber_to_buy, rolls_to_buy
from shared.models import Person, Shop
from shared.refusal import Refused
from shared.shop import the_shop


@transaction.atomic
def hold(*, piece: Piece, job: Job, by: Person, key: str = "") -> Hold | None:
    """Promise a piece to a job. Refused where it is not in the shop or is promised to another, or the job is done.

    None where this tap was counted before and the piece has been released since.
    """
    if ledger.already(by, key):
        return Hold.objects.filter(piece=piece).first()
    if not job.is_open:
        raise Refused(f"{job} is {job.get_state_display()}, so nothing is held for it. Open it again first.")
    piece = ledger.locked(piece)
    ledger.refuse_unless(piece, [State.ON_RACK, State.PULLED], "held")
    ledger.refuse_if_held_for_another(piece, job.number)
    if existing := Hold.objects.filter(piece=piece).first():
        return existing
    try:
        with transaction.atomic():
            made = Hold.objects.create(piece=piece, job=job, by=by)
    except IntegrityError as error:
        raise Refused(f"{piece} was promised to another job just now. Plan again.") from error
    ledger.record(verb=Verb.HOLD, by=by, key=key, piece=piece, job_number=job.number)
    return made


@transaction.atomic
def release(*, piece: Piece, by: Person, key: str = "", job_number: str = "") -> None:
    """A piece is nobody's again. Nothing happens where it is so already.

    With a job's number, refused where another holds the piece by now: the tap may have waited on a phone.
    """
    if ledger.already(by, key):
        return
    piece = ledger.locked(piece)
    if job_number:
        ledger.refuse_if_held_for_another(piece, job_number)
    existing = Hold.objects.select_related("job").filter(piece=piece).first()
    if existing is None:
        return
    number = existing.job.number
    existing.delete()
    ledger.record(verb=Verb.RELEASE, by=by, key=key, piece=piece, job_number=number)


@transaction.atomic
def accept(*, plan: Plan, by: Person) -> Plan:
    """Hold a plan's pieces for its job and make the buy list; an earlier accepted plan is given up.

    Accepting twice is once. Refused where the plan's stock or parts have changed.
    """
    Job.objects.select_for_update().get(pk=plan.job_id)  # two plans of a job are accepted one after the other
    plan = Plan.objects.select_related("job").get(pk=plan.pk)
    if plan.state == Plan.State.ACCEPTED:
        return plan
    if plan.state != Plan.State.READY:
        raise Refused(f"This plan is {plan.get_state_display()}. Plan again.")
    if reasons := why_out_of_date(plan):
        raise Refused(" ".join(reasons) + " Plan again.")
    give_up_plan(job=plan.job, by=by, keep=[layout.piece_id for layout in plan.layouts.all()])
    for layout in plan.layouts.select_related("piece").exclude(piece=None).order_by("piece"):
        assert layout.piece
        hold(piece=layout.piece, job=plan.job, by=by)
    estimating.freeze_for_plan(plan.job, plan)
    make_buy_list(plan, the_shop())
    plan.state, plan.accepted_at = Plan.State.ACCEPTED, timezone.now()
    plan.save(update_fields=["state", "accepted_at"])
    job = plan.job
    if job.state in (Job.State.ASKED, Job.State.QUOTED):
        job.state = Job.State.MAKING
    job.save(update_fields=["state"])
    return plan


@transaction.atomic
def give_up_plan(*, job: Job, by: Person, keep: list[int | None] | None = None) -> None:
    """Let the job's accepted plan go: its pieces not yet cut are nobody's again, except those in `keep`."""
    for hold_ in job.holds.exclude(piece__in=[pk for pk in keep or [] if pk]).select_related("piece"):
        release(piece=hold_.piece, by=by)
    for plan in job.plans.accepted():
        plan.layouts.filter(state=Layout.State.TO_CUT).update(state=Layout.State.DROPPED)
        plan.state = Plan.State.OUT_OF_DATE
        plan.save(update_fields=["state"])
    # What is bought and not yet received is asked for anew by the next plan.
    job.buy_lines.open().exclude(material__kind="goods").update(state=BuyLine.State.DROPPED)


def make_buy_list(plan: Plan, shop: Shop) -> list[BuyLine]:
    """A line for each size of sheet the plan buys, for the lumber no board on the rack gives, and for rolls of
    edging."""
    plan.job.buy_lines.open().filter(note=ROLL_NOTE).update(state=BuyLine.State.DROPPED)  # asked for anew
    others = [*lumber_to_buy(plan, shop), *rolls_to_buy(plan, shop)]
    for line in others:
        line.save()
    return [*_sheet_lines(plan), *others]


def _sheet_lines(plan: Plan) -> list[BuyLine]:
    by_offer: dict[int, list[Layout]] = defaultdict(list)
    for layout in plan.layouts.filter(piece=None, offer__isnull=False):
        assert layout.offer_id
        by_offer[layout.offer_id].append(layout)
    lines = []
    for offer in Offer.objects.filter(pk__in=by_offer).select_related("material"):
        layouts = by_offer[offer.pk]
        line = BuyLine.objects.create(
            job=plan.job,
            material=offer.material,
            offer=offer,
            length=offer.length,
            width=offer.width,
            quantity=len(layouts),
            unit="sheet",
            price=layouts[0].price,
        )
        Layout.objects.filter(pk__in=[layout.pk for layout in layouts]).update(buy_line=line)
        lines.append(line)
    return lines


@transaction.atomic
def finish(*, job: Job, by: Person) -> Job:
    """The piece is out of the door: what is still held is nobody's again."""
    if job.state == Job.State.DONE:
        return job
    give_up_plan(job=job, by=by)
    job.state = Job.State.DONE
    job.save(update_fields=["state"])
    return job
