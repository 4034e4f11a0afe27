"""Do the books hold?"""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from jobs import auditing
from shared.access import ShopRequest, owners_only


@owners_only
@require_safe
def audit(request: ShopRequest) -> HttpResponse:
    """The ledger's rules, checked now."""
    checked = [(check.__doc__, check()) for check in auditing.CHECKS]
    context = {"checked": checked, "holds": not any(faults for _, faults in checked)}
    return render(request, "jobs/audit.html", context)
