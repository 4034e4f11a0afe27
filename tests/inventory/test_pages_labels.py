"""The labels page: what waits, on which paper, and what came out well."""

import io
import zipfile

import pypdfium2
import pytest
import zxingcpp
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from inventory import labelling
from inventory.labels import LAYOUTS
from inventory.models import LabelToPrint
from shared.models import Shop
from tests.factories import make_offcut
from tests.inventory.forms_on_pages import fields_on

pytestmark = pytest.mark.django_db

PAPER = {"layout": "letter-30", "start": "1", "offset_x_mm": "0", "offset_y_mm": "0"}


def words_in(answer):
    """The words on each page of a PDF."""
    assert answer["Content-Type"] == "application/pdf"
    document = pypdfium2.PdfDocument(answer.content)
    return [page.get_textpage().get_text_bounded() for page in document]


def grouped(piece):
    return f"{piece.code[:3]}-{piece.code[3:]}"


def print_them(client, *pieces, **changes):
    return client.post(reverse("labels-pdf"), {**PAPER, "code": [piece.code for piece in pieces], **changes})


def test_what_waits_is_listed_and_ticked(at_rack, bench):
    piece = make_offcut(by=bench)
    page = at_rack.get(reverse("labels"))
    assert [face.code for face in page.context["faces"]] == [piece.code]
    assert fields_on(page)["code"] == piece.code
    assert "1 label waits" in page.content.decode()


def test_an_empty_queue_says_where_labels_come_from(at_rack):
    assert "No label waits" in at_rack.get(reverse("labels")).content.decode()


def test_only_chosen_labels_are_listed_whether_they_wait_or_not(at_rack, bench):
    chosen, other = make_offcut(by=bench), make_offcut(by=bench)
    labelling.printed([chosen.code])
    page = at_rack.get(reverse("labels"), {"codes": f"{chosen.code},000000"})
    assert [face.code for face in page.context["faces"]] == [chosen.code]
    assert grouped(other) not in page.content.decode()


def test_the_pdf_has_the_ticked_labels_and_no_others(at_rack, bench):
    ticked, other = [make_offcut(by=bench) for _ in range(2)], make_offcut(by=bench)
    (words,) = words_in(print_them(at_rack, *ticked))
    assert all(grouped(piece) in words for piece in ticked)
    assert grouped(other) not in words


def test_a_sheet_that_is_used_in_part_is_filled_up_first(at_rack, bench):
    pieces = [make_offcut(by=bench) for _ in range(3)]
    first, second = words_in(print_them(at_rack, *pieces, start="29"))
    assert grouped(pieces[0]) in first
    assert grouped(pieces[1]) in first
    assert grouped(pieces[2]) in second


def test_a_link_alone_prints_as_the_shop_is_set(at_rack, bench):
    piece = make_offcut(by=bench)
    Shop.objects.update(label_layout="roll-57x32mm")
    answer = at_rack.get(reverse("labels-pdf"), {"code": piece.code})
    assert len(words_in(answer)) == 1
    width, _ = pypdfium2.PdfDocument(answer.content)[0].get_size()
    assert width == pytest.approx(57 / 25.4 * 72, abs=0.1)


def pictures_of(client, *pieces, **changes):
    ticked = {"layout": "roll-57x32mm", "dpi": "203", "code": [piece.code for piece in pieces]}
    return client.post(reverse("labels-png"), {**PAPER, **ticked, **changes})


def codes_in(png):
    return [code.text[-6:] for code in zxingcpp.read_barcodes(Image.open(io.BytesIO(png)).convert("L"))]


def test_one_label_for_a_label_printer_is_one_picture(at_rack, bench):
    piece = make_offcut(by=bench)
    answer = pictures_of(at_rack, piece)
    assert answer["Content-Type"] == "image/png"
    assert codes_in(answer.content) == [piece.code]
    # 57 × 32 mm at 203 dots an inch.
    assert Image.open(io.BytesIO(answer.content)).size == (456, 256)


def test_several_pictures_come_in_one_file_named_by_their_codes(at_rack, bench):
    pieces = [make_offcut(by=bench) for _ in range(3)]
    answer = pictures_of(at_rack, *pieces, dpi="300")
    assert answer["Content-Type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.namelist() == [f"{n:03}-{piece.code}.png" for n, piece in enumerate(pieces, 1)]
        assert [codes_in(archive.read(name)) for name in archive.namelist()] == [[p.code] for p in pieces]


def test_the_printers_dots_are_remembered_and_a_sheet_is_printed_as_ever(at_rack, bench):
    piece = make_offcut(by=bench)
    as_ever = print_them(at_rack, piece).content
    pictures_of(at_rack, piece)
    assert fields_on(at_rack.get(reverse("labels")))["dpi"] == "203"
    assert print_them(at_rack, piece, dpi="203").content == as_ever


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"layout": "letter-30"}, "Choose a roll"),
        ({"dpi": "72"}, "valid choice"),
        ({"code": []}, "No label is ticked"),
    ],
)
def test_what_can_be_no_picture_comes_back_as_typed(at_rack, bench, changes, sentence):
    answer = pictures_of(at_rack, make_offcut(by=bench), **changes)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert fields_on(answer)["layout"] == changes.get("layout", "roll-57x32mm")


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"start": "31"}, "This paper has 30 labels"),
        ({"start": "none"}, "whole number"),
        ({"layout": "wallpaper"}, "valid choice"),
        ({"offset_x_mm": "12"}, "less than or equal to 10"),
        ({"offset_y_mm": "up"}, "Enter a number"),
        ({"code": []}, "No label is ticked"),
    ],
)
def test_what_can_not_be_printed_comes_back_as_typed(at_rack, bench, changes, sentence):
    answer = print_them(at_rack, make_offcut(by=bench), **changes)
    held = fields_on(answer)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert held["start"] == changes.get("start", "1")
    assert held["offset_x_mm"] == changes.get("offset_x_mm", "0")


def test_labels_wait_until_they_are_said_to_be_printed(at_rack, bench):
    well, spoiled = make_offcut(by=bench), make_offcut(by=bench)
    print_them(at_rack, well, spoiled)
    assert LabelToPrint.objects.count() == 2
    at_rack.post(reverse("labels-printed"), {**PAPER, "code": [well.code]})
    assert LabelToPrint.objects.get().piece == spoiled


def test_printed_sent_twice_takes_nothing_more_off_and_counts_no_label_twice(at_rack, bench):
    pieces = [make_offcut(by=bench) for _ in range(3)]
    form = {**PAPER, "code": [piece.code for piece in pieces[:2]]}
    for _ in range(2):
        at_rack.post(reverse("labels-printed"), form)
    assert LabelToPrint.objects.get().piece == pieces[2]
    assert fields_on(at_rack.get(reverse("labels")))["start"] == "3"


def test_nothing_ticked_is_not_printed(at_rack, bench):
    make_offcut(by=bench)
    answer = at_rack.post(reverse("labels-printed"), PAPER)
    assert answer.status_code == 409
    assert LabelToPrint.objects.count() == 1


def test_the_next_labels_begin_where_the_last_ended(at_rack, bench):
    pieces = [make_offcut(by=bench) for _ in range(4)]
    at_rack.post(reverse("labels-printed"), {**PAPER, "start": "28", "code": [p.code for p in pieces]})
    assert fields_on(at_rack.get(reverse("labels")))["start"] == "2"


def test_paper_and_offset_are_remembered_for_this_browser(at_rack, at_desk, bench):
    print_them(at_rack, make_offcut(by=bench), layout="a4-21", offset_x_mm="-1.5")
    held = fields_on(at_rack.get(reverse("labels")))
    assert (held["layout"], held["offset_x_mm"]) == ("a4-21", "-1.5")
    assert fields_on(at_desk.get(reverse("labels")))["layout"] == "letter-30"


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_paper_has_its_test_page(at_rack, layout):
    assert len(words_in(at_rack.post(reverse("labels-test-page"), {**PAPER, "layout": layout}))) == 1


def test_a_test_page_of_what_can_not_be_comes_back(at_rack):
    answer = at_rack.post(reverse("labels-test-page"), {**PAPER, "offset_x_mm": "99"})
    assert answer.status_code == 422


def test_a_longer_queue_asks_no_more_often(at_rack, bench):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            at_rack.get(reverse("labels"))
        return len(queries)

    for _ in range(3):
        make_offcut(by=bench)
    at_three = asked()
    for _ in range(27):
        make_offcut(by=bench)
    assert asked() == at_three < 10
