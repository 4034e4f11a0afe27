"""One function for each thing a page opens: who may see it is decided here, once."""

from django.http import Http404
from django.shortcuts import get_object_or_404

from inventory.models import Piece
from jobs import scanning
from jobs.models import Job
from shared import codes
from shared.models import Person


def get_piece_for(person: Person, code: str) -> Piece:
    """A piece by its code, however it is typed, as `scanning.pieces` gives it. Everyone who is signed in may
    see every piece."""
    try:
        normal = codes.normalise(code)
    except codes.NotACode as error:
        raise Http404(str(error)) from error
    return get_object_or_404(scanning.pieces(), code=normal)


def get_job_for(person: Person, number: str) -> Job:
    """A job by its number. Everyone who is signed in may see every job; prices are left out for the bench."""
    return get_object_or_404(Job.objects.with_progress(), number=number)
