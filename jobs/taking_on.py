"""A commission comes in: its number, its client, and what becomes of it."""

from datetime import date as Date  # noqa: N812 - a type beside a column of that name

from django.db import IntegrityError, transaction
from django.utils import timezone

from inventory.models import Movement
from jobs.holding import give_up_plan
from jobs.models import Client, Job
from shared.chosen import number_in
from shared.models import Person
from shared.refusal import Refused


def next_number() -> str:
    """The next free number of this year: 26-041."""
    year = f"{timezone.localdate().year % 100:02}-"
    taken = Job.objects.filter(number__startswith=year).values_list("number", flat=True)
    running = [number_in(number[len(year) :]) or 0 for number in taken]
    return f"{year}{max(running, default=0) + 1:03}"


@transaction.atomic
def take_on(
    *, title: str, client_name: str = "", number: str = "", due: Date | None = None, note: str = ""
) -> Job:
    """A new job. Its client is found by name, or added. Refused where the number is taken."""
    client = _client(client_name)
    number = number.strip() or next_number()
    try:
        with transaction.atomic():
            return Job.objects.create(number=number, title=title.strip(), client=client, due=due, note=note)
    except IntegrityError as error:
        raise Refused(f"There is a job {number} already. {next_number()} is free.") from error


@transaction.atomic
def change(
    *,
    job: Job,
    by: Person,
    title: str,
    client_name: str,
    number: str,
    due: Date | None,
    note: str,
    state: str,
) -> Job:
    """Change a job's own data. A job that is done or dropped lets go of all it holds.

    Refused where the number is taken, and where a number that movements name would change.
    """
    number = number or job.number
    if number != job.number and Movement.objects.filter(job_number=job.number).exists():
        raise Refused(f"Movements name {job.number}, so the number stays.")
    if number != job.number and Job.objects.filter(number=number).exists():
        raise Refused(f"There is a job {number} already. {next_number()} is free.")
    if state in (Job.State.DONE, Job.State.DROPPED) and job.is_open:
        give_up_plan(job=job, by=by)
    job.title, job.number, job.due, job.note, job.state = title.strip(), number, due, note, state
    job.client = _client(client_name)
    job.save(update_fields=["title", "number", "due", "note", "state", "client"])
    return job


def _client(name: str) -> Client | None:
    """The client of this name, added where it is new."""
    name = " ".join(name.split())
    if not name:
        return None
    return Client.objects.filter(name__iexact=name).first() or Client.objects.create(name=name)
