"""Label papers that the shop measured itself."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from inventory import papers
from inventory.forms.papers import PaperForm
from inventory.models import LabelPaper
from shared.access import ShopRequest
from shared.refusal import Refused


@require_http_methods(["GET", "HEAD", "POST"])
def label_papers(request: ShopRequest) -> HttpResponse:
    """The shop's own papers, and a form for another."""
    form = PaperForm(request.POST or None, shop=request.shop)
    if form.is_valid():
        try:
            paper = papers.keep(form.save(commit=False), request.shop.unit)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{paper} can be chosen now. Print the test page on it first.")
            return redirect("label-papers")
    context = {"form": form, "papers": LabelPaper.objects.all()}
    return render(request, "inventory/label_papers.html", context, status=422 if form.errors else 200)


@require_POST
def label_paper_remove(request: ShopRequest, pk: int) -> HttpResponse:
    """It is used up, or was measured wrongly."""
    paper = get_object_or_404(LabelPaper, pk=pk)
    paper.delete()
    messages.success(request, f"{paper} is no longer offered.")
    return redirect("label-papers")
