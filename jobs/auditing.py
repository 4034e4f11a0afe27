"""The ledger's rules, checked on a live shop. Each check returns sentences for what breaks it."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from inventory.books import closed_periods_say_the_same
from inventory.ledger import is_sealed
from inventory.models import Account, GoodsLot, Movement, Piece, Receipt, ReceiptLine, State, Verb
from jobs.gluing_up import given_by_all_blanks
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
    """Each piece's value is the sum of its movements, each movement starts where the one before left the piece,
    and the piece is where the last one left it."""
    wrong = Piece.objects.annotate(n=Sum("movements__value", default=NOTHING)).exclude(n=F("value"))
    sentences = [
        f"{piece} carries {piece.value}, its movements say {piece.n}." for piece in wrong[:MOST_NAMED]
    ]
    last, broken = _last_states()
    for pk, code, state, place in Piece.objects.values_list("pk", "code", "state", "place").iterator():
        if pk in broken:
            sentences.append(f"{code}: a movement does not start where the one before left it.")
        if last.get(pk) != (state, place):
            sentences.append(f"{code} is not where its last movement put it.")
    return sentences[:MOST_NAMED]


def _last_states() -> tuple[dict[int, tuple[str, int | None]], set[int]]:
    """State and place each piece was left in, by its key, and the pieces whose story has a gap."""
    last: dict[int, tuple[str, int | None]] = {}
    broken = set()
    columns = ("piece", "from_state", "from_place", "to_state", "to_place")
    rows = Movement.objects.filter(piece__isnull=False).order_by("id").values_list(*columns)
    for piece, from_state, from_place, to_state, to_place in rows.iterator():
        if last.get(piece, (State.VOID, None)) != (from_state, from_place):
            broken.add(piece)
        last[piece] = to_state, to_place
    return last, broken


def lots_are_what_their_movements_say() -> list[str]:
    """What is left of a lot, and what that is worth, are the sums of its movements."""
    wrong = (
        GoodsLot.objects.select_related("material")
        .annotate(
            n=Sum("movements__value", default=NOTHING), q=Sum("movements__quantity", default=Decimal(0))
        )
        .exclude(n=F("value"), q=F("left"))
    )
    return [f"Lot {lot.pk} of {lot.material} differs from its movements." for lot in wrong[:MOST_NAMED]]


def undoings_are_the_same_backwards() -> list[str]:
    """An undoing takes back as much, of the same thing, on the same account."""
    wrong = Movement.objects.filter(verb=Verb.UNDO).exclude(
        Q(piece=F("undoes__piece")) | Q(lot=F("undoes__lot")),
        value=-1 * F("undoes__value"),
        quantity=-1 * F("undoes__quantity"),
        account=F("undoes__account"),
    )
    return [f"Movement {row.pk} does not take back what {row.undoes_id} did." for row in wrong[:MOST_NAMED]]


def receipts_add_up() -> list[str]:
    """A receipt's lines cost what it came to, and what came in by each line carries what the line cost."""
    wrong = (
        Receipt.objects.select_related("supplier")
        .annotate(n=Sum("lines__cost", default=NOTHING))
        .exclude(n=F("total"))
    )
    sentences = [f"{one} came to {one.total}, its lines cost {one.n}." for one in wrong[:MOST_NAMED]]
    received = Movement.objects.filter(verb=Verb.RECEIVE).order_by()
    line = Coalesce(F("piece__receipt_line"), F("lot__receipt_line"))
    came_in = dict(received.values_list(line).annotate(n=Sum("value")))
    for pk, cost in ReceiptLine.objects.values_list("pk", "cost").iterator():
        if (came := came_in.get(pk, NOTHING)) != cost:
            sentences.append(f"Line {pk} of a receipt cost {cost}, but what came in carries {came}.")
    return sentences[:MOST_NAMED]


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
    too_large = (
        Piece.objects.filter(parent__isnull=False)
        .select_related("parent")
        .exclude(
            Q(length__lte=F("parent__length"), width__lte=F("parent__width"))
            | Q(length__lte=F("parent__width"), width__lte=F("parent__length"))
        )
    )
    sentences += [f"{piece} is larger than {piece.parent}." for piece in too_large[:MOST_NAMED]]
    return sentences[:MOST_NAMED]


def pieces_are_cut_once_and_held_in_the_shop() -> list[str]:
    """A piece is cut by one standing cut at most, and what is promised to a job is there."""
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
    """A movement's charges add up to what it took from the rack for a job, and stand on the job it names."""
    wrong = (
        Movement.objects.filter(Q(account=Account.JOB) | Q(charges__isnull=False))
        .annotate(n=Sum("charges__amount", default=NOTHING))
        .exclude(Q(account=Account.JOB, n=-1 * F("value")) | (~Q(account=Account.JOB) & Q(n=NOTHING)))
        .order_by("id")
    )
    sentences = [
        f"Movement {row.pk} took {-row.value} from the rack, but {row.n} is charged."
        for row in wrong[:MOST_NAMED]
    ]
    elsewhere = Charge.objects.exclude(job__number=F("movement__job_number")).select_related("job")
    sentences += [
        f"Charge {one.pk} is on {one.job.number}, its movement is another job's."
        for one in elsewhere[:MOST_NAMED]
    ]
    return sentences


def parts_are_cut_by_layouts() -> list[str]:
    """A part's count of cut ones is what standing layouts and blanks gave, less what was spoiled, never more."""
    given = given_by_all_blanks()
    given.update(
        dict(
            Layout.objects.filter(state=Layout.State.CUT, parts__isnull=False)
            .order_by()
            .values("parts__part")
            .annotate(n=Sum("parts__count"))
            .values_list("parts__part", "n")
        )
    )
    return [
        f"{part.name}: {part.cut} are marked cut, the layouts gave {given[part.pk]}."
        for part in Part.objects.filter(cut__gt=0)
        if part.cut + part.spoiled > given[part.pk]
    ][:MOST_NAMED]


def layouts_cut_stand() -> list[str]:
    """A layout is cut as long as its cut is not undone."""
    wrong = Layout.objects.filter(state=Layout.State.CUT, movement__undone_by__isnull=False)
    return [
        f"{layout.piece} is marked cut for {layout.plan.job.number}, but that was undone."
        for layout in wrong.select_related("piece", "plan__job")[:MOST_NAMED]
    ]


def the_ledger_is_sealed() -> list[str]:
    """The database itself refuses to change or delete a movement."""
    return [] if is_sealed() else ["Nothing keeps movements from being changed: their triggers are gone."]


def closed_periods_are_as_they_were_closed() -> list[str]:
    """What is closed comes to what it did when it was closed."""
    return closed_periods_say_the_same()


CHECKS: list[Callable[[], list[str]]] = [
    value_is_all_accounted_for,
    pieces_are_what_their_movements_say,
    lots_are_what_their_movements_say,
    undoings_are_the_same_backwards,
    receipts_add_up,
    cuts_lose_no_area,
    pieces_are_cut_once_and_held_in_the_shop,
    charges_are_the_movements,
    parts_are_cut_by_layouts,
    layouts_cut_stand,
    the_ledger_is_sealed,
    closed_periods_are_as_they_were_closed,
]


def faults() -> list[str]:
    """All that is wrong in the books, in sentences; empty where they are right."""
    return [sentence for check in CHECKS for sentence in check()]
