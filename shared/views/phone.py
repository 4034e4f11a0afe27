"""What makes the pages an app on a phone: its worker, its manifest, and the token for taps sent later."""

import hashlib
import json

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shared.access import ShopRequest

#: What every page needs without a network; the scan page's camera is kept once it was used.
SHELL = [
    *(f"shared/{name}.css" for name in ("tokens", "elements", "page", "bar", "parts", "forms", "tables")),
    *(f"shared/{name}.css" for name in ("drawing", "stock", "keypad")),
    *(f"shared/{name}.js" for name in ("sawbuck", "taps", "store", "keypad")),
    *(f"bench/{name}" for name in ("scan.css", "scan.js", "camera.js", "reader.js", "note.js", "signal.js")),
    "shared/mark.svg",
]
ICONS = [
    ("icon-192", "192x192", "any"),
    ("icon-512", "512x512", "any"),
    ("icon-maskable", "512x512", "maskable"),
]


@login_not_required
@never_cache
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """The script that keeps pages for reading without a network; its version changes with what it keeps."""
    files = [static(name) for name in SHELL]
    version = hashlib.sha256("\n".join(files).encode()).hexdigest()[:12]
    kept = {"version": version, "files": [*files, reverse("offline")], "offline": reverse("offline")}
    return render(
        request,
        "shared/service-worker.js",
        {"kept_json": json.dumps(kept)},
        content_type="text/javascript; charset=utf-8",
    )


@login_not_required
@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """How the pages look on a phone's first screen."""
    icons = [
        {"src": static(f"shared/{name}.png"), "sizes": sizes, "type": "image/png", "purpose": purpose}
        for name, sizes, purpose in ICONS
    ]
    return JsonResponse(
        {
            "name": "Sawbuck",
            "short_name": "Sawbuck",
            "id": "/",
            "start_url": reverse("scan"),
            "scope": "/",
            "display": "standalone",
            "background_color": "#f6f3ea",
            "theme_color": "#fffdf7",
            "icons": icons,
        },
        content_type="application/manifest+json",
    )


@login_not_required
@require_safe
def offline(request: HttpRequest) -> HttpResponse:
    """What is shown where neither the shop nor a kept page can be had."""
    return render(request, "shared/offline.html")


@never_cache
@require_safe
def token(request: ShopRequest) -> JsonResponse:
    """Whose phone it is now, and a fresh token: one that waited with the taps might be of another sign-in."""
    return JsonResponse({"token": get_token(request), "person": str(request.user.pk)})
