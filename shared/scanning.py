"""Pages that read labels by the camera: the policy their decoder needs, and which addresses are ours."""

from typing import Any
from urllib.parse import urlsplit

from csp.constants import WASM_UNSAFE_EVAL
from csp.decorators import csp_update

from shared.models import Shop

#: The camera's decoder is a WebAssembly module, on these pages and no other.
with_decoder: Any = csp_update({"script-src": [WASM_UNSAFE_EVAL]})


def label_origin(shop: Shop) -> str:
    """Where the addresses on the shop's labels begin, in lower case.

    >>> label_origin(Shop(scan_address="HTTP://LOCALHOST:8000"))
    'http://localhost:8000'
    """
    parts = urlsplit(shop.scan_address.lower())
    return f"{parts.scheme}://{parts.netloc}"
