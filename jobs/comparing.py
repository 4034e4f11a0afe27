"""From some past jobs to the next: what their material cost by the area of their parts."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from django.db.models import F, QuerySet, Sum

from jobs.models import Charge, Job, Part

NOTHING = Decimal("0.00")
CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Past:
    """A job that was made: what it cost and how much of parts that bought, in square ticks."""

    job: Job
    cost: Decimal
    area: int
    parts: int
    materials: tuple[tuple[str, Decimal], ...]

    def scaled_to(self, area: int) -> Decimal | None:
        """What it would have cost at another area; None where its parts are not known."""
        return (self.cost * area / self.area).quantize(CENT) if self.area else None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Past jobs, and what the next one of an area should cost: least, middle and most of them, scaled."""

    past: list[Past]
    area: int

    @property
    def scaled(self) -> list[Decimal]:
        costs = [one.scaled_to(self.area) for one in self.past]
        return sorted(cost for cost in costs if cost is not None)

    @property
    def least(self) -> Decimal | None:
        return self.scaled[0] if self.scaled else None

    @property
    def most(self) -> Decimal | None:
        return self.scaled[-1] if self.scaled else None

    @property
    def middle(self) -> Decimal | None:
        return median(self.scaled).quantize(CENT) if self.scaled else None

    @property
    def rows(self) -> list[tuple[Past, Decimal | None]]:
        """Each past job with its cost at the next one's area."""
        return [(one, one.scaled_to(self.area)) for one in self.past]


def past_jobs() -> QuerySet[Job]:
    """Jobs that are done, the latest first, with what they were charged and how many parts they have on each."""
    return Job.objects.filter(state=Job.State.DONE).with_progress()


def compare(jobs: Sequence[Job], area: int | None) -> Comparison:
    """Past jobs beside each other, in three queries. Without an area for the next one, it is as large as they
    are on average."""
    sizes = areas(jobs)
    costs: dict[int, Decimal] = defaultdict(lambda: NOTHING)
    materials: dict[int, dict[str, Decimal]] = defaultdict(lambda: defaultdict(lambda: NOTHING))
    for job, name, amount in _charges(jobs):
        costs[job] += amount
        materials[job][name] += amount
    past = [
        Past(
            job,
            costs[job.pk],
            sizes.get(job.pk, (0, 0))[0],
            sizes.get(job.pk, (0, 0))[1],
            tuple(sorted(materials[job.pk].items(), key=lambda row: -row[1])),
        )
        for job in jobs
    ]
    known = [one.area for one in past if one.area]
    return Comparison(past, area or (sum(known) // len(known) if known else 0))


def areas(jobs: Sequence[Job]) -> dict[int, tuple[int, int]]:
    """(square ticks, how many) of all parts on each job's list."""
    rows = (
        Part.objects.listed()
        .filter(job__in=jobs)
        .order_by()
        .values("job")
        .annotate(area=Sum(F("quantity") * F("length") * F("width")), parts=Sum("quantity"))
    )
    return {row["job"]: (row["area"], row["parts"]) for row in rows}


def _charges(jobs: Sequence[Job]) -> list[tuple[int, str, Decimal]]:
    """(job, material, amount) of what they were charged."""
    names = ("movement__piece__material__name", "movement__lot__material__name")
    rows = Charge.objects.filter(job__in=jobs).order_by().values("job", *names).annotate(n=Sum("amount"))
    return [(row["job"], row[names[0]] or row[names[1]], row["n"]) for row in rows]
