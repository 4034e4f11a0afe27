"""Holding and releasing as taps that may have waited on a phone for hours."""

import pytest
from django.urls import reverse

from jobs import holding
from jobs.models import Hold, Job
from tests.factories import make_job, make_offcut

pytestmark = pytest.mark.django_db


@pytest.fixture
def piece(owner):
    return make_offcut(by=owner)


@pytest.fixture
def sent(desk):
    """Sends a tap as a phone does and returns what it is told."""

    def send(name, piece, **fields):
        address = reverse(name, args=[piece.code])
        return desk.post(address, fields, headers={"Accept": "application/json"}).json()

    return send


def test_a_hold_sent_twice_counts_once_and_is_well_both_times(sent, piece, job):
    said = [sent("hold", piece, job=job.number, key="k") for _ in range(2)]
    assert [one["ok"] for one in said] == [True, True]
    assert piece.movements.filter(verb="hold").count() == 1
    assert Hold.objects.get().job == job


def test_a_hold_for_what_another_job_got_meanwhile_is_refused(sent, piece, job, owner):
    holding.hold(piece=piece, job=make_job("Bench", number="26-099"), by=owner)
    said = sent("hold", piece, job=job.number, key="k")
    assert not said["ok"]
    assert "held for 26-099 Bench" in said["sentence"]


def test_a_hold_for_a_job_done_meanwhile_is_refused(sent, piece, job):
    Job.objects.update(state=Job.State.DONE)
    said = sent("hold", piece, job=job.number, key="k")
    assert not said["ok"]
    assert "nothing is held for it" in said["sentence"]
    assert not Hold.objects.exists()


def test_a_release_takes_no_other_jobs_promise(sent, piece, job, owner):
    other = make_job("Bench", number="26-099")
    holding.hold(piece=piece, job=other, by=owner)
    said = sent("release", piece, job=job.number, key="k")
    assert not said["ok"]
    assert Hold.objects.get().job == other


def test_a_release_sent_twice_releases_once(sent, piece, job, owner):
    holding.hold(piece=piece, job=job, by=owner)
    assert sent("release", piece, job=job.number, key="k")["ok"]
    holding.hold(piece=piece, job=job, by=owner)
    assert sent("release", piece, job=job.number, key="k")["ok"]
    assert Hold.objects.get().job == job


def test_the_forms_are_taps(desk, piece, job, owner):
    page = desk.get(reverse("hold-for", args=[piece.code])).content.decode()
    assert 'data-tap="Hold ' in page
    holding.hold(piece=piece, job=job, by=owner)
    page = desk.get(reverse("piece", args=[piece.code])).content.decode()
    assert f'from {job.number}"' in page.partition('data-tap="Release ')[2]
