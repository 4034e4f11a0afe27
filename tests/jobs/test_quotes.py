"""A quote adds up to the cent, and nobody at the bench sees it."""

from decimal import Decimal

import pypdfium2
import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory.models import Material
from inventory.putting_in import put_in_goods
from jobs import estimating, quoting
from jobs.models import GoodsWanted, Quote
from jobs.quoting import Priced, Sheet, Typed
from shared.models import Shop
from shared.money import cost_of
from tests.factories import make_job, make_material, make_person

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True, "markup_goods": Decimal("0.25")})
    client.force_login(make_person())
    return client


@pytest.fixture
def job():
    """A job that wants goods for 40.00."""
    made, hinges = make_job("Wash stand"), make_material("Butt hinge", kind="goods")
    put_in_goods(material=hinges, quantity=Decimal(4), value=Decimal("40.00"), by=make_person())
    GoodsWanted.objects.create(job=made, material=hinges, quantity=4)
    return made


def terms(**others):
    return {
        "markup_sheet": "0",
        "markup_lumber": "0",
        "markup_goods": "25",
        "contingency": "10",
        "tax_rate": "8.5",
        "tax_name": "Sales tax",
        "note": "",
        "lines-TOTAL_FORMS": "1",
        "lines-INITIAL_FORMS": "0",
        "lines-0-what": "Bench work",
        "lines-0-quantity": "2.5",
        "lines-0-price": "$60.00",
        **others,
    }


def test_markup_contingency_labour_and_tax(desk, job):
    assert desk.post(reverse("quote", args=[job.number]), terms()).status_code == 302
    sheet = quoting.sheet_of(job, Shop.objects.get())
    # 40.00 and 10.00 markup; 5.00 contingency; 150.00 labour; 8.5 % of 205.00
    assert (sheet.cost, sheet.markup, sheet.contingency, sheet.others) == (40, 10, 5, 150)
    assert (sheet.tax, sheet.total) == (Decimal("17.42"), Decimal("222.42"))  # half a cent goes to even
    assert "$222.42" in desk.get(reverse("quote", args=[job.number])).content.decode()


@pytest.mark.parametrize(("rate", "tax"), [("7.25", "2.90"), ("8.875", "3.55")])
def test_a_tax_of_a_thousandth_of_a_percent_is_kept_and_reckoned_with(desk, job, rate, tax):
    asked = terms(
        markup_goods="0", contingency="0", tax_rate=rate, **{"lines-0-what": "", "lines-0-price": ""}
    )
    asked["lines-0-quantity"] = ""
    assert desk.post(reverse("quote", args=[job.number]), asked).status_code == 302
    assert quoting.sheet_of(job, Shop.objects.get()).tax == Decimal(tax)
    page = desk.get(reverse("quote", args=[job.number])).content.decode()
    assert f'value="{rate}"' in page
    assert f"Sales tax, {rate} %" in words_of(desk.get(reverse("quote-pdf", args=[job.number])).content)


def test_the_pdf_adds_up_as_it_goes(desk, job):
    desk.post(reverse("quote", args=[job.number]), terms())
    said = words_of(desk.get(reverse("quote-pdf", args=[job.number])).content)
    assert said.index("Bench work") < said.index("Before tax") < said.rindex("Total")
    assert "$50.00" in said  # material with its markup
    assert "$205.00" in said  # before tax


def test_a_new_quote_starts_from_the_shops_terms_and_keeps_its_own(desk, job):
    shop = Shop.objects.get()
    assert quoting.terms_of(job, shop).markup_goods == Decimal("0.25")
    desk.post(reverse("quote", args=[job.number]), terms(markup_goods="30"))
    shop.markup_goods = Decimal("0.9")
    assert quoting.terms_of(job, shop).markup_goods == Decimal("0.3")


def test_a_quote_that_was_given_stays(desk, job):
    desk.post(reverse("quote-given", args=[job.number]))
    GoodsWanted.objects.update(quantity=2)
    job.refresh_from_db()
    assert (job.state, job.estimate) == ("quoted", 40)
    assert quoting.sheet_of(job, Shop.objects.get()).cost == 40


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("markup_goods", "-5"),
        ("tax_rate", "101"),
        ("tax_rate", "7.2525"),
        ("lines-0-price", "-60"),
        ("lines-0-quantity", "0"),
        ("lines-0-price", "sixty"),
    ],
)
def test_what_makes_no_sense_is_shown_back_and_not_kept(desk, job, field, typed):
    page = desk.post(reverse("quote", args=[job.number]), terms(**{field: typed}))
    assert page.status_code == 422
    assert f'value="{typed}"' in page.content.decode()
    assert not Quote.objects.exists()


def words_of(pdf):
    return "\n".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(pdf))


def test_the_client_sees_prices_and_no_cost(desk, job):
    desk.post(reverse("quote", args=[job.number]), terms())
    address = reverse("quote-pdf", args=[job.number])
    inside, outside = words_of(desk.get(address).content), words_of(desk.get(f"{address}?for=client").content)
    assert "$40.00" in inside
    assert "Markup" in inside
    assert "$40.00" not in outside
    assert "Markup" not in outside
    for said in (inside, outside):
        assert "Bench work" in said
        assert "$222.42" in said


def test_nobody_at_the_bench_sees_a_quote(client, job):
    Shop.objects.update_or_create(pk=1, defaults={"is_set_up": True})
    client.force_login(make_person("bench"))
    for name in ("quote", "quote-pdf"):
        assert client.get(reverse(name, args=[job.number])).status_code == 403
    for name in ("quote", "quote-given", "estimate-freeze"):
        assert client.post(reverse(name, args=[job.number]), terms()).status_code == 403
    page = client.get(reverse("job", args=[job.number])).content.decode()
    assert "$" not in page


def test_goods_only_make_a_quote(job):
    assert estimating.quote(job) == 40


amounts = st.decimals(0, 9_999, places=2)
rates = st.decimals(0, 2, places=3)


@given(
    costs=st.lists(amounts, max_size=6),
    markup=rates,
    contingency=rates,
    tax=st.decimals(0, 1, places=3),
    typed=st.lists(st.tuples(st.decimals("0.001", 200, places=3), amounts), max_size=4),
)
def test_what_is_shown_adds_up_to_the_cent(costs, markup, contingency, tax, typed):
    sheet = Sheet(
        [Priced(Material(name="x"), cost, cost_of(markup, cost)) for cost in costs],
        [Typed("work", many, price) for many, price in typed],
        contingency,
        tax,
        "Tax",
    )
    shown = [row.price for row in sheet.materials] + [row.amount for row in sheet.typed]
    shown += [sheet.contingency, sheet.tax]
    assert sum(shown) == sheet.total
    assert all(amount == round(amount, 2) for amount in [*shown, sheet.total])
