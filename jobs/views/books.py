"""Do the books hold? The journal for the bookkeeper, and days that are closed."""

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory import books as ledger_books
from inventory.models import ClosedPeriod
from jobs import auditing
from jobs.forms.books import AccountsForm, CloseForm, DaysForm, last_month
from jobs.views.exports import as_file
from shared.access import ShopRequest, owners_only
from shared.refusal import Refused


@owners_only
@require_safe
def audit(request: ShopRequest) -> HttpResponse:
    """The ledger's rules, checked now."""
    checked = [(check.__doc__, check()) for check in auditing.CHECKS]
    context = {"checked": checked, "holds": not any(faults for _, faults in checked)}
    return render(request, "jobs/audit.html", context)


@owners_only
@require_safe
def books(request: ShopRequest) -> HttpResponse:
    """What the days of a period come to, by account; what is closed."""
    return _page(request)


def _days(request: ShopRequest) -> DaysForm:
    """The days asked for; last month's where none are."""
    first, last = last_month()
    return DaysForm(request.GET if request.GET else {"first": first, "last": last})


def _page(request: ShopRequest, refused: Mapping[str, Any] | None = None) -> HttpResponse:
    days = _days(request)
    asked = days.cleaned_data if days.is_valid() else {"first": None, "last": None}
    rows = ledger_books.balances(asked.get("first"), asked.get("last"))
    context = {
        "days": days,
        "rows": rows,
        "debit": sum(row[1] for row in rows),
        "credit": sum(row[2] for row in rows),
        "closed": ClosedPeriod.objects.select_related("closed_by"),
        "close_form": CloseForm(initial={"last_day": last_month()[1]}),
        "accounts_form": AccountsForm(),
        **(refused or {}),
    }
    is_refused = bool(refused) or not days.is_valid()
    return render(request, "jobs/books.html", context, status=422 if is_refused else 200)


@owners_only
@require_safe
def journal(request: ShopRequest, kind: str) -> HttpResponse:
    """Debits and credits of these days for another program."""
    days = _days(request)
    if not days.is_valid():
        raise Refused("These days make no sense. Choose them on the books page.")
    first, last = days.cleaned_data["first"], days.cleaned_data["last"]
    lines = [
        [one.date, one.account, one.debit, one.credit, one.reference]
        for one in ledger_books.journal(first, last)
    ]
    return as_file([["Date", "Account", "Debit", "Credit", "Reference"], *lines], "journal", kind)


@owners_only
@require_POST
def close(request: ShopRequest) -> HttpResponse:
    """Days that are over are closed for good."""
    form = CloseForm(request.POST)
    if form.is_valid():
        try:
            done = ledger_books.close(last_day=form.cleaned_data["last_day"], by=request.user)
        except Refused as refusal:
            form.add_error("last_day", str(refusal))
        else:
            messages.success(request, f"The books are closed {done}.")
            return redirect("books")
    return _page(request, {"close_form": form})


@owners_only
@require_POST
def accounts(request: ShopRequest) -> HttpResponse:
    """What the shop's bookkeeping calls its accounts."""
    form = AccountsForm(request.POST)
    if not form.is_valid():
        return _page(request, {"accounts_form": form})
    ledger_books.name_accounts(form.names())
    messages.success(request, "The names of the accounts are kept.")
    return redirect("books")
