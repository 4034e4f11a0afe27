"""A commission comes in: its number, its client, and what becomes of it."""

from datetime import date as Date  # noqa: N812 - a type beside a column of that name

from django.db import IntegrityError, transaction
from django.utils import timezone

from jobs.models import Client, Job
from shared.refusal import Refused


def next_number() -> str:
    """The next free number of this year: 26-041."""
    year = f"{timezone.localdate().year % 100:02}-"
    taken = Job.objects.filter(number__startswith=year).values_list("number", flat=True)
    running = [int(number[len(year) :]) for number in taken if number[len(year) :].isdigit()]
    return f"{year}{max(running, default=0) + 1:03}"


@transaction.atomic
def take_on(
    *, title: str, client_name: str = "", number: str = "", due: Date | None = None, note: str = ""
) -> Job:
    """A new job. Its client is found by name, or added. Refused where the number is taken."""
    client_name = " ".join(client_name.split())
    client = Client.objects.filter(name__iexact=client_name).first() if client_name else None
    if client_name and client is None:
        client = Client.objects.create(name=client_name)
    number = number.strip() or next_number()
    try:
        with transaction.atomic():
            return Job.objects.create(number=number, title=title.strip(), client=client, due=due, note=note)
    except IntegrityError as error:
        raise Refused(f"There is a job {number} already. {next_number()} is free.") from error
