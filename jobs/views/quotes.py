"""A job's quote: the material side of it, as a page and as PDF."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import estimating, quoting, tables
from jobs.diagrams.pdf import Page
from jobs.forms.quotes import TermsForm, TypedLines
from jobs.quote_pdf import quote_pdf
from jobs.views.exports import as_file
from jobs.views.getting import get_job_for
from shared.access import ShopRequest, buyers_only
from shared.money import format_money


@buyers_only
@require_http_methods(["GET", "HEAD", "POST"])
def quote(request: ShopRequest, number: str) -> HttpResponse:
    """What the client is asked, from the estimate; its terms and typed lines can be changed."""
    job = get_job_for(request.user, number)
    terms = quoting.terms_of(job, request.shop)
    data = request.POST if request.method == "POST" else None
    form = TermsForm.of(terms, data)
    sheet = quoting.sheet_of(job, request.shop)
    initial = [{"what": one.what, "quantity": one.quantity, "price": one.price} for one in sheet.typed]
    lines = TypedLines(data, initial=initial, prefix="lines")
    if data and form.is_valid() and lines.is_valid():
        typed = [one.line() for one in lines if one.cleaned_data]
        quoting.change_terms(job=job, typed=typed, **form.cleaned_data)
        messages.success(request, "The quote is changed.")
        return redirect("quote", job.number)
    context = {"job": job, "sheet": sheet, "form": form, "lines": lines}
    return render(request, "jobs/quote.html", context, status=422 if data else 200)


@buyers_only
@require_safe
def quote_export(request: ShopRequest, number: str, kind: str) -> HttpResponse:
    """The quote as a table, with cost and markup."""
    job = get_job_for(request.user, number)
    return as_file(tables.of_quote(quoting.sheet_of(job, request.shop)), f"quote-{job.number}", kind)


@buyers_only
@require_POST
def given(request: ShopRequest, number: str) -> HttpResponse:
    """The client has the quote: the estimate is frozen."""
    job = get_job_for(request.user, number)
    amount = estimating.quote(job)
    shown = format_money(amount, request.shop.currency)
    messages.success(request, f"{job.number} is quoted. Its estimate stays at {shown} from now on.")
    return redirect("quote", job.number)


@buyers_only
@require_safe
def pdf(request: ShopRequest, number: str) -> HttpResponse:
    """The quote on paper: for the client prices only, else with cost and markup."""
    job = get_job_for(request.user, number)
    page: Page = "letter" if request.shop.unit == "in" else "a4"
    for_client = request.GET.get("for") == "client"
    terms, sheet = quoting.terms_of(job, request.shop), quoting.sheet_of(job, request.shop)
    data = quote_pdf(job, sheet, request.shop, note=terms.note, for_client=for_client, page=page)
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="quote-{job.number}.pdf"'
    return response
