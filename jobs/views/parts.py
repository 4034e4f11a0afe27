"""A job's parts list: upload or paste, look, confirm; edit in place; take it out again."""

import json
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.models import Material
from jobs import facing, matching_sets, showing_solid, woodfacts
from jobs.forms.jobs import MoistureForm, PartForm
from jobs.models import Job, Part
from jobs.partslist import reading, saving, writing
from jobs.partslist.columns import TITLES
from jobs.partslist.grid import Grid, NotAPartsList
from jobs.partslist.preview import Preview, as_rows, preview
from jobs.partslist.words import FIELDS, Field
from jobs.views.getting import get_job_for
from shared.access import ShopRequest
from shared.chosen import number_in
from shared.measure import Unit
from shared.models import Shop
from shared.refusal import Refused
from shared.taps import counted_once, key_of, new_key


@require_safe
def parts(request: ShopRequest, number: str) -> HttpResponse:
    """The list, and the ways to add to it."""
    job = get_job_for(request.user, number)
    return render(request, "jobs/parts.html", _the_list(request, job))


def _the_list(request: ShopRequest, job: Job) -> dict[str, Any]:
    """What the page of the list shows; each part with what its sawn size adds or takes away."""
    rows = list(job.parts.listed().with_materials())
    for part in rows:
        part.says = showing_solid.notes_of([part], request.shop)  # type: ignore[attr-defined]
    strips = job.parts.filter(kind=Part.Kind.STRIP).with_materials()
    return {
        "job": job,
        "parts": rows,
        "pieces": sum(part.quantity for part in rows),
        "sets": matching_sets.sets_of(job, rows),
        "strips": strips,
    }


@require_POST
def read(request: ShopRequest, number: str) -> HttpResponse:
    """A file or a paste, read and shown for checking. Nothing is saved."""
    job = get_job_for(request.user, number)
    upload, paste = request.FILES.get("file"), request.POST.get("paste", "")
    try:
        if upload is not None:
            reading.refuse_too_large(upload.size or 0)
            grid = reading.read_file(
                upload.name or "file", upload.read(), sheet=request.POST.get("sheet", "")
            )
        else:
            grid = reading.read_paste(paste)
    except NotAPartsList as error:
        context = _the_list(request, job) | {"refused": str(error), "paste": paste}
        return render(request, "jobs/parts.html", context, status=422)
    return _show(request, job, preview(grid, request.shop.unit))


@require_POST
@counted_once
def check(request: ShopRequest, number: str) -> HttpResponse:
    """The preview again with columns set or materials answered by hand; or, confirmed, saved."""
    job = get_job_for(request.user, number)
    try:
        grid = Grid.from_json(json.loads(request.POST.get("grid", "")))
    except (ValueError, RecursionError) as error:
        raise Refused("The list did not come through whole. Upload or paste it again.") from error
    unit: Unit = "mm" if request.POST.get("unit") == "mm" else "in"
    shown = preview(grid, unit, by_hand=_columns_by_hand(request), answers=_answers(request))
    if request.POST.get("do") != "save" or not shown.is_ready:
        return _show(request, job, shown, status=422 if request.POST.get("do") == "save" else 200)
    saved = saving.save_parts(job=job, lines=shown.lines(), replace=request.POST.get("mode") == "replace")
    shown.remember()
    messages.success(request, f"{len(saved)} lines with {shown.part_count} parts are on the list.")
    return redirect("parts", job.number)


def _columns_by_hand(request: ShopRequest) -> dict[Field, int | None]:
    chosen: dict[Field, int | None] = {}
    for name in FIELDS:
        text = request.POST.get(f"column_{name}")
        if text is not None:
            chosen[name] = number_in(text)
    return chosen


def _answers(request: ShopRequest) -> dict[str, int]:
    chosen = map(number_in, request.POST.getlist("answer"))
    return {key: pk for key, pk in zip(request.POST.getlist("asked"), chosen, strict=False) if pk}


def _show(request: ShopRequest, job: Job, shown: Preview, status: int = 200) -> HttpResponse:
    places = [
        (
            place,
            f"{place + 1}: {shown.columns.header[place]}"
            if place < len(shown.columns.header)
            else f"{place + 1}",
        )
        for place in range(shown.grid.width)
    ]
    context: dict[str, Any] = {
        "job": job,
        "shown": shown,
        "grid": json.dumps(shown.grid.as_json()),
        "columns": [(name, TITLES[name], shown.columns.at.get(name)) for name in FIELDS],
        "places": places,
        "materials": Material.objects.in_use().exclude(kind=Material.Kind.GOODS),
        "has_parts": job.parts.exists(),
        "tried": status == 422,
        "mode": request.POST.get("mode", "add"),
        "key": key_of(request) or new_key(),
    }
    return render(request, "jobs/parts_check.html", context, status=status)


@require_safe
def export(request: ShopRequest, number: str, kind: str) -> HttpResponse:
    """The list as CSV or XLSX; it reads back as it went in."""
    job = get_job_for(request.user, number)
    writers = {
        "csv": (writing.to_csv, "text/csv; charset=utf-8"),
        "xlsx": (writing.to_xlsx, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
    }
    if kind not in writers:
        raise Http404("A parts list comes as csv or xlsx.")
    write, content_type = writers[kind]
    data = write(as_rows(job.parts.listed().with_materials(), request.shop), request.shop.unit)
    response = HttpResponse(data, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="parts-{job.number}.{kind}"'
    return response


@counted_once
def part_new(request: ShopRequest, number: str) -> HttpResponse:
    """One more part, typed."""
    job = get_job_for(request.user, number)
    form = PartForm(request.POST or None, shop=request.shop)
    if request.method == "POST" and form.is_valid():
        saving.save_parts(job=job, lines=[form.line()])
        messages.success(request, f"{form.cleaned_data['name']} is on the list.")
        return redirect("part-new" if "again" in request.POST else "parts", job.number)
    context = {"job": job, "form": form, "key": key_of(request) or new_key()}
    return render(request, "jobs/part.html", context, status=422 if form.errors else 200)


def part_edit(request: ShopRequest, number: str, pk: int) -> HttpResponse:
    """A part, changed in place."""
    job = get_job_for(request.user, number)
    part = get_object_or_404(job.parts.with_materials(), pk=pk)
    if part.kind != Part.Kind.LISTED:  # a strip or a stave, by its label: it stands below the list
        return redirect("parts", job.number)
    form = PartForm(request.POST or None, shop=request.shop, initial=_typed(part, request.shop))
    if request.method == "POST" and form.is_valid():
        try:
            saving.change_part(part=part, line=form.line())
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{form.cleaned_data['name']} is changed.")
            return redirect("parts", job.number)
    notes = showing_solid.notes_of([part], request.shop)
    context = {"job": job, "form": form, "part": part, "notes": notes, **_movement(request, part)}
    return render(request, "jobs/part.html", context, status=422 if form.errors else 200)


def _movement(request: ShopRequest, part: Part) -> dict[str, Any]:
    """How a solid part moves between two moisture contents, asked for by GET."""
    usual = {"dry": woodfacts.DRY_PCT, "damp": woodfacts.DAMP_PCT}
    form = MoistureForm(request.GET if "dry" in request.GET else None, initial=usual)
    asked = form.cleaned_data if form.is_bound and form.is_valid() else usual
    found = woodfacts.seasonal_movement(part, asked["dry"], asked["damp"])
    said = found.in_words(request.shop.unit) if found else []
    return {"movement": found, "moves": said, "moisture_form": form}


def _typed(part: Part, shop: Shop) -> dict[str, Any]:
    return {name: getattr(part, name) for name in saving.KEPT} | {
        "material": part.material_id,
        "strip_material": facing.chosen_by_hand(part, shop),
        "also": [material.pk for material in part.also.all()],
    }


@require_POST
def part_remove(request: ShopRequest, number: str, pk: int) -> HttpResponse:
    job = get_job_for(request.user, number)
    part = get_object_or_404(job.parts.listed(), pk=pk)
    saving.remove_part(part)
    messages.success(request, f"{part.name} is off the list.")
    return redirect("parts", job.number)
