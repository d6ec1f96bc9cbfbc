"""Photographs on a job card: added, captioned, shown drawn anew, handed out as they came."""

from __future__ import annotations

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pictures_sent import no_photograph, photograph
from PIL import Image

from pegwood.book.files.store import store
from pegwood.book.models import Job, Photo

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}
ORIENTATION, GPS = 0x0112, 0x8825  # Exif tags, from memory; the test writes and reads them through Pillow


def add(client: Client, job: Job, *files, **more):
    return client.post(f"/job/{job.number}/photos/", {"photos": list(files)}, **more)


@pytest.fixture
def photo(client: Client, arrived) -> Photo:
    add(client, arrived, photograph())
    return arrived.photos.get()


def with_a_place() -> SimpleUploadedFile:
    """A photograph taken upright with a phone that wrote down where."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    exif.get_ifd(GPS)[1] = "N"
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "grey").save(out, "JPEG", exif=exif)
    return SimpleUploadedFile("IMG 1.jpg", out.getvalue(), content_type="image/jpeg")


def test_several_are_added_at_once_and_the_same_twice_is_one(client: Client, arrived):
    response = add(client, arrived, photograph(grey=1), photograph(grey=2), photograph(grey=2))
    assert response["Location"].endswith("#photos")
    assert arrived.photos.count() == 2
    assert arrived.diary.filter(what="added a photograph").count() == 2


def test_the_script_gets_the_tile_alone(client: Client, arrived):
    page = add(client, arrived, photograph(), headers=LIVE).content.decode()
    assert page.strip().startswith("<figure")
    assert reverse("photo_small", args=[arrived.photos.get().pk]) in page


def test_a_bad_one_is_refused_by_name_and_the_good_one_stays(client: Client, arrived):
    response = add(client, arrived, photograph(), no_photograph("holiday.jpg"))
    assert response.status_code == 422
    assert "holiday.jpg is not a JPEG, PNG or HEIC photograph" in response.content.decode()
    assert arrived.photos.count() == 1


def test_nothing_sent_is_said_so(client: Client, arrived):
    assert "No photograph came along" in add(client, arrived).content.decode()
    assert add(client, arrived, headers=LIVE).status_code == 422


def test_small_and_large_are_drawn_upright_and_without_the_place(client: Client, arrived):
    add(client, arrived, with_a_place())
    photo = arrived.photos.get()
    assert (photo.width, photo.height) == (40, 60)
    for name in ("photo_small", "photo_large"):
        response = client.get(reverse(name, args=[photo.pk]))
        shown = Image.open(io.BytesIO(response.content))
        assert shown.format == "JPEG"
        assert shown.size == (40, 60)
        assert not dict(shown.getexif())
        assert "immutable" in response["Cache-Control"]


def test_the_original_is_handed_out_byte_for_byte_as_a_file(client: Client, arrived):
    sent = with_a_place()
    bytes_sent = sent.read()
    sent.seek(0)
    add(client, arrived, sent)
    response = client.get(reverse("photo_original", args=[arrived.photos.get().pk]))
    assert b"".join(response.streaming_content) == bytes_sent
    assert response["Content-Disposition"] == 'attachment; filename="IMG 1.jpg"'
    assert response["X-Content-Type-Options"] == "nosniff"


def test_a_caption_is_written_and_the_diary_keeps_the_old_one(client: Client, photo):
    address = reverse("photo", args=[photo.pk])
    client.post(address, {"caption": "front"})
    client.post(address, {"caption": "front, dented ring"})
    client.post(address, {"caption": "front, dented ring"})
    photo.refresh_from_db()
    entries = photo.job.diary.filter(what="captioned a photograph")
    assert photo.caption == "front, dented ring"
    assert [entry.old["caption"] for entry in entries] == ["", "front"]


def test_a_caption_that_is_too_long_is_refused_and_stays_typed(client: Client, photo):
    response = client.post(reverse("photo", args=[photo.pk]), {"caption": "x" * 161})
    assert response.status_code == 422
    assert "x" * 161 in response.content.decode()


def test_a_photograph_stands_between_its_neighbours(client: Client, arrived):
    for grey in (1, 2, 3):
        add(client, arrived, photograph(grey=grey))
    first, second, third = arrived.photos.all()
    page = client.get(reverse("photo", args=[second.pk])).content.decode()
    assert reverse("photo", args=[first.pk]) in page
    assert reverse("photo", args=[third.pk]) in page
    assert "2 of 3" in page


def test_a_damaged_file_is_said_to_be_damaged_and_nothing_of_it_is_shown(client: Client, photo):
    store().path(photo.file_id).write_bytes(b"rust")
    response = client.get(reverse("photo_original", args=[photo.pk]))
    assert response.status_code == 410
    assert "damaged" in response.content.decode()


def test_strangers_numbers_find_nothing(client: Client):
    for name in ("photo", "photo_small", "photo_large", "photo_original"):
        assert client.get(reverse(name, args=[4711])).status_code == 404


def test_pictures_cannot_be_posted_to_and_adding_refuses_get(client: Client, photo):
    assert client.post(reverse("photo_small", args=[photo.pk])).status_code == 405
    assert client.get(f"/job/{photo.job.number}/photos/").status_code == 405
