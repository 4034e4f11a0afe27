"""Who works in the shop, and in which role."""

from django.contrib.auth.models import Group
from django.db import IntegrityError, transaction

from shared.access import OWNER
from shared.models import Person, SignInLink
from shared.refusal import Refused

LAST_OWNER = "{} is the only owner. Make someone else an owner first, so that the shop keeps one."


@transaction.atomic
def add_person(*, username: str, name: str, role: str) -> Person:
    """Add someone with a role and no password yet; a sign-in link lets them choose one."""
    person = Person(username=Person.normalize_username(username.strip().lower()), first_name=name.strip())
    person.set_unusable_password()
    try:
        with transaction.atomic():
            person.save()
    except IntegrityError as error:
        raise Refused(f"Someone has the sign-in name {person.username} already. Take another.") from error
    person.groups.add(Group.objects.get(name=role))
    return person


@transaction.atomic
def change_person(person: Person, *, name: str, role: str) -> None:
    """Call someone by another name, or give them another role. The last owner stays one."""
    if role != OWNER:
        _refuse_to_lose_the_last_owner(person)
    person.first_name, person.last_name = name.strip(), ""
    person.save(update_fields=["first_name", "last_name"])
    person.groups.set([Group.objects.get(name=role)])


@transaction.atomic
def let_go(person: Person) -> None:
    """Someone leaves: they can't sign in any more, their links end, what they did stays theirs."""
    _refuse_to_lose_the_last_owner(person)
    person.is_active = False
    person.save(update_fields=["is_active"])
    SignInLink.objects.filter(person=person).delete()


def bring_back(person: Person) -> None:
    """Someone who left works here again, in the role they had."""
    person.is_active = True
    person.save(update_fields=["is_active"])


def first_owner() -> Person | None:
    """The owner of a shop that has nobody yet; None where there is someone."""
    if Person.objects.exists():
        return None
    return add_person(username=OWNER, name="", role=OWNER)


def _refuse_to_lose_the_last_owner(person: Person) -> None:
    # The role's row is locked, so that two owners can't take it from each other at the same moment.
    group = Group.objects.select_for_update().get(name=OWNER)
    owners = Person.objects.filter(groups=group, is_active=True)
    if owners.filter(pk=person.pk).exists() and not owners.exclude(pk=person.pk).exists():
        raise Refused(LAST_OWNER.format(person.shown_name))
