"""The shop's settings, and codes for its labels."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import F

from shared import codes
from shared.measure import mm
from shared.models import CodeCounter, Shop

#: What a metric shop starts from, where the first page does not ask: round millimetres instead of inches.
METRIC_START = {
    "trim": mm(6),
    "rough_length": mm(25),
    "rough_width": mm(6),
    "edging_strip": mm(6),
    "edging_spare": mm(25),
    "edging_proud": mm("1.5"),
    "stave_least": mm(40),
    "stave_most": mm(125),
    "glue_joint": mm("1.5"),
    "glue_trim": mm(12),
}


def the_shop() -> Shop:
    """The one row of settings; made with its defaults where there is none."""
    shop, _ = Shop.objects.get_or_create(pk=1)
    return shop


def change_settings(shop: Shop, settings: Mapping[str, Any]) -> list[str]:
    """Write the settings that differ from what they are, and nothing else; returns their names."""
    changed = {name: value for name, value in settings.items() if getattr(shop, name) != value}
    if changed:
        Shop.objects.filter(pk=shop.pk).update(**changed)
    return list(changed)


def set_up(shop: Shop, settings: Mapping[str, Any]) -> None:
    """Open a new shop with what its first page asked for; the rest starts at round figures in its unit."""
    start = METRIC_START if settings["unit"] == "mm" else {}
    change_settings(shop, {**start, **settings, "is_set_up": True})


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
