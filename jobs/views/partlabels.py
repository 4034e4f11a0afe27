"""Labels for the parts of a job."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory import papers
from inventory.forms.labels import LabelsForm
from inventory.labels import labels_pdf
from jobs import partlabels
from jobs.models import Job, Part
from jobs.views.getting import get_job_for
from shared.access import ShopRequest
from shared.refusal import Refused


@require_http_methods(["GET", "HEAD", "POST"])
def part_labels(request: ShopRequest, number: str) -> HttpResponse:
    """Which parts, on which paper; sent, the labels of the ticked as a PDF."""
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
    """The PDF; or None, and the form says why."""
    if not ticked:
        form.add_error(None, "No part is ticked. Tick one or more.")
    if not form.is_valid():
        return None
    asked = form.cleaned_data
    try:
        content = labels_pdf(
            partlabels.faces(job, ticked, request.shop),
            form.layouts[asked["layout"]],
            start=asked["start"],
            offset_x_mm=asked["offset_x_mm"],
            offset_y_mm=asked["offset_y_mm"],
        )
    except (ValueError, Refused) as error:
        form.add_error("layout", str(error))
        return None
    headers = {
        "Content-Disposition": f'inline; filename="parts-{job.number}.pdf"',
        "Cache-Control": "no-store",
    }
    return HttpResponse(content, content_type="application/pdf", headers=headers)
