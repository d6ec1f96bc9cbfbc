"""Work and photographs written down by mistake; the end of a job that was a slip of the thumb."""

from __future__ import annotations

import io

import pytest
from django.test import Client
from PIL import Image

from pegwood.book import benchwork, looking

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("halm")]


@pytest.fixture
def work(agreed):
    return benchwork.log_work(agreed, "cleaned the wrong camera", minutes=20, by="Tove Halm")


@pytest.fixture
def photo(agreed):
    out = io.BytesIO()
    Image.new("RGB", (32, 24)).save(out, "JPEG")
    out.seek(0)
    return looking.add_photo(agreed, out, name="thumb.jpg", by="Tove Halm")


def test_work_is_struck_out_with_the_reason(client: Client, agreed, work):
    assert f"/work/{work.pk}/strike/" in client.get(f"/job/{agreed.number}/").content.decode()
    assert client.post(f"/work/{work.pk}/strike/", {"reason": "wrong job"}).status_code == 302
    client.get(f"/job/{agreed.number}/")  # takes the line that says so off the next page
    assert f"/work/{work.pk}/strike/" not in client.get(f"/job/{agreed.number}/").content.decode()
    assert agreed.diary.get(what="struck out work").text == "wrong job"


def test_a_photograph_is_struck_out_with_the_reason(client: Client, agreed, photo):
    assert f"/photo/{photo.pk}/strike/" in client.get(f"/photo/{photo.pk}/").content.decode()
    assert client.post(f"/photo/{photo.pk}/strike/", {"reason": "thumb in front"}).status_code == 302
    assert not agreed.photos.exists()
    assert client.get(f"/photo/{photo.pk}/").status_code == 404


def test_without_a_reason_nothing_is_struck_out(client: Client, agreed, work, photo):
    for address in (f"/work/{work.pk}/strike/", f"/photo/{photo.pk}/strike/"):
        response = client.post(address, {"reason": " "})
        assert response.status_code == 422
        assert "Say why" in response.content.decode()
    assert agreed.work.exists()
    assert agreed.photos.exists()


def test_striking_out_twice_is_harmless(client: Client, agreed, work):
    for _ in range(2):
        assert client.post(f"/work/{work.pk}/strike/", {"reason": "wrong job"}).status_code == 302
    assert agreed.diary.filter(what="struck out work").count() == 1


def test_the_end_of_a_job_that_was_a_slip_is_taken_back(client: Client, agreed):
    client.post(f"/job/{agreed.number}/move/", {"move": "keep for parts", "text": "by letter"})
    assert "That was a slip" in client.get(f"/job/{agreed.number}/").content.decode()
    refused = client.post(f"/job/{agreed.number}/move/", {"move": "take a slip back", "text": ""})
    assert refused.status_code == 422
    client.post(f"/job/{agreed.number}/move/", {"move": "take a slip back", "text": "wrong tag"})
    agreed.refresh_from_db()
    assert agreed.standing == "agreed"
