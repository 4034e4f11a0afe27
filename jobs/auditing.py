"""The ledger's rules, checked on a live shop. Each check returns sentences for what breaks it."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Sum

from inventory.models import Account, GoodsLot, Movement, Piece, State, Verb
from jobs.models import Charge, Hold, Layout, Part

NOTHING = Decimal("0.00")
MOST_NAMED = 20


def _sum(rows: QuerySet[Any], column: str) -> Decimal:
    return rows.aggregate(n=Sum(column, default=NOTHING))["n"]


def value_is_all_accounted_for() -> list[str]:
    """Received = on the rack + charged + written off + sold, to the cent."""
    received = _sum(Movement.objects.filter(account__in=[Account.SUPPLIER, Account.SHOP]), "value")
    gone = -_sum(
        Movement.objects.filter(account__in=[Account.JOB, Account.WRITTEN_OFF, Account.SOLD]), "value"
    )
    rack = _sum(Piece.objects.all(), "value") + _sum(GoodsLot.objects.all(), "value")
    if received != rack + gone:
        return [f"{received} was received, but {rack} is on the rack and {gone} went out."]
    return []


def pieces_are_what_their_movements_say() -> list[str]:
    """Each piece's value is the sum of its movements, and its state and place those of the last."""
    wrong = Piece.objects.annotate(n=Sum("movements__value", default=NOTHING)).exclude(n=F("value"))
    sentences = [
        f"{piece} carries {piece.value}, its movements say {piece.n}." for piece in wrong[:MOST_NAMED]
    ]
    last = Movement.objects.filter(piece__isnull=False).order_by("piece", "-id")
    states: dict[int, tuple[str, int | None]] = {}
    for piece_pk, state, place in last.values_list("piece", "to_state", "to_place").iterator():
        states.setdefault(piece_pk, (state, place))
    for pk, code, state, place in Piece.objects.values_list("pk", "code", "state", "place").iterator():
        if states.get(pk) != (state, place):
            sentences.append(f"{code} is not where its last movement put it.")
    return sentences[:MOST_NAMED]


def lots_are_what_their_movements_say() -> list[str]:
    """What is left of goods, and what it carries, is the sum of their movements."""
    wrong = GoodsLot.objects.annotate(
        n=Sum("movements__value", default=NOTHING), q=Sum("movements__quantity", default=Decimal(0))
    ).exclude(n=F("value"), q=F("left"))
    return [f"Lot {lot.pk} of {lot.material} differs from its movements." for lot in wrong[:MOST_NAMED]]


def cuts_lose_no_area() -> list[str]:
    """Area of a cut piece = parts + offcuts + waste; no offcut is larger than what it came from."""
    sentences = []
    cuts = Movement.objects.standing().filter(verb=Verb.CUT).select_related("piece")
    areas = dict(
        Movement.objects.filter(verb=Verb.LEAVE)
        .order_by()
        .values("part_of")
        .annotate(n=Sum(F("piece__length") * F("piece__width")))
        .values_list("part_of", "n")
    )
    for cut in cuts.iterator():
        assert cut.piece
        if cut.piece.area != cut.parts_area + cut.waste_area + areas.get(cut.pk, 0):
            sentences.append(f"{cut.piece} was cut, but parts, offcuts and waste are not its area.")
    too_large = Piece.objects.filter(parent__isnull=False).exclude(
        Q(length__lte=F("parent__length"), width__lte=F("parent__width"))
        | Q(length__lte=F("parent__width"), width__lte=F("parent__length"))
    )
    sentences += [f"{piece} is larger than {piece.parent}." for piece in too_large[:MOST_NAMED]]
    return sentences[:MOST_NAMED]


def pieces_are_cut_once_and_held_in_the_shop() -> list[str]:
    """No piece is cut twice, and what is held for a job is there."""
    twice = (
        Movement.objects.standing()
        .filter(verb=Verb.CUT)
        .order_by()
        .values("piece__code")
        .annotate(n=Count("pk"))
        .filter(n__gt=1)
    )
    sentences = [f"{row['piece__code']} was cut {row['n']} times." for row in twice[:MOST_NAMED]]
    gone = Hold.objects.exclude(piece__state__in=[State.ON_RACK, State.PULLED]).select_related("piece", "job")
    sentences += [f"{hold.piece} is held for {hold.job.number} but gone." for hold in gone[:MOST_NAMED]]
    return sentences


def charges_are_the_movements() -> list[str]:
    """Charged to jobs = what movements took from the rack for jobs, movement by movement."""
    sentences = []
    moved = -_sum(Movement.objects.filter(account=Account.JOB), "value")
    charged = _sum(Charge.objects.all(), "amount")
    if moved != charged:
        sentences.append(f"{moved} was taken for jobs, but {charged} is charged.")
    wrong = Charge.objects.exclude(amount=-1 * F("movement__value")).exclude(sort=Charge.Sort.CORRECTION)
    sentences += [f"Charge {charge.pk} is not what its movement says." for charge in wrong[:MOST_NAMED]]
    return sentences


def parts_are_cut_by_layouts() -> list[str]:
    """A part's count of cut ones is what standing layouts gave, less what was spoiled, never more."""
    given = dict(
        Layout.objects.filter(state=Layout.State.CUT)
        .order_by()
        .values("parts__part")
        .annotate(n=Sum("parts__count"))
        .values_list("parts__part", "n")
    )
    return [
        f"{part.name}: {part.cut} are marked cut, the layouts gave {given.get(part.pk, 0)}."
        for part in Part.objects.filter(cut__gt=0)
        if part.cut + part.spoiled > given.get(part.pk, 0)
    ][:MOST_NAMED]


CHECKS: list[Callable[[], list[str]]] = [
    value_is_all_accounted_for,
    pieces_are_what_their_movements_say,
    lots_are_what_their_movements_say,
    cuts_lose_no_area,
    pieces_are_cut_once_and_held_in_the_shop,
    charges_are_the_movements,
    parts_are_cut_by_layouts,
]


def faults() -> list[str]:
    """All that is wrong in the books, in sentences; empty where they are right."""
    return [sentence for check in CHECKS for sentence in check()]
