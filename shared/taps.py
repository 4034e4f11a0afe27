"""A tap's key: made when a form is shown, so that the same tap sent twice counts once."""

import uuid

from django.http import HttpRequest

LONGEST_KEY = 64


def new_key() -> str:
    """A key no other tap has."""
    return uuid.uuid4().hex


def key_of(request: HttpRequest) -> str:
    """The key the form was shown with, or none."""
    return request.POST.get("key", "")[:LONGEST_KEY]
