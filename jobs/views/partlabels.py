"""Labels for the parts of a job."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory import papers
from inventory.forms.labels import LabelsForm
from inventory.views.labels import pdf_answer, png_answer
from jobs import partlabels
from jobs.models import Job, Part
from jobs.views.getting import get_job_for
from shared.access import ShopRequest
from shared.refusal import Refused


@require_http_methods(["GET", "HEAD", "POST"])
def part_labels(request: ShopRequest, number: str) -> HttpResponse:
    """Which parts, on which paper; sent, the labels of the ticked as a PDF or as pictures."""
    job = get_job_for(request.user, number)
    parts = list(job.parts.with_materials())
    start = LabelsForm.start_from(request.shop, request.session.get("labels", {}))
    layouts = papers.layouts(request.shop)
    if request.method != "POST":
        form = LabelsForm(initial=start, layouts=layouts)
    else:
        form = LabelsForm(
            {name: request.POST.get(name, value) for name, value in start.items()}, layouts=layouts
        )
        ticked = [part for part in parts if str(part.pk) in request.POST.getlist("part")]
        if answer := _printed(request, job, ticked, form):
            return answer
    context = {"job": job, "parts": parts, "form": form}
    return render(request, "jobs/part_labels.html", context, status=422 if form.is_bound else 200)


def _printed(request: ShopRequest, job: Job, ticked: list[Part], form: LabelsForm) -> HttpResponse | None:
    """The PDF, or the pictures; or None, and the form says why."""
    if not ticked:
        form.add_error(None, "No part is ticked. Tick one or more.")
    if not form.is_valid():
        return None
    answer = png_answer if "pictures" in request.POST else pdf_answer
    try:
        return answer(form, partlabels.faces(job, ticked, request.shop), f"parts-{job.number}")
    except (ValueError, Refused) as error:
        form.add_error("layout", str(error))
        return None
