"""Where this shop is found: addresses for labels, phones and links."""

import os
import re
import socket
import zoneinfo
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest

from shared.models import Shop
from shared.quoting import quoted

LOOPBACK = {"localhost", "127.0.0.1", "::1"}
EVERY_ADDRESS = {"0.0.0.0", "::"}

# What keeps a QR code small (ISO/IEC 18004, alphanumeric mode), as far as it stands in an address.
_SCAN_ADDRESS = re.compile(r"HTTPS?://[A-Z0-9.-]+(:\d{1,5})?")


class NotAnAddress(ValueError):  # noqa: N818  raised and read as "that is not an address"
    """What was typed can't stand on a label; str() of it is the sentence."""


def parse_scan_address(text: str) -> str:
    """The address that labels lead to, as it is printed: upper case, server and port only.

    >>> parse_scan_address("http://192.168.1.20:8000/")
    'HTTP://192.168.1.20:8000'
    >>> parse_scan_address("shop")
    Traceback (most recent call last):
    shared.addresses.NotAnAddress: "shop" is no address. Write it as phones open it: http://192.168.1.20:8000.
    """
    address = text.strip().rstrip("/").upper()
    if not _SCAN_ADDRESS.fullmatch(address):
        raise NotAnAddress(
            f"{quoted(text)} is no address. Write it as phones open it: http://192.168.1.20:8000."
        )
    return address


def is_loopback(address: str) -> bool:
    """Whether an address is only reached on the machine itself.

    >>> is_loopback("HTTP://LOCALHOST:8000"), is_loopback("http://192.168.1.20:8000")
    (True, False)
    """
    return (urlsplit(address).hostname or "").lower() in LOOPBACK


def for_links(request: HttpRequest, shop: Shop) -> str:
    """How an address begins that someone else will open: as this page was, or as labels have it."""
    here = f"{request.scheme}://{request.get_host()}"
    if is_loopback(here) and shop.scan_address and not is_loopback(shop.scan_address):
        return shop.scan_address.lower()
    return here


def in_the_shops_network() -> str | None:
    """This machine's address on the local network, or None where it has none. Nothing is sent.

    Connecting a datagram socket only asks the machine which of its own addresses it would send from;
    192.0.2.1 is set aside for examples (RFC 5737).
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("192.0.2.1", 9))
        except OSError:
            return None
        found = str(asking.getsockname()[0])
    return None if found.startswith("127.") or found in EVERY_ADDRESS else found


def time_zone_here() -> str:
    """The time zone this machine is set to, by its name, or UTC where it does not say."""
    named = os.environ.get("TZ", "").lstrip(":")
    linked = str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2]
    known = zoneinfo.available_timezones()
    return next((name for name in (named, linked) if name in known), "UTC")


def of_client(request: HttpRequest) -> str:
    """The address a request came from; behind a proxy, the one the proxy saw."""
    if settings.SECURE_PROXY_SSL_HEADER:
        # The last one was written by the proxy itself; what stands before it anyone may have made up.
        seen = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
        if seen:
            return seen[:45]
    return str(request.META.get("REMOTE_ADDR", ""))[:45]
