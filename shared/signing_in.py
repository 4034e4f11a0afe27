"""Signing in: by name and password, and by a link that works once."""

import hashlib
import secrets
from datetime import timedelta

from django.contrib.auth import authenticate
from django.db import transaction
from django.http import HttpRequest
from django.utils import timezone

from shared.models import Person, SignInLink, WrongSignIn
from shared.refusal import Refused

MOST_WRONG_TRIES = 10
WRONG_TRIES_COUNT_FOR = timedelta(minutes=10)
A_LINK_LASTS = timedelta(hours=24)


def person_with_password(request: HttpRequest, *, username: str, password: str, address: str) -> Person:
    """Who has this sign-in name and password.

    Refused in the same words whichever of the two is wrong and whether or not there is such a person. After
    ten wrong tries in ten minutes for one name from one address, even the right password is refused.
    """
    name = username.strip().lower()[:150]
    tries = WrongSignIn.objects.filter(username=name, address=address)
    if tries.filter(at__gt=timezone.now() - WRONG_TRIES_COUNT_FOR).count() >= MOST_WRONG_TRIES:
        raise Refused("That was wrong too often. Wait ten minutes, then try again.")
    person = authenticate(request, username=username.strip(), password=password)
    if not isinstance(person, Person):
        WrongSignIn.objects.filter(at__lte=timezone.now() - WRONG_TRIES_COUNT_FOR).delete()
        WrongSignIn.objects.create(username=name, address=address)
        raise Refused("This name and password don't go together. Check both, capitals too.")
    tries.delete()
    return person


@transaction.atomic
def make_link(person: Person) -> str:
    """The token of a new link that signs this person in, once, within a day. Earlier links end.

    Only the token's digest is kept, so that nobody can read a link out of the database.
    """
    if not person.is_active:
        raise Refused(f"{person.shown_name} no longer works here. Bring them back first.")
    SignInLink.objects.filter(person=person).delete()
    token = secrets.token_urlsafe(32)
    SignInLink.objects.create(person=person, digest=_digest(token), expires=timezone.now() + A_LINK_LASTS)
    return token


def person_with_link(token: str) -> Person:
    """Whose link this is. Refused where it was used, is too old, or never was one."""
    return _open_link(token).person


@transaction.atomic
def use_link(token: str) -> Person:
    """Whose link this is; from now on it signs no one in."""
    link = _open_link(token)
    # Of two who open it at once, one changes the row and the other finds nothing to change.
    if not SignInLink.objects.filter(pk=link.pk, used=None).update(used=timezone.now()):
        raise Refused(_NOT_OPEN)
    return link.person


_NOT_OPEN = "This link was used already or is too old. Ask the shop's owner for a new one."


def _open_link(token: str) -> SignInLink:
    link = SignInLink.objects.select_related("person").filter(digest=_digest(token)).first()
    if link is None or not link.is_open or not link.person.is_active:
        raise Refused(_NOT_OPEN)
    return link


def _digest(token: str) -> str:
    # The token has 256 random bits, so that a plain digest can't be guessed back.
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def set_password(person: Person, password: str) -> None:
    """Give a person a password of their own; links that were made for them end."""
    person.set_password(password)
    person.save(update_fields=["password"])
    SignInLink.objects.filter(person=person).delete()
