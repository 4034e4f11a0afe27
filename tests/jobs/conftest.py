"""What tests of the pages of jobs share: a shop that is set up, its owner, and the owner's browser."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Offer
from shared.measure import inches
from shared.models import Shop
from shared.taps import new_key
from tests.factories import make_job, make_material, make_person, make_supplier


@pytest.fixture
def owner(db):
    """Whoever may do all there is: what is refused to the owner is refused to everyone."""
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, "planning_seconds": 1})
    return make_person()


@pytest.fixture
def desk(owner) -> Client:
    """A browser in which the owner is signed in."""
    signed_in = Client()
    signed_in.force_login(owner)
    return signed_in


@pytest.fixture
def post(desk):
    """Sends a form to a page by its name; every tap has its own key unless it is given one."""

    def send(name, /, *args, **fields):
        return desk.post(reverse(name, args=args), {"key": new_key(), **fields})

    return send


@pytest.fixture
def job(db):
    return make_job(number="26-041")


@pytest.fixture
def ply(db):
    """Sheet goods that one yard sells at $92 a 4 × 8."""
    material = make_material("maple ply 3/4")
    sheet = {"length": inches(96), "width": inches(48), "price": Decimal("92.00"), "per": Offer.Per.SHEET}
    Offer.objects.create(material=material, supplier=make_supplier(), seen_on=date(2026, 11, 1), **sheet)
    return material
