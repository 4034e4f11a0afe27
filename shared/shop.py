"""The shop's settings, and codes for its labels."""

from django.db import transaction
from django.db.models import F

from shared import codes
from shared.models import CodeCounter, Shop


def the_shop() -> Shop:
    """The one row of settings; made with its defaults where there is none."""
    shop, _ = Shop.objects.get_or_create(pk=1)
    return shop


@transaction.atomic
def take_codes(count: int) -> list[str]:
    """New label codes, never given before to anything."""
    counter, _ = CodeCounter.objects.get_or_create(pk=1)
    CodeCounter.objects.filter(pk=1).update(last=F("last") + count)
    counter.refresh_from_db()
    return [codes.code_for(number) for number in range(counter.last - count + 1, counter.last + 1)]


def scan_address(shop: Shop, code: str) -> str:
    """What a label's QR says: upper case, so that it stays in the QR's alphanumeric mode."""
    return f"{shop.scan_address.rstrip('/')}/S/{code}".upper()
