"""Signing in: by password, by a link that works once, and what keeps others out."""

import re
from datetime import timedelta
from unittest import mock

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shared import people, signing_in
from shared.models import Person, SignInLink, WrongSignIn
from shared.refusal import Refused
from shared.shop import set_up, the_shop
from tests.factories import make_person

pytestmark = pytest.mark.django_db
PASSWORD = "bench dog 42"


@pytest.fixture(autouse=True)
def an_open_shop():
    set_up(the_shop(), {"unit": "in", "name": "Two Benches"})


def sign_in(client: Client, username: str, password: str = PASSWORD, **others: str):
    return client.post(reverse("sign-in"), {"username": username, "password": password, **others})


def later(**passed: float):
    return mock.patch("django.utils.timezone.now", return_value=timezone.now() + timedelta(**passed))


def is_signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def test_the_right_password_signs_in(client):
    make_person("bench", username="ada")
    assert sign_in(client, "ada").url == reverse("home")
    assert is_signed_in(client)


def test_a_phone_may_write_the_name_with_a_capital(client):
    make_person("bench", username="ada")
    sign_in(client, "Ada ")
    assert is_signed_in(client)


def test_two_names_that_differ_in_capitals_only_are_refused():
    people.add_person(username="ada", name="", role="bench")
    with pytest.raises(Refused, match="already"):
        people.add_person(username="ADA", name="", role="bench")


def test_a_wrong_name_and_a_wrong_password_read_the_same(client):
    make_person("bench", username="ada")
    answers = [sign_in(client, "ada", "wrong"), sign_in(client, "nobody", PASSWORD)]
    assert [answer.status_code for answer in answers] == [422, 422]
    texts = [re.sub("nobody|ada|[A-Za-z0-9]{64}", "", answer.content.decode()) for answer in answers]
    assert texts[0] == texts[1]
    assert "go together" in texts[0]


def test_what_was_typed_comes_back_but_for_the_password(client):
    answer = sign_in(client, "ada.lovelace", "not-it-at-all")
    assert 'value="ada.lovelace"' in answer.content.decode()
    assert "not-it-at-all" not in answer.content.decode()


def test_who_no_longer_works_here_is_not_let_in(client):
    make_person("bench", username="ada", is_active=False)
    assert sign_in(client, "ada").status_code == 422


def test_after_ten_wrong_tries_even_the_right_password_waits_ten_minutes(client):
    make_person("bench", username="ada")
    for _ in range(10):
        sign_in(client, "ADA", "wrong")
    assert "too often" in sign_in(client, "ada").content.decode()
    with later(minutes=9, seconds=50):
        assert sign_in(client, "ada").status_code == 422
    with later(minutes=10, seconds=10):
        assert sign_in(client, "ada").status_code == 302


def test_ten_wrong_tries_at_one_phone_do_not_lock_out_another(client):
    make_person("bench", username="ada")
    for _ in range(10):
        sign_in(client, "ada", "wrong")
    other = Client(REMOTE_ADDR="192.168.1.77")
    assert sign_in(other, "ada").status_code == 302


def test_wrong_tries_are_forgotten_when_they_no_longer_count(client):
    sign_in(client, "ada", "wrong")
    with later(minutes=11):
        sign_in(client, "eva", "wrong")
    assert list(WrongSignIn.objects.values_list("username", flat=True)) == ["eva"]


def test_behind_a_proxy_the_address_is_the_one_the_proxy_saw(client, settings):
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    client.post(
        reverse("sign-in"),
        {"username": "ada", "password": "wrong"},
        headers={"X-Forwarded-For": "6.6.6.6, 192.168.1.30"},
    )
    assert WrongSignIn.objects.get().address == "192.168.1.30"


@pytest.mark.parametrize("wanted", ["/stock?material=3", "/S/K7M2Q4"])
def test_signing_in_goes_on_to_the_page_that_was_wanted(client, wanted):
    make_person("bench", username="ada")
    assert sign_in(client, "ada", next=wanted).url == wanted


@pytest.mark.parametrize(
    "wanted", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"]
)
def test_signing_in_never_leads_elsewhere(client, wanted):
    make_person("bench", username="ada")
    assert sign_in(client, "ada", next=wanted).url == reverse("home")


def test_signing_out_is_a_post_and_ends_the_session(client):
    client.force_login(make_person("bench"))
    assert client.get(reverse("sign-out")).status_code == 405
    assert client.post(reverse("sign-out")).url == reverse("sign-in")
    assert not is_signed_in(client)


# ---- the link that works once ---------------------------------------------


def once(token: str) -> str:
    return reverse("sign-in-once", args=[token])


def test_a_link_signs_in_once(client):
    ada = people.add_person(username="ada", name="Ada", role="bench")
    token = signing_in.make_link(ada)
    assert client.post(once(token)).url == reverse("password")
    assert is_signed_in(client)
    assert Client().post(once(token)).status_code == 410


def test_looking_at_a_link_does_not_use_it_up(client):
    token = signing_in.make_link(make_person("bench"))
    assert client.get(once(token)).status_code == 200
    assert not is_signed_in(client)
    assert client.post(once(token)).status_code == 302


def test_a_link_ends_after_a_day(client):
    token = signing_in.make_link(make_person("bench"))
    with later(hours=24, seconds=1):
        assert client.get(once(token)).status_code == 410
        assert client.post(once(token)).status_code == 410


def test_a_new_link_ends_the_one_before(client):
    ada = make_person("bench")
    old = signing_in.make_link(ada)
    signing_in.make_link(ada)
    assert client.post(once(old)).status_code == 410


def test_a_made_up_link_signs_nobody_in(client):
    assert client.post(once("A" * 43)).status_code == 410


def test_the_database_does_not_hold_the_link_itself():
    token = signing_in.make_link(make_person("bench"))
    assert token not in str(SignInLink.objects.values().get())


def test_who_leaves_takes_no_open_link_along(client):
    ada = make_person("bench")
    token = signing_in.make_link(ada)
    people.let_go(ada)
    people.bring_back(ada)
    assert client.post(once(token)).status_code == 410


def test_no_link_is_made_for_who_left():
    with pytest.raises(Refused, match="no longer"):
        signing_in.make_link(make_person("bench", is_active=False))


# ---- one's own password ---------------------------------------------

NEW = {"password": "plane iron 7 sharp", "again": "plane iron 7 sharp"}


def test_a_link_that_stood_in_for_a_forgotten_password_needs_no_old_one(client):
    ada = make_person("bench", username="ada")
    client.post(once(signing_in.make_link(ada)))
    assert client.post(reverse("password"), NEW).status_code == 302
    assert sign_in(Client(), "ada", NEW["password"]).status_code == 302


def test_an_hour_after_the_link_the_old_password_is_needed(client):
    client.post(once(signing_in.make_link(make_person("bench"))))
    with later(hours=1, seconds=1):
        assert client.post(reverse("password"), NEW).status_code == 422


def test_a_new_password_needs_the_one_in_use(client):
    client.force_login(make_person("bench", username="ada"))
    refused = client.post(reverse("password"), {"now": "a guess", **NEW})
    assert refused.status_code == 422
    assert "not the password in use" in refused.content.decode()
    assert client.post(reverse("password"), {"now": PASSWORD, **NEW}).status_code == 302
    assert is_signed_in(client)


def test_a_new_password_signs_out_the_other_phones(client):
    ada = make_person("bench")
    phone = Client()
    phone.force_login(ada)
    client.force_login(ada)
    client.post(reverse("password"), {"now": PASSWORD, **NEW})
    assert phone.get(reverse("password")).url.startswith(reverse("sign-in"))


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"again": "plane iron 8 sharp"}, "differ"),
        ({"password": "short", "again": "short"}, "too short"),
        ({"password": "password123", "again": "password123"}, "too common"),
    ],
)
def test_a_password_that_will_not_do_is_refused(client, change, sentence):
    ada = make_person("bench")
    client.force_login(ada)
    answer = client.post(reverse("password"), {"now": PASSWORD, **NEW, **change})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert Person.objects.get(pk=ada.pk).check_password(PASSWORD)


def test_a_password_of_ones_own_ends_the_links(client):
    ada = make_person("bench")
    token = signing_in.make_link(ada)
    signing_in.set_password(ada, NEW["password"])
    assert client.post(once(token)).status_code == 410
