"""Parts lists that can't be taken: each is answered with a sentence, nothing is saved, and nothing breaks."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.models import MaterialName
from jobs.models import Part
from shared.models import Shop
from tests.factories import make_job, make_material, make_person
from tests.jobs.partslist.books import csv_file, xlsx_file
from tests.pages import hidden, words_of

pytestmark = pytest.mark.django_db

PNG = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(40)
HEADER = ("Qty", "Part", "Length", "Width", "Material")
GOOD = (2, "side", "34 1/2", "23 1/4", "birch ply 3/4")


@pytest.fixture(autouse=True)
def signed_in(client):
    """Someone of the bench, who may bring a list as anyone else."""
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    client.force_login(make_person("bench"))


@pytest.fixture
def ply():
    return make_material("birch ply 3/4")


@pytest.fixture
def job():
    return make_job()


@pytest.fixture
def upload(client, job):
    """Uploads a file on the job's page."""

    def send(name: str, data: bytes, **others):
        file = SimpleUploadedFile(name, data)
        return client.post(reverse("parts-read", args=[job.number]), {"file": file, **others})

    return send


@pytest.fixture
def check(client, job):
    """Sends the checking page back, as a browser does or as someone does who changed what it holds."""

    def send(**fields):
        return client.post(reverse("parts-check", args=[job.number]), {"unit": "in", "do": "save", **fields})

    return send


def grid_of(*rows) -> str:
    """What the checking page keeps of a list."""
    return json.dumps({"rows": [list(map(str, row)) for row in rows], "odd": [], "sheets": [], "sheet": ""})


# ---- files that are no list ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "data", "sentence"),
    [
        ("empty.csv", b"", "empty.csv can't be read as a parts list. It is empty."),
        ("blank.csv", b"\r\n , ,\r\n", "There is nothing in it: no row has any text."),
        ("photo.xlsx", PNG, "photo.xlsx can't be read as a parts list. It is a picture, not a list."),
        ("zeros.csv", b"Length,Width\n34\0,23\n", "It is not text."),
        (
            "long.csv",
            csv_file([HEADER, *[GOOD] * 5_001]),
            "It has 5,002 rows. A parts list may have 5,000; split it into several.",
        ),
        ("wide.csv", csv_file([("Length", "Width", *range(70)), range(72)]), "It has 72 columns."),
        ("../../etc/list.csv", b"", "list.csv can't be read as a parts list. It is empty."),
    ],
)
def test_a_file_that_is_no_list_is_named_and_said_why(upload, ply, name, data, sentence):
    page = upload(name, data)
    assert page.status_code == 422
    assert sentence in words_of(page)
    assert not Part.objects.exists()


def test_a_file_of_fifty_megabytes_is_refused_by_its_size(upload):
    page = upload("huge.csv", bytes(50 * 1024**2))
    assert page.status_code == 422
    assert "It has 50.0 MB; a parts list may have 5." in words_of(page)


@pytest.mark.parametrize(
    ("paste", "sentence"),
    [
        ("", "There is nothing in it: no row has any text."),
        ("length\twidth\n34\0\t23", "It holds control characters that no list has."),
        (
            'length,width\n"34,23\n1,2,3',
            "Row 2 has a quotation mark that opens a text and does not close it.",
        ),
    ],
)
def test_a_paste_that_is_no_list_comes_back_as_pasted(client, job, paste, sentence):
    page = client.post(reverse("parts-read", args=[job.number]), {"paste": paste})
    assert page.status_code == 422
    assert sentence in words_of(page)
    assert page.context["paste"] == paste
    assert not Part.objects.exists()


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ([("Qty", "Part", "Wood"), (1, "side", "ash")], "There is no column for the length or the width."),
        ([("Length", "Part"), (30, "side")], "There is no column for the width."),
        ([("Length", "Width"), ("", "")], "No row has a length or a width, so there is no part in it."),
    ],
)
def test_a_list_without_a_length_or_width_asks_which_column_it_is(upload, check, ply, rows, sentence):
    page = upload("list.csv", csv_file(rows))
    assert sentence in words_of(page)
    page = check(grid=hidden(page, "grid")[0])
    assert page.status_code == 422
    assert sentence in words_of(page)
    assert not Part.objects.exists()


# ---- cells that can't be understood --------------------------------------------------------------------

WOULD_DO = "Write 23 1/2, 23.5 or 597 mm."


@pytest.mark.parametrize(
    ("length", "sentence"),
    [
        ("1/0", f'Row 3, length: "1/0" divides by zero. {WOULD_DO}'),
        ("-3", f'Row 3, length: "-3" is below zero. {WOULD_DO}'),
        ("0", f'Row 3, length: "0" is not above zero. {WOULD_DO}'),
        ("9999999", 'Row 3, length: "9999999" is longer than'),
        ("1e9", f'Row 3, length: "1e9" is not a length. {WOULD_DO}'),
        ("23 1/2 x", f'Row 3, length: "23 1/2 x" is not a length. {WOULD_DO}'),
        ("=1+1", 'Row 3, length: "=1+1" is a formula, not a value. Write the value itself.'),
        ("#REF!", "Row 3, length: the formula gives #REF!, not a value. Write the value itself."),
        ("3/4/2026", "Row 3, length: the spreadsheet has turned what was typed into a date"),
        ("<b>30</b>", f'Row 3, length: "<b>30</b>" is not a length. {WOULD_DO}'),
        ("9" * 400, "Row 3, length: "),
    ],
)
def test_a_length_that_is_none_is_named_with_its_row_and_what_would_do(upload, check, ply, length, sentence):
    page = upload("list.csv", csv_file([HEADER, GOOD, (1, "top", length, "20", "birch ply 3/4")]))
    assert sentence in words_of(page)
    page = check(grid=hidden(page, "grid")[0])
    assert page.status_code == 422
    assert sentence in words_of(page)
    assert not Part.objects.exists()


@pytest.mark.parametrize("quantity", ["0", "1000000", "-2", "2.5", "a few", "²", "=2"])
def test_a_quantity_that_is_none_is_named_with_its_row(upload, check, ply, quantity):
    page = upload("list.csv", csv_file([HEADER, (quantity, *GOOD[1:])]))
    assert "Row 2, qty: " in words_of(page)
    page = check(grid=hidden(page, "grid")[0])
    assert page.status_code == 422
    assert "Row 2, qty: " in words_of(page)
    assert not Part.objects.exists()


def test_a_formula_that_was_never_reckoned_is_no_empty_cell(upload, check, ply):
    rows = [HEADER, (2, "side", "=B2*2", 20, "birch ply 3/4")]
    page = upload("list.xlsx", xlsx_file(Parts=rows))
    sentence = 'Row 2, length: "=B2*2" is a formula, not a value. Write the value itself.'
    assert sentence in words_of(page)
    assert check(grid=hidden(page, "grid")[0]).status_code == 422
    assert not Part.objects.exists()


# ---- what a browser would never send -------------------------------------------------------------------

WHOLE = {"rows": [["Length", "Width"], ["30", "20"]], "odd": [], "sheets": [], "sheet": ""}


@pytest.mark.parametrize(
    "grid",
    [
        "",
        "{",
        "null",
        "[]",
        "7",
        "{}",
        "NaN",
        "[" * 100_000,
        json.dumps({**WHOLE, "rows": 5}),
        json.dumps({**WHOLE, "rows": []}),
        json.dumps({**WHOLE, "rows": [5]}),
        json.dumps({**WHOLE, "rows": ["Length", "Width"]}),
        json.dumps({**WHOLE, "rows": [["Length", "Width"], [30, 20]]}),
        json.dumps({**WHOLE, "rows": [["Length", "Width"], [None, {}]]}),
        json.dumps({**WHOLE, "rows": [["Length", "Width"], ["30", "20\0"]]}),
        json.dumps({**WHOLE, "rows": [["Length"] * 5_000, ["30"]]}),
        json.dumps({**WHOLE, "rows": [["Length", "Width"], *[["1", "1"]] * 6_000]}),
        json.dumps({**WHOLE, "rows": [["Length", "Width"], ["30", "2" * 3_000]]}),
        json.dumps({**WHOLE, "odd": 5}),
        json.dumps({**WHOLE, "odd": [[1, 0]]}),
        json.dumps({**WHOLE, "odd": [[1, 0, "strange", "x"]]}),
        json.dumps({**WHOLE, "odd": [[[1], 0, "formula", "x"]]}),
        json.dumps({**WHOLE, "odd": [[1, 0, "formula", 5]]}),
        json.dumps({**WHOLE, "sheets": 5}),
        json.dumps({**WHOLE, "sheet": 5}),
    ],
    ids=lambda grid: grid[:60] or "nothing",
)
def test_a_list_that_does_not_come_through_whole_is_refused(check, ply, grid):
    page = check(grid=grid)
    assert page.status_code == 409
    assert "The list did not come through whole. Upload or paste it again." in words_of(page)
    assert not Part.objects.exists()


@pytest.mark.parametrize("place", ["99", "-1", "²", "x", "9" * 30, "9" * 5_000])
def test_a_column_that_is_not_there_is_none(check, ply, place):
    page = check(grid=grid_of(HEADER, GOOD), column_length=place)
    assert page.status_code == 422
    assert not Part.objects.exists()


def test_goods_are_no_answer_to_what_a_part_is_of(check):
    hinges = make_material("hinge", kind="goods")
    page = check(grid=grid_of(HEADER, GOOD), asked="birch ply 3/4", answer=hinges.pk)
    assert page.status_code == 422
    assert "Which material is it?" in words_of(page)
    assert not Part.objects.exists()
    assert not MaterialName.objects.exists()


@pytest.mark.parametrize("answer", ["0", "987654", "-1", "²", "x", "", "9" * 30, "9" * 5_000])
def test_a_material_that_is_not_kept_is_no_answer(check, answer):
    make_material("oak ply 1/2")
    page = check(grid=grid_of(HEADER, GOOD), asked="birch ply 3/4", answer=answer)
    assert page.status_code == 422
    assert "Which material is it?" in words_of(page)
    assert not Part.objects.exists()


def test_a_material_no_longer_kept_is_no_answer(check):
    old = make_material("old ply", retired=True)
    assert check(grid=grid_of(HEADER, GOOD), asked="birch ply 3/4", answer=old.pk).status_code == 422
    assert not Part.objects.exists()


def test_a_list_sent_twice_by_one_tap_is_on_the_list_once(check, job, ply):
    for _ in range(2):
        answer = check(grid=grid_of(HEADER, GOOD), key="the same tap")
        assert answer.url == reverse("parts", args=[job.number])
    assert Part.objects.count() == 1
    check(grid=grid_of(HEADER, GOOD), key="another tap")
    assert Part.objects.count() == 2


def test_a_list_is_not_replaced_where_parts_of_it_are_cut(check, job, ply):
    part = Part.objects.create(
        job=job, code="AAAAAA", position=1, name="leg", quantity=2, cut=1, length=1, width=1, material=ply
    )
    page = check(grid=grid_of(HEADER, GOOD), mode="replace")
    assert page.status_code == 409
    assert "1 of leg are cut already, so the list can't be replaced." in words_of(page)
    assert list(Part.objects.all()) == [part]


# ---- one part, typed -----------------------------------------------------------------------------------


TYPED = {"quantity": "2", "name": "side", "length": "34 1/2", "width": "23 1/4", "grain": "length"}


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"quantity": "0"}, "Quantity: Write a whole number from 1 to 9999."),
        ({"quantity": "1000000"}, "Quantity: Write a whole number from 1 to 9999."),
        ({"quantity": "two"}, "Quantity: Write a whole number from 1 to 9999."),
        ({"name": ""}, "Part: This field is required."),
        ({"name": "s" * 500}, "Part: Ensure this value has at most 80 characters (it has 500)."),
        ({"name": "a\0b"}, "Part: Null characters are not allowed."),
        ({"length": "1/0"}, f'"1/0" divides by zero. {WOULD_DO}'),
        ({"length": "-3"}, f'"-3" is below zero. {WOULD_DO}'),
        ({"width": "1e9"}, f'"1e9" is not a length. {WOULD_DO}'),
        ({"width": "9999999"}, '"9999999" is longer than'),
        ({"grain": "sideways"}, "Grain: Select a valid choice."),
        ({"material": "987654"}, "Material: Select a valid choice."),
        ({"material": "birch"}, "Material: Select a valid choice."),
        ({"also": "987654"}, "Would also do: Select a valid choice."),
        ({"also": "9" * 20}, "is not a valid value."),
        ({"note": "n" * 201}, "Note: Ensure this value has at most 200 characters (it has 201)."),
    ],
)
def test_a_typed_part_that_will_not_do_comes_back_as_typed(client, job, ply, wrong, sentence):
    page = client.post(reverse("part-new", args=[job.number]), {**TYPED, "material": ply.pk, **wrong})
    assert page.status_code == 422
    assert sentence in words_of(page)
    for name, text in wrong.items():
        assert page.context["form"][name].value() in (text, [text])
    assert not Part.objects.exists()


def test_goods_are_no_material_of_a_part(client, job):
    hinges = make_material("hinge", kind="goods")
    page = client.post(reverse("part-new", args=[job.number]), {**TYPED, "material": hinges.pk})
    assert page.status_code == 422
    assert not Part.objects.exists()


def test_a_part_that_is_cut_keeps_its_size_and_stays_on_the_list(client, job, ply):
    address = reverse("part-new", args=[job.number])
    client.post(address, {**TYPED, "material": ply.pk})
    part = Part.objects.get()
    Part.objects.update(cut=1)
    wider = {**TYPED, "material": ply.pk, "width": "24"}
    page = client.post(reverse("part", args=[job.number, part.pk]), wider)
    assert page.status_code == 422
    assert "1 of side are cut already; add a new part for another size." in words_of(page)
    page = client.post(reverse("part-remove", args=[job.number, part.pk]))
    assert page.status_code == 409
    assert "side: 1 were cut, so it stays on the list." in words_of(page)
    assert Part.objects.get().width == part.width
