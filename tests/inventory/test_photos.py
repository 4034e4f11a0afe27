"""Photos kept with a piece."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from inventory import photos
from inventory.models import Photo
from tests.factories import make_offcut

pytestmark = pytest.mark.django_db

GPS, ORIENTATION = 0x8825, 0x0112


@pytest.fixture
def piece(buyer):
    return make_offcut(by=buyer)


def taken(width=3000, height=2000, form="JPEG", *, turned=False):
    """A photo as a phone takes it: with where it was taken, and held sideways."""
    file = io.BytesIO()
    exif = Image.Exif()
    exif[GPS] = {1: "N", 2: (52.0, 30.0, 0.0)}
    if turned:
        exif[ORIENTATION] = 6
    Image.new("RGB", (width, height), "tan").save(file, form, exif=exif)
    return SimpleUploadedFile("IMG_0001.JPG", file.getvalue(), "image/jpeg")


def keep(browser, piece, upload):
    return browser.post(reverse("photo-add", args=[piece.code]), {"photo": upload})


def test_a_photo_is_kept_small_and_without_its_place(at_rack, piece):
    assert keep(at_rack, piece, taken()).status_code == 302
    photo = Photo.objects.get()
    kept = Image.open(photo.file)
    assert kept.size == (1600, 1067) == (photo.width, photo.height)
    assert not kept.getexif()
    assert b"Exif" not in photo.file.open("rb").read()
    assert "IMG_0001" not in photo.file.name
    page = at_rack.get(reverse("piece", args=[piece.code])).content.decode()
    assert reverse("photo", args=[photo.pk]) in page


def test_a_photo_stands_the_way_the_phone_was_held(at_rack, piece):
    keep(at_rack, piece, taken(800, 600, turned=True))
    assert Image.open(Photo.objects.get().file).size == (600, 800)


@pytest.mark.parametrize("content", [b"", b"<svg onload='x'/>", b"GIF89a", b"\xff\xd8\xff\xe0 torn"])
def test_what_is_no_photo_is_refused(at_rack, piece, content):
    answer = keep(at_rack, piece, SimpleUploadedFile("photo.jpg", content, "image/jpeg"))
    assert answer.status_code == 409
    assert not Photo.objects.exists()


def test_a_photo_with_too_many_pixels_is_refused(at_rack, piece, monkeypatch):
    monkeypatch.setattr(photos, "MOST_PIXELS", 1000)
    assert keep(at_rack, piece, taken(100, 100)).status_code == 409


def test_only_who_is_signed_in_sees_a_photo(at_rack, piece):
    keep(at_rack, piece, taken(80, 60))
    address = reverse("photo", args=[Photo.objects.get().pk])
    answer = at_rack.get(address)
    assert answer["Content-Type"] == "image/jpeg"
    assert "private" in answer["Cache-Control"]
    assert Client().get(address).status_code == 302


def test_a_photo_is_removed_with_its_file(at_rack, piece, django_capture_on_commit_callbacks):
    keep(at_rack, piece, taken(80, 60))
    photo = Photo.objects.get()
    storage, name = photo.file.storage, photo.file.name
    with django_capture_on_commit_callbacks(execute=True):
        at_rack.post(reverse("photo-remove", args=[photo.pk]))
    assert not Photo.objects.exists()
    assert not storage.exists(name)


@pytest.mark.parametrize("name", ["photo-add", "photo-remove"])
def test_opening_an_address_keeps_and_removes_nothing(at_rack, piece, name):
    args = [piece.code] if name == "photo-add" else [1]
    assert at_rack.get(reverse(name, args=args)).status_code == 405
