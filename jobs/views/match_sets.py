"""The editor of a match set: which part lies where, with its drawing."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render

from jobs import matching_sets, showing_solid
from jobs.forms.match_sets import MatchSetForm
from jobs.matching_sets import SetOfParts
from jobs.models import Job
from jobs.views.getting import get_job_for
from shared.access import ShopRequest
from shared.refusal import Refused


def _set_of(job: Job, name: str) -> SetOfParts:
    for one in matching_sets.sets_of(job):
        if one.row.name == name:
            return one
    raise Http404(f"There is no match set {name} with parts to cut.")


def match_set(request: ShopRequest, number: str, name: str) -> HttpResponse:
    """Numbers give the order; groups lie side by side or stacked within the set. The drawing shows it."""
    job = get_job_for(request.user, number)
    of = _set_of(job, name)
    names = showing_solid.numbered(of.names, {part.pk: part for part in of.parts})
    form = MatchSetForm(request.POST or None, of=of, names=names)
    if request.method == "POST" and form.is_valid():
        try:
            glued = form.cleaned_data.get("may_be_glued", False)
            matching_sets.arrange(of=of, arranged=form.arranged(), may_be_glued=glued)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{name} lies as you numbered it.")
            return redirect("match-set", job.number, name)
    context = {
        "job": job,
        "set": of,
        "form": form,
        "drawing": showing_solid.set_drawing(of, request.shop),
        "size": showing_solid.set_size(of, request.shop),
    }
    return render(request, "jobs/match_set.html", context, status=422 if form.errors else 200)
