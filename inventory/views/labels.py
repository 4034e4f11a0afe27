"""Labels: what waits to be printed, and the paper it is printed on."""

from collections.abc import Callable, Sequence

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory import labelling, papers
from inventory.forms.labels import MOST_AT_ONCE, LabelsForm
from inventory.labels import LabelFace, labels_pdf, labels_png, zipped
from shared.access import ShopRequest
from shared.refusal import Refused

MOST_SHOWN = 300


def labels_address(things: Sequence[labelling.Thing]) -> str:
    """The page with the labels of these things; of more than an address can name, with all that wait."""
    named = ",".join(thing.code for thing in things[: MOST_SHOWN + 1])
    return f"{reverse('labels')}?codes={named}" if 0 < len(things) <= MOST_SHOWN else reverse("labels")


@require_safe
def labels(request: ShopRequest) -> HttpResponse:
    """What waits to be printed; or only what a link names, as after a delivery."""
    named = [code for code in request.GET.get("codes", "").split(",") if code]
    things = labelling.things_with(named[:MOST_AT_ONCE]) if named else labelling.waiting(MOST_SHOWN)
    form = LabelsForm(
        initial=LabelsForm.start_from(request.shop, request.session.get("labels", {})),
        layouts=papers.layouts(request.shop),
    )
    return _page(request, things, form, is_named=bool(named))


def _page(
    request: ShopRequest, things: list[labelling.Thing], form: LabelsForm, *, is_named: bool = False
) -> HttpResponse:
    context = {
        "faces": labelling.faces(things, request.shop),
        "form": form,
        "is_named": is_named,
        "waiting": labelling.waiting_count(),
    }
    return render(request, "inventory/labels.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
def pdf(request: ShopRequest) -> HttpResponse:
    """The ticked labels as a PDF; the paper and the offset are remembered for this browser."""
    return _file_of_ticked(request, pdf_answer)


@require_POST
def png(request: ShopRequest) -> HttpResponse:
    """The ticked labels as pictures, for a label printer that takes pictures."""
    return _file_of_ticked(request, png_answer)


def _file_of_ticked(
    request: ShopRequest, answer: Callable[[LabelsForm, list[LabelFace], str], HttpResponse]
) -> HttpResponse:
    things = labelling.things_with(_asked(request).getlist("code")[:MOST_AT_ONCE])
    form = _form(request)
    if not things:
        form.add_error(None, "No label is ticked. Tick one or more.")
    if not form.is_valid():
        return _page(request, things or labelling.waiting(MOST_SHOWN), form)
    try:
        file = answer(form, labelling.faces(things, request.shop), "labels")
    except ValueError as error:
        form.add_error("layout", str(error))
        return _page(request, things, form)
    request.session["labels"] = {name: str(value) for name, value in form.cleaned_data.items()}
    return file


def pdf_answer(form: LabelsForm, faces: list[LabelFace], name: str) -> HttpResponse:
    """These labels as the form asks, as a PDF of that name. Raises ValueError with a sentence."""
    return _as_file(labels_pdf(faces, **form.asked), "application/pdf", f"{name}.pdf")


def png_answer(form: LabelsForm, faces: list[LabelFace], name: str) -> HttpResponse:
    """These labels as a picture, or as a zip file of pictures where they are several. Raises ValueError."""
    asked = {name: value for name, value in form.asked.items() if name != "start"}
    pictures = labels_png(faces, **asked)
    if len(pictures) == 1:
        return _as_file(pictures[0], "image/png", f"{faces[0].code}.png")
    return _as_file(zipped(pictures, [face.code for face in faces]), "application/zip", f"{name}.zip")


@require_http_methods(["GET", "POST"])
def test_page(request: ShopRequest) -> HttpResponse:
    """Every label's edge and two rulers on plain paper, to find the printer's offset."""
    form = _form(request)
    if not form.is_valid():
        return _page(request, labelling.waiting(MOST_SHOWN), form)
    return _as_file(labels_pdf([], **form.asked, test_page=True), "application/pdf", "printer-test.pdf")


@require_POST
def printed(request: ShopRequest) -> HttpResponse:
    """What was ticked is on paper: it waits no longer, and the next label is the first free one."""
    named = request.POST.getlist("code")[:MOST_AT_ONCE]
    if not named:
        raise Refused("No label is ticked. Tick those that came out well.")
    count = labelling.printed(named)
    form = _form(request)
    if form.is_valid() and count:
        layout = form.layouts[form.cleaned_data["layout"]]
        used = {name: str(value) for name, value in form.cleaned_data.items()}
        used["start"] = str((form.cleaned_data["start"] - 1 + len(named)) % layout.count + 1)
        request.session["labels"] = used
    messages.success(request, f"{count} {'label waits' if count == 1 else 'labels wait'} no longer.")
    return redirect("labels")


def _asked(request: ShopRequest) -> QueryDict:
    return request.POST if request.method == "POST" else request.GET


def _form(request: ShopRequest) -> LabelsForm:
    """The form as sent; what was not sent is as last printed here, or as the shop is set."""
    start = LabelsForm.start_from(request.shop, request.session.get("labels", {}))
    sent = _asked(request)
    asked = {name: sent.get(name, value) for name, value in start.items()}
    return LabelsForm(asked, layouts=papers.layouts(request.shop))


def _as_file(content: bytes, kind: str, name: str) -> HttpResponse:
    return HttpResponse(
        content,
        content_type=kind,
        headers={"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "no-store"},
    )
