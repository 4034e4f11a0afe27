"""Do the books hold? The journal for the bookkeeper, and days that are closed."""

from collections.abc import Mapping
from datetime import date as Date  # noqa: N812 - a type, as everywhere in the books
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory import books as ledger_books
from inventory.models import ClosedPeriod
from inventory.models.books import STOCK
from jobs import auditing, tables
from jobs.forms.books import AccountsForm, CloseForm, DaysForm, LinesForm, last_month
from jobs.views.exports import as_file
from shared.access import ShopRequest, owners_only
from shared.refusal import Refused

ROWS = 50


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
    asked = {name: request.GET[name] for name in ("first", "last") if name in request.GET}
    return DaysForm(asked or {"first": first, "last": last})


def _page(request: ShopRequest, refused: Mapping[str, Any] | None = None) -> HttpResponse:
    days = _days(request)
    asked = days.cleaned_data if days.is_valid() else {"first": None, "last": None}
    rows = ledger_books.balances(asked.get("first"), asked.get("last"))
    context = {
        "days": days,
        "rows": rows,
        "debit": sum(row.debit for row in rows),
        "credit": sum(row.credit for row in rows),
        "closed": ClosedPeriod.objects.select_related("closed_by"),
        "close_form": CloseForm(initial={"last_day": last_month()[1]}),
        "accounts_form": AccountsForm(),
        **(refused or {}),
    }
    is_refused = bool(refused) or not days.is_valid()
    return render(request, "jobs/books.html", context, status=422 if is_refused else 200)


@owners_only
@require_safe
def books_export(request: ShopRequest, kind: str) -> HttpResponse:
    """The books page's tables: the accounts of these days, or the periods that are closed."""
    if request.GET.get("table") == "closed":
        return as_file(tables.of_closed(ClosedPeriod.objects.select_related("closed_by")), "closed", kind)
    return as_file(tables.of_accounts(ledger_books.balances(*_days_asked(request))), "accounts", kind)


@owners_only
@require_safe
def lines(request: ShopRequest) -> HttpResponse:
    """The journal's lines behind an account's figures."""
    sort = request.GET.get("account", STOCK)
    if sort not in ledger_books.account_names():
        raise Http404("There is no such account.")
    first, last = _days_asked(request)
    rows = ledger_books.lines(first, last, sort).order_by("-id")
    page = Paginator(rows, ROWS).get_page(request.GET.get("page"))
    (found,) = [row for row in ledger_books.balances(first, last) if row.sort == sort]
    context = {
        "account": found,
        "days": LinesForm({"account": sort, "first": first, "last": last}),
        "page": page,
        "entries": ledger_books.entries(page.object_list, sort),
    }
    return render(request, "jobs/books_lines.html", context)


@owners_only
@require_safe
def journal(request: ShopRequest, kind: str) -> HttpResponse:
    """Debits and credits of these days for another program; of one account where it is given."""
    sort = request.GET.get("account", "")
    rows = ledger_books.lines(*_days_asked(request), sort).order_by("id").iterator(chunk_size=5_000)
    return as_file(tables.of_journal(ledger_books.entries(rows, sort)), "journal", kind)


def _days_asked(request: ShopRequest) -> tuple[Date | None, Date | None]:
    days = _days(request)
    if not days.is_valid():
        raise Refused("These days make no sense. Choose them on the books page.")
    return days.cleaned_data["first"], days.cleaned_data["last"]


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
