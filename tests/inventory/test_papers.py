"""Label papers that a shop measured itself."""

import pypdfium2
import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from inventory import papers
from inventory.models import LabelPaper
from shared.measure import inches
from shared.shop import the_shop
from tests.factories import make_offcut

pytestmark = pytest.mark.django_db

FILLED_IN = {
    "name": "Tags from the box store",
    "paper_width": "8 1/2",
    "paper_height": "11",
    "label_width": "3",
    "label_height": "2",
    "columns": "2",
    "rows": "5",
    "left_margin": "1",
    "top_margin": "1/2",
    "pitch_x": "3 1/4",
    "pitch_y": "",
}


def test_a_paper_is_measured_and_printed_on(at_rack, bench):
    answer = at_rack.post(reverse("label-papers"), FILLED_IN)
    assert answer.status_code == 302
    paper = LabelPaper.objects.get()
    assert (paper.pitch_x, paper.pitch_y) == (inches("3 1/4"), inches("2"))
    layout = papers.layouts(the_shop())[f"own-{paper.pk}"]
    assert (layout.count, layout.corner(2)) == (10, (inches("4 1/4"), inches("1/2")))
    sent = {"layout": layout.key, "start": "2", "code": make_offcut(by=bench).code}
    printed = at_rack.post(reverse("labels-pdf"), sent)
    page = pypdfium2.PdfDocument(printed.content)[0]
    assert page.get_size() == pytest.approx((8.5 * 72, 11 * 72))


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("columns", "3", "do not lie inside the paper"),
        ("pitch_x", "2", "lie over each other"),
        ("label_width", "3 x", "is not a length"),
        ("columns", "0", "Labels side by side: "),
    ],
)
def test_a_paper_that_can_not_be_comes_back_as_typed(at_rack, field, typed, said):
    answer = at_rack.post(reverse("label-papers"), {**FILLED_IN, field: typed})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert f'value="{typed}"' in answer.content.decode()
    assert not LabelPaper.objects.exists()


def test_a_paper_is_removed(at_rack):
    at_rack.post(reverse("label-papers"), FILLED_IN)
    pk = LabelPaper.objects.get().pk
    assert at_rack.get(reverse("label-paper-remove", args=[pk])).status_code == 405
    at_rack.post(reverse("label-paper-remove", args=[pk]))
    assert not LabelPaper.objects.exists()


@pytest.mark.parametrize("wrong", [{"columns": 0}, {"label_width": 0}, {"pitch_x": inches(1)}])
def test_the_database_refuses_a_paper_that_can_not_be(wrong):
    sizes = {"paper_width": inches(8), "paper_height": inches(11), "label_width": inches(3)}
    sizes |= {"label_height": inches(2), "pitch_x": inches(3), "pitch_y": inches(2)}
    with pytest.raises(IntegrityError), transaction.atomic():
        LabelPaper.objects.create(name="Tags", **{**sizes, **wrong})
