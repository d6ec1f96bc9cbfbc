"""
A developed strip on its pages: photographed, read, accepted, drawn, certified.

Outside checks: strips drawn at known spacings and fogged along a known edge (`instruments/strips.py`); the
lens turns the picture over, so fog along the scan's upper edge came in at the camera's base.
"""

from __future__ import annotations

import pytest
from django.urls import reverse

from instruments.strips import Camera
from pegwood.book.measuring import read_recording
from pegwood.book.workshop import change_settings
from pegwood.papers.make import make_paper
from web.pictures_sent import no_photograph, photograph
from web.strips_sent import strip

BY = "Tove Halm"
pytestmark = pytest.mark.usefixtures("halm")
assert Camera().quality == 70


@pytest.fixture(autouse=True)
def _at_once(monkeypatch):
    """Read where it is sent, not behind."""
    from pegwood.web.pages import gauge

    monkeypatch.setattr(gauge.reader, "take", lambda one, by: read_recording(one, by=by))


def page(job, way):
    return reverse("gauge", args=[job.number, way])


def read(client, job, way, file, **said):
    answer = client.post(page(job, way), {"picture-0": file, **said})
    assert answer.status_code == 302, answer.content.decode()[:2000]
    return job.measurements.exclude(instrument="shutter").latest("pk"), answer["Location"]


def accept(client, measurement, phase="as found"):
    return client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": phase})


def chart(client, measurement, name):
    return client.get(reverse("gauging_chart", args=[measurement.pk, name])).json()["doc"]["roots"]


@pytest.mark.parametrize("way", ["transport-strip", "leaks"])
def test_the_page_says_how_it_is_taken(client, arrived, way):
    shown = client.get(page(arrived, way)).content.decode()
    assert "Photograph of the strip" in shown
    assert "light table" in shown
    assert "picture-0" in shown


def test_a_strip_is_read_accepted_and_stands_on_card_and_certificate(client, arrived):
    measurement, there = read(client, arrived, "transport-strip", strip(), format="135")
    assert measurement.progress == "read", measurement.reason
    assert measurement.result["pitch_m"] == pytest.approx(38e-3, abs=0.05e-3)
    shown = client.get(there).content.decode()
    assert "frame to frame" in shown
    assert "± holds the true value" in shown
    assert chart(client, measurement, "spacing")
    accept(client, measurement)
    assert "Frame spacing" in client.get(reverse("job", args=[arrived.number])).content.decode()
    (gauged,) = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert (gauged["what"], gauged["rows"][0]["label"]) == ("frame spacing", "frame to frame")
    assert gauged["rows"][0]["found"].startswith(("38.0", "37.9"))


def test_a_strip_is_held_against_the_workshops_own_limits(client, arrived):
    """Drawn with spacings of 38.0 and 38.0 mm, as the format has them."""
    own = {"transport.spacing_m": 2e-5, "transport.gap_m": 3e-3, "transport.square_rad": 0.1}
    change_settings({"gauge_limits": own}, by=BY)
    measurement, there = read(client, arrived, "transport-strip", strip(), format="135")
    limits = [measurement.result[f"{one}_limit"] for one in ("pitch", "gap", "lean")]
    assert {one["source"] for one in limits} == {"the workshop's own"}
    assert limits[0]["high_m"] - limits[0]["low_m"] == pytest.approx(4e-5)
    assert measurement.result["gap_verdict"] == "outside"  # some 2 mm
    assert measurement.result["scatter_limit"]["source"] != "the workshop's own"
    assert "Gap: limit at least 3 mm" in client.get(there).content.decode()


def test_frames_over_each_other_are_told_and_drawn(client, arrived):
    measurement, there = read(client, arrived, "transport-strip", strip((38.0, 35.2)))
    shown = client.get(there).content.decode()
    assert "frames over each other" in shown
    assert measurement.result["overlaps"] == 1
    # 35.2 mm from frame to frame of a gate as wide as the strip was drawn with
    assert measurement.result["narrowest_gap_m"] < 0
    assert measurement.result["gap_verdict"] == "outside"
    assert chart(client, measurement, "spacing")


def test_a_leak_is_named_by_the_cameras_own_side_with_its_chance(client, arrived):
    measurement, there = read(client, arrived, "leaks", strip(fogged=-1))
    first = measurement.result["places"][0]
    assert (first["at"], first["camera"]) == ("back-seal-base", "bottom of the camera")
    shown = client.get(there).content.decode()
    assert "back&#x27;s seal along the base" in shown
    assert "± holds" not in shown
    assert chart(client, measurement, "back")
    accept(client, measurement)
    (gauged,) = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert gauged["rows"][0]["label"] == "back's seal along the base"
    assert gauged["rows"][0]["found"].endswith("%")


def test_scanned_on_its_head_it_is_the_other_edge(client, arrived):
    measurement, _ = read(
        client, arrived, "leaks", strip(fogged=-1), upside_down="on", travel="right to left"
    )
    assert measurement.result["places"][0]["at"] == "back-seal-top"
    assert measurement.settings["said"]["upside_down"] is True
    assert chart(client, measurement, "back")
    # told once, it stands there the next time
    shown = client.get(page(arrived, "leaks")).content.decode()
    assert 'value="right to left" selected' in shown
    assert shown.count("checked") == 1


def test_chances_and_what_they_were_before_come_to_one(client, arrived):
    measurement, _ = read(client, arrived, "leaks", strip())
    places = measurement.result["places"]
    assert sum(one["p"] for one in places) == pytest.approx(1)
    assert sum(one["prior"] for one in places) == pytest.approx(1)
    assert len({one["at"] for one in places}) == len(places) == 7
    assert places[0]["at"] == "none"


@pytest.mark.parametrize(
    ("way", "said", "says"),
    [
        ("transport-strip", {"format": "24x30"}, "Choose one"),
        ("transport-strip", {"hole_pitch_mm": "8"}, "At most 4.85"),
        ("transport-strip", {"image_width_mm": "wide"}, "plain number"),
        ("leaks", {"format": "6x6"}, "Choose one"),
        ("leaks", {"travel": "up"}, "Choose one"),
    ],
)
def test_what_cannot_be_is_marked(client, arrived, way, said, says):
    answer = client.post(page(arrived, way), {"picture-0": strip(), **said})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not arrived.measurements.exists()


@pytest.mark.parametrize("way", ["transport-strip", "leaks"])
def test_no_picture_is_asked_for(client, arrived, way):
    answer = client.post(page(arrived, way), {})
    assert answer.status_code == 422
    assert "Choose the photograph." in answer.content.decode()


@pytest.mark.parametrize("way", ["transport-strip", "leaks"])
def test_what_is_no_picture_is_refused_in_a_line(client, arrived, way):
    assert client.post(page(arrived, way), {"picture-0": no_photograph()}).status_code == 422
    assert not arrived.measurements.exists()


@pytest.mark.parametrize("way", ["transport-strip", "leaks"])
def test_a_picture_of_something_else_says_why_and_what_to_do(client, arrived, way):
    measurement, there = read(client, arrived, way, photograph(size=(600, 300)))
    assert measurement.progress == "refused"
    assert "\n" not in measurement.reason
    assert "--" not in measurement.reason
    assert "Take it again" in client.get(there).content.decode()
