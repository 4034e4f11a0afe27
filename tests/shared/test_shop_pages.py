"""The owner's pages: a new shop's first page, settings and people."""

import re
from decimal import Decimal

import pytest
import zxingcpp
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from shared import people
from shared.fields import TicksField
from shared.measure import inches, mm
from shared.models import Person, Shop
from shared.refusal import Refused
from shared.shop import set_up, the_shop
from tests.factories import make_person

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Shop:
    set_up(the_shop(), {"unit": "in", "name": "Two Benches"})
    return the_shop()


@pytest.fixture
def owner() -> Person:
    return make_person("owner", username="olive")


@pytest.fixture
def as_owner(client: Client, owner: Person) -> Client:
    client.force_login(owner)
    return client


def text_of(answer) -> str:
    return answer.content.decode()


# ---- a new shop ---------------------------------------------

WELCOME = {
    "name": "Two Benches",
    "unit": "in",
    "currency": "usd",
    "time_zone": "America/Denver",
    "scan_address": "http://192.168.1.20:8000/",
    "kerf": "0.118",
    "keep_length": "14",
    "keep_width": "5 1/2",
    "password": "plane iron 7 sharp",
    "again": "plane iron 7 sharp",
}


@pytest.fixture
def new_owner(client: Client) -> Client:
    """Who came in by the link that `manage.py start` prints."""
    person = people.first_owner()
    assert person is not None
    client.force_login(person)
    return client


def test_every_page_of_a_new_shop_leads_its_owner_to_the_first_one(new_owner):
    for name in ("home", "shop", "people", "password"):
        assert new_owner.get(reverse(name)).url == reverse("first-run")


def test_the_first_page_opens_the_shop(new_owner):
    assert new_owner.post(reverse("first-run"), WELCOME).url == reverse("home")
    shop = the_shop()
    assert (shop.name, shop.currency, shop.time_zone) == ("Two Benches", "USD", "America/Denver")
    assert (shop.kerf, shop.keep_length, shop.keep_width) == (inches("0.118"), inches(14), inches("5 1/2"))
    assert shop.scan_address == "HTTP://192.168.1.20:8000"
    assert shop.is_set_up
    assert Person.objects.get().check_password("plane iron 7 sharp")
    assert new_owner.get(reverse("shop")).status_code == 200


def test_a_metric_shop_types_millimetres_on_its_first_page_already(new_owner):
    metric = {**WELCOME, "unit": "mm", "kerf": "3.2", "keep_length": "300", "keep_width": "4 in"}
    new_owner.post(reverse("first-run"), metric)
    shop = the_shop()
    assert (shop.kerf, shop.keep_length, shop.keep_width) == (mm("3.2"), mm(300), inches(4))
    assert (shop.trim, shop.stave_most) == (mm(6), mm(125))


def test_a_metric_shop_starts_from_round_millimetres(new_owner):
    metric = {**WELCOME, "unit": "mm", "kerf": "3", "keep_length": "300", "keep_width": "100"}
    new_owner.post(reverse("first-run"), metric)
    shop = the_shop()
    lengths = [field.name for field in Shop._meta.get_fields() if isinstance(field, TicksField)]
    odd = {name: getattr(shop, name) for name in lengths if (getattr(shop, name) or 0) % mm("0.5")}
    assert odd == {}


def test_what_the_first_page_suggests_means_the_same_in_either_unit(new_owner):
    page = text_of(new_owner.get(reverse("first-run")))
    suggested = dict(re.findall(r'name="(kerf|keep_length|keep_width)" value="([^"]*)"', page))
    new_owner.post(reverse("first-run"), {**WELCOME, **suggested, "unit": "mm"})
    shop = the_shop()
    assert (shop.kerf, shop.keep_length, shop.keep_width) == (inches("1/8"), inches(12), inches(4))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"kerf": "thin"}, "&quot;thin&quot; is not a length"),
        ({"keep_width": "0"}, "above zero"),
        ({"currency": "dollars"}, "three letters"),
        ({"scan_address": "shop pc"}, "is no address"),
        ({"time_zone": "Mars/Base"}, "Select a valid choice"),
        ({"again": "plane iron"}, "differ"),
        ({"password": "", "again": ""}, "required"),
    ],
)
def test_a_first_page_that_will_not_do_comes_back_as_typed(new_owner, change, sentence):
    answer = new_owner.post(reverse("first-run"), {**WELCOME, **change})
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    if shown := next(
        (value for key, value in change.items() if key not in ("again", "password", "time_zone")), ""
    ):
        assert f'value="{shown}"' in text_of(answer)
    assert not the_shop().is_set_up
    assert not Person.objects.get().has_usable_password()


def test_the_first_page_sent_twice_opens_the_shop_once(new_owner):
    new_owner.post(reverse("first-run"), WELCOME)
    again = new_owner.post(reverse("first-run"), {**WELCOME, "name": "Other"})
    assert again.url == reverse("shop")
    assert the_shop().name == "Two Benches"


def test_the_first_page_is_the_owners(client):
    client.force_login(make_person("bench"))
    assert client.post(reverse("first-run"), WELCOME).status_code == 403
    assert Client().post(reverse("first-run"), WELCOME).url.startswith(reverse("sign-in"))
    assert not the_shop().is_set_up


# ---- settings ---------------------------------------------

SAW = {
    "group": "saw",
    "kerf": "3/32",
    "trim": "0",
    "longest_rip": "",
    "widest_crosscut": "48",
    "least_strip": "40 mm",
}


def test_the_saws_settings_are_saved_and_no_others(as_owner, shop):
    assert as_owner.post(reverse("shop"), SAW).url == reverse("shop") + "#saw"
    saved = the_shop()
    assert (saved.kerf, saved.trim, saved.longest_rip) == (inches("3/32"), 0, None)
    assert (saved.widest_crosscut, saved.least_strip) == (inches(48), mm(40))
    assert (saved.name, saved.keep_length) == ("Two Benches", inches(12))


def test_saving_every_group_untouched_changes_nothing(as_owner, shop):
    before = Shop.objects.values().get()
    page = text_of(as_owner.get(reverse("shop")))
    for form in page.split('<form class="form"')[1:]:
        fields = dict(re.findall(r'<input type="(?:hidden|text)" name="(\w+)"[^>]*?value="([^"]*)"', form))
        fields |= dict(re.findall(r'type="radio" name="(\w+)" value="(\w+)"[^>]*checked', form))
        for name, options in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', form, re.DOTALL):
            fields[name] = re.findall(r'value="([^"]*)" selected', options)[0]
        assert as_owner.post(reverse("shop"), fields).status_code == 302, fields
    assert Shop.objects.values().get() == before


def test_two_owners_who_save_two_groups_do_not_undo_each_other(as_owner, shop):
    the_other = Client()
    the_other.force_login(make_person("owner"))
    as_owner.post(reverse("shop"), SAW)
    the_other.post(
        reverse("shop"), {"group": "keeping", "keep_length": "10", "keep_width": "3", "keep_rate": "40"}
    )
    saved = the_shop()
    assert (saved.kerf, saved.keep_length, saved.keep_rate) == (inches("3/32"), inches(10), Decimal("0.4"))


@pytest.mark.parametrize(
    ("sent", "typed", "sentence"),
    [
        (SAW | {"kerf": "blade"}, "blade", "is not a length"),
        (
            {"group": "keeping", "keep_length": "9", "keep_width": "3", "keep_rate": "120"},
            "120",
            "no percentage",
        ),
        (
            {"group": "planning", "first_cut": "rip", "stages": "0", "planning_seconds": "5"},
            "0",
            "Write a whole number from 1 to",
        ),
        (
            {"group": "lumber", "rough_length": "1", "rough_width": "1", "waste_on_net": "501"},
            "501",
            "from 0 to 500",
        ),
    ],
)
def test_a_setting_that_will_not_do_comes_back_as_typed(as_owner, shop, sent, typed, sentence):
    before = Shop.objects.values().get()
    answer = as_owner.post(reverse("shop"), sent)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert f'value="{typed}"' in text_of(answer)
    assert Shop.objects.values().get() == before


def test_a_group_nobody_knows_changes_nothing(as_owner, shop):
    assert as_owner.post(reverse("shop"), {"group": "is_set_up", "kerf": "1"}).status_code == 422


@pytest.mark.parametrize("role", ["buyer", "bench"])
def test_settings_and_people_are_the_owners(client, shop, owner, role):
    client.force_login(make_person(role))
    for name in ("shop", "people", "person-new"):
        assert client.get(reverse(name)).status_code == 403
    for name in ("person", "person-link", "person-leaves", "person-returns"):
        assert client.post(reverse(name, args=[owner.pk]), {"role": "bench"}).status_code == 403
    assert client.post(reverse("shop"), SAW).status_code == 403
    assert the_shop().kerf == inches("1/8")
    assert client.get(reverse("password")).status_code == 200


# ---- people ---------------------------------------------


def link_on(answer) -> str:
    return re.findall(r"(https?://\S*/sign-in/once/[^<\s]+)", text_of(answer))[0]


def path_of(link: str) -> str:
    return "/" + link.split("/", 3)[3]


def test_a_new_person_gets_a_role_and_a_link_shown_once(as_owner, shop):
    answer = as_owner.post(reverse("person-new"), {"username": "Ada", "name": "Ada", "role": "bench"})
    ada = Person.objects.get(username="ada")
    assert list(ada.groups.values_list("name", flat=True)) == ["bench"]
    link = link_on(answer)
    assert link.startswith("http://testserver/")
    assert "sign-in/once" not in text_of(as_owner.get(reverse("person", args=[ada.pk])))
    phone = Client()
    phone.post(path_of(link))
    assert phone.session["_auth_user_id"] == str(ada.pk)


def test_a_phone_reads_the_link_from_the_screen(as_owner, shop, owner):
    answer = as_owner.post(reverse("person-link", args=[owner.pk]))
    side = int(re.findall(r'viewBox="0 0 (\d+) ', text_of(answer))[-1])
    picture = Image.new("L", (8 * side, 8 * side), 255)
    for column, row in re.findall(r"M(\d+) (\d+)h1v1h-1z", text_of(answer)):
        picture.paste(0, (8 * int(column), 8 * int(row), 8 * int(column) + 8, 8 * int(row) + 8))
    (read,) = zxingcpp.read_barcodes(picture)
    assert read.text == link_on(answer)


def test_a_link_made_on_the_server_itself_leads_where_phones_find_it(client, owner):
    set_up(the_shop(), {"unit": "in", "scan_address": "HTTP://192.168.1.20:8000"})
    client.force_login(owner)
    answer = client.post(reverse("person-link", args=[owner.pk]), headers={"host": "localhost:8000"})
    assert link_on(answer).startswith("http://192.168.1.20:8000/sign-in/once/")


def test_a_person_added_twice_is_one_person(as_owner, shop):
    new = {"username": "ada", "name": "Ada", "role": "bench"}
    as_owner.post(reverse("person-new"), new)
    again = as_owner.post(reverse("person-new"), new)
    assert again.status_code == 422
    assert "already" in text_of(again)
    assert Person.objects.filter(username="ada").count() == 1


def test_a_sign_in_name_with_a_space_comes_back_as_typed(as_owner, shop):
    answer = as_owner.post(reverse("person-new"), {"username": "ada l", "name": "Ada", "role": "bench"})
    assert answer.status_code == 422
    assert 'value="ada l"' in text_of(answer)
    assert "no spaces" in text_of(answer)


def test_a_role_is_changed_and_others_are_left_alone(as_owner, shop):
    ada, eva = make_person("bench"), make_person("bench")
    as_owner.post(reverse("person", args=[ada.pk]), {"name": "Ada", "role": "buyer"})
    roles = {person.pk: [group.name for group in person.groups.all()] for person in Person.objects.all()}
    assert roles[ada.pk] == ["buyer"]
    assert roles[eva.pk] == ["bench"]


def test_the_last_owner_stays_one(as_owner, shop, owner):
    answer = as_owner.post(reverse("person", args=[owner.pk]), {"name": "Olive", "role": "bench"})
    assert answer.status_code == 422
    assert "only owner" in text_of(answer)
    assert as_owner.post(reverse("person-leaves", args=[owner.pk])).status_code == 409
    owner.refresh_from_db()
    assert owner.is_active
    assert owner.groups.get().name == "owner"


def test_an_owner_who_left_does_not_count_as_the_one_that_stays(shop, owner):
    left = make_person("owner")
    people.let_go(left)
    with pytest.raises(Refused, match="only owner"):
        people.change_person(owner, name="", role="bench")


def test_one_of_two_owners_may_give_the_role_up(shop, owner):
    make_person("owner")
    people.change_person(owner, name="Olive", role="bench")
    assert owner.groups.get().name == "bench"


def test_who_leaves_is_signed_out_at_once_and_may_come_back(as_owner, shop):
    ada, phone = make_person("bench", username="ada"), Client()
    phone.force_login(ada)
    as_owner.post(reverse("person-leaves", args=[ada.pk]))
    as_owner.post(reverse("person-leaves", args=[ada.pk]))
    assert phone.get(reverse("password")).url.startswith(reverse("sign-in"))
    as_owner.post(reverse("person-returns", args=[ada.pk]))
    ada.refresh_from_db()
    assert ada.is_active


def test_what_changes_something_is_a_post(as_owner, shop, owner):
    for name in ("person-link", "person-leaves", "person-returns"):
        assert as_owner.get(reverse(name, args=[owner.pk])).status_code == 405


def test_the_people_page_asks_no_more_of_the_database_for_thirty_than_for_three(as_owner, shop):
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            as_owner.get(reverse("people"))
        return len(asked)

    make_person("bench")
    make_person("buyer")
    with_three = queries()
    for _ in range(27):
        make_person("bench")
    assert queries() == with_three
