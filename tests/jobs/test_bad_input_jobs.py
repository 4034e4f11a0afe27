"""A job's data, its plans, its goods and its spend, asked for wrongly: a sentence each, and nothing changed."""

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Movement
from jobs import holding
from jobs.models import BuyLine, Job, Part, Plan
from tests.factories import make_job, make_material, make_part, make_person, make_sheet
from tests.jobs.refusing import FAR_TOO_LONG, accepted_plan, refused
from tests.pages import words_of

pytestmark = pytest.mark.django_db


# ---- a job's own data ----------------------------------------------------------------------------------

WRONG_JOBS = [
    ({"title": ""}, "What it is: This field is required."),
    ({"title": "   "}, "What it is: This field is required."),
    ({"title": "t" * 500}, "What it is: Ensure this value has at most 100 characters (it has 500)."),
    ({"title": "a\0b"}, "What it is: Null characters are not allowed."),
    ({"number": "26/41"}, "Number: A number can't hold a stroke, nor be “new”. Write 26-041."),
    ({"number": "New"}, "Number: A number can't hold a stroke, nor be “new”. Write 26-041."),
    ({"number": ".."}, "Number: A number can't hold a stroke, nor be “new”. Write 26-041."),
    ({"number": "."}, "Number: A number can't hold a stroke, nor be “new”. Write 26-041."),
    ({"number": "1" * 21}, "Number: Ensure this value has at most 20 characters (it has 21)."),
    ({"client_name": "c" * 81}, "For whom: Ensure this value has at most 80 characters (it has 81)."),
    ({"due": "soon"}, "Due: Enter a valid date."),
    ({"due": "2026-02-30"}, "Due: Enter a valid date."),
    ({"note": "n" * 2_001}, "Note: Ensure this value has at most 2000 characters (it has 2001)."),
]


@pytest.mark.parametrize(("wrong", "sentence"), WRONG_JOBS)
def test_a_new_job_that_will_not_do_comes_back_as_typed(post, wrong, sentence):
    page = post("job-new", **{"title": "Wash stand", **wrong})
    refused(page, 422, sentence)
    for name, text in wrong.items():
        assert page.context["form"][name].value() == text
    assert not Job.objects.exists()


def test_a_number_that_is_taken_is_said_with_the_next_that_is_free(post, job):
    page = post("job-new", title="Bench", number=job.number)
    refused(page, 422, "Number: There is a job 26-041 already.")
    assert "is free." in words_of(page)
    assert list(Job.objects.all()) == [job]


@pytest.mark.parametrize(("wrong", "sentence"), [*WRONG_JOBS, ({"state": "gone"}, "State: Select a valid")])
def test_a_job_changed_to_what_will_not_do_stays_as_it_was(post, job, wrong, sentence):
    page = post("job-edit", job.number, **{"title": "Other", "state": "asked", **wrong})
    refused(page, 422, sentence)
    assert list(Job.objects.values_list("number", "title")) == [("26-041", job.title)]


def test_a_job_keeps_a_number_that_movements_name_and_takes_none_of_another(post, job, owner, ply):
    other = make_job(number="26-042")
    page = post("job-edit", job.number, title="Other", state="asked", number=other.number)
    refused(page, 422, "There is a job 26-042 already.")
    holding.hold(piece=make_sheet(by=owner, material=ply), job=job, by=owner)
    page = post("job-edit", job.number, title="Other", state="asked", number="26-050")
    refused(page, 422, "Movements name 26-041, so the number stays.")
    assert Job.objects.filter(number="26-041", title=job.title).exists()


# ---- plans ---------------------------------------------------------------------------------------------


def test_there_is_nothing_to_plan_without_parts_or_for_a_job_that_is_done(post, desk, job, ply):
    refused(
        post("plan-ask", job.number), 409, "There is nothing to plan for 26-041. Its parts list is empty."
    )
    make_part(job, ply)
    Job.objects.update(state=Job.State.DONE)
    refused(post("plan-ask", job.number), 409, "open it again before planning.")
    refused(desk.get(reverse("plan-pdf", args=[job.number])), 409, "There is no plan to print yet.")
    assert not Plan.objects.exists()


@pytest.mark.parametrize("plan", ["", "0", "987654", "-1", "²", "x", FAR_TOO_LONG])
def test_a_plan_that_is_not_there_is_not_accepted(post, job, plan):
    refused(post("plan-accept", job.number, plan=plan), 409, "A newer plan has taken this one's place.")


def test_another_jobs_plan_is_not_accepted(post, job, ply, owner):
    make_part(job, ply)
    other = make_job()
    page = post("plan-accept", other.number, plan=accepted_plan(job, owner).pk)
    refused(page, 409, "A newer plan has taken this one's place.")
    assert not other.holds.exists()


# ---- goods ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("do", [{}, {"back": "1"}, {"want": "1"}], ids=["issue", "back", "want"])
@pytest.mark.parametrize(
    ("quantity", "sentence"),
    [
        ("0", "The quantity must be above zero."),
        ("-1", "The quantity must be above zero."),
        ("1e9", "The quantity is too large. Write at most 99999."),
        ("9" * 40, "The quantity is too large. Write at most 99999."),
        ("1e999999", "The quantity is too large. Write at most 99999."),
        ("two", "The quantity is no number. Write 2 or 0.5."),
        ("NaN", "The quantity is no number. Write 2 or 0.5."),
        ("Infinity", "The quantity is no number. Write 2 or 0.5."),
        ("0.0001", "The quantity is too fine. Write at most three decimals."),
        ("", "Say how many."),
    ],
)
def test_so_many_goods_that_can_not_be_are_refused(post, job, quantity, sentence, do):
    hinges = make_material("hinge", kind="goods")
    refused(post("job-goods", job.number, material=hinges.pk, quantity=quantity, **do), 409, sentence)
    assert not Movement.objects.exists()
    assert not BuyLine.objects.exists()


@pytest.mark.parametrize("material", ["", "0", "987654", "²", "hinge", FAR_TOO_LONG])
def test_goods_that_are_not_kept_are_refused(post, job, material):
    page = post("job-goods", job.number, material=material, quantity="1")
    refused(page, 409, "These goods are not kept here." if material else "Choose which goods.")


def test_goods_that_are_not_there_do_not_go_into_a_job_nor_come_back(post, job, ply):
    hinges = make_material("hinge", kind="goods", unit="pair")
    asked = {"material": hinges.pk, "quantity": "2"}
    refused(post("job-goods", job.number, **asked), 409, "Only 0 pair of hinge are in stock")
    page = post("job-goods", job.number, back="1", **asked)
    refused(page, 409, "26-041 has only 0 pair of hinge to give back.")
    page = post("job-goods", job.number, material=hinges.pk, quantity="0.5")
    refused(page, 409, "hinge is counted whole. Write 1, 2 or 3.")
    page = post("job-goods", job.number, material=ply.pk, quantity="1")
    refused(page, 409, "These goods are not kept here.")
    assert not Movement.objects.exists()


# ---- spend ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"first": "soon"}, "The first day is no date. Write 2026-11-30."),
        ({"last": "2026-02-30"}, "The last day is no date. Write 2026-11-30."),
        ({"first": "2026-11-02", "last": "2026-11-01"}, "The last day comes before the first."),
        ({"group": "colour"}, "Select a valid choice."),
        ({"client": "987654"}, "Select a valid choice."),
        ({"material": "ash"}, "Select a valid choice."),
        ({"material": FAR_TOO_LONG}, "Select a valid choice."),
    ],
)
def test_spend_that_is_asked_for_wrongly_is_not_all_spend(desk, asked, sentence):
    refused(desk.get(reverse("spend"), asked), 422, sentence)
    for kind in ("csv", "xlsx"):
        answer = desk.get(reverse("spend-export", args=[kind]), asked)
        refused(answer, 409, sentence)


def test_there_are_two_ways_to_export(desk, job):
    assert desk.get(reverse("spend-export", args=["pdf"])).status_code == 404
    assert desk.get(reverse("parts-export", args=[job.number, "pdf"])).status_code == 404


@pytest.mark.parametrize(
    "asked",
    [
        {"page": "0"},
        {"page": "x"},
        {"page": FAR_TOO_LONG},
        {"state": "x"},
        {"q": "%' OR 1=1 --"},
        {"q": "é" * 5_000},
    ],
)
def test_the_list_of_jobs_answers_whatever_is_asked(desk, job, asked):
    assert desk.get(reverse("jobs"), asked).status_code == 200


# ---- sent twice ----------------------------------------------------------------------------------------


def test_a_job_taken_on_twice_by_one_tap_is_one_job(post):
    for _ in range(2):
        answer = post("job-new", title="Wash stand", key="the same tap")
    assert answer.url == reverse("parts", args=[Job.objects.get().number])
    post("job-new", title="Wash stand", key="another tap")
    assert Job.objects.count() == 2


def test_a_part_typed_once_is_on_the_list_once(post, job, ply):
    typed = {"quantity": "2", "name": "side", "length": "30", "width": "20", "grain": "length"}
    for _ in range(2):
        answer = post("part-new", job.number, material=ply.pk, again="1", key="the same tap", **typed)
    assert answer.url == reverse("part-new", args=[job.number])
    assert Part.objects.count() == 1


def test_goods_wanted_by_one_tap_are_wanted_once(post, job):
    hinges = make_material("hinge", kind="goods")
    for _ in range(2):
        assert (
            post("job-goods", job.number, material=hinges.pk, quantity="2", want="1", key="k").status_code
            == 302
        )
    assert BuyLine.objects.get().quantity == 2


def test_a_form_that_was_refused_may_be_sent_again_with_the_same_key(post):
    assert post("job-new", title="", key="k").status_code == 422
    assert post("job-new", title="Wash stand", key="k").status_code == 302


def test_someone_elses_key_is_no_key_of_mine(post):
    post("job-new", title="Wash stand", key="k")
    other = Client()
    other.force_login(make_person("bench"))
    other.post(reverse("job-new"), {"title": "Bench", "key": "k"})
    assert Job.objects.count() == 2
