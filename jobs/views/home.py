"""What waits for me."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from jobs import waiting
from shared.access import ShopRequest, may_buy


@require_safe
def home(request: ShopRequest) -> HttpResponse:
    """To pull, to cut, to receive, to label, low goods; and the scan box."""
    return render(
        request, "jobs/home.html", {"waiting": waiting.for_the_shop(with_buying=may_buy(request.user))}
    )
