"""What tests of bad input say: a page that refuses, and a plan to refuse things about."""

from jobs import holding, planning
from jobs.models import Plan
from tests.pages import words_of

WOULD_DO = "Write 23 1/2, 23.5 or 597 mm."
FAR_TOO_LONG = "9" * 5_000


def refused(page, status: int, sentence: str) -> None:
    """The page says no, and says why."""
    assert page.status_code == status
    assert sentence in words_of(page)


def accepted_plan(job, by) -> Plan:
    """A plan of all that is on the job's list, its pieces held."""
    plan = Plan.objects.create(job=job, asked_by=by)
    planning.work_out(plan)
    return holding.accept(plan=Plan.objects.get(pk=plan.pk), by=by)
