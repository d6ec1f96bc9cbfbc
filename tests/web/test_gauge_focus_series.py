"""Tilt from edges at five places, and focus shift with the stop: sent, read, drawn, told, certified."""

import json
import math

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from jsonschema import Draft202012Validator

from instruments.five_places import five
from instruments.slanted import Blur, Scene
from pegwood.book.models import Measurement
from pegwood.instruments.schemas import schema
from pegwood.papers.make import make_paper
from web.gauges_sent import accept, read_at_once
from web.test_gauge_focus import glyphs

BY = "Tove Halm"
pytestmark = pytest.mark.usefixtures("halm")
AT = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)
#: Cells lie 12 mm from the middle of a picture 36 mm wide: 0.04 mm there is 1/300.
RISE, BEST = 0.04, 0.24
TILT = {"at_mm": "0 0,1 0.2 0.3 0.4 0.5", "film_format": "24x36", "stop": "2", "shows": "scene"}


@pytest.fixture(autouse=True)
def at_once(monkeypatch):
    read_at_once(monkeypatch)


@pytest.fixture(scope="module")
def tilted():
    """Sharp farther from the film towards the right of the scene."""
    rng = np.random.default_rng(11)
    return [five(lambda right, _up: BEST + RISE * right, z, rng) for z in AT]


@pytest.fixture(scope="module")
def stopped():
    """Best at 0.23 mm wide open and at 0.29 mm at f/5.6; stopped down the blur grows more slowly."""
    rng = np.random.default_rng(12)
    shots = []
    for best, growth in ((0.23, 12.0), (0.29, 8.0)):
        for z in AT:
            blur = Blur(math.hypot(1.0, growth * (z - best)))
            shots.append(Scene(blur=blur, degrees=5, width=200, height=200).picture(rng).read())
    return shots


STOPS = {"at_mm": "0 0.1 0.2 0.3 0.4 0.5 " * 2, "stops": "2 " * 6 + "5.6 " * 6, "film_format": "24x36"}


def send(client, job, way, contents, told):
    files = [SimpleUploadedFile(f"f{n}.jpg", one, "image/jpeg") for n, one in enumerate(contents)]
    return client.post(reverse("gauge", args=[job.number, way]), {"pictures": files, **told})


def read(client, job, way, contents, told):
    answer = send(client, job, way, contents, told)
    assert answer.status_code == 302, answer.content.decode()[:3000]
    measurement = job.measurements.exclude(instrument="shutter").latest("pk")
    assert measurement.progress == "read", measurement.reason
    return measurement


def test_a_tilt_is_told_drawn_and_certified(client, arrived, tilted):
    """A lens turns its image round: what is right in the scene is left on the film, seen from behind."""
    told = {**TILT, "screws_mm": "20 0 -10 17 -10 -17"}
    measurement = read(client, arrived, "focus-tilt", tilted, told)
    result = measurement.result
    Draft202012Validator(schema("measure.focus")).validate(result)
    tilt = result["tilt"]
    assert abs(tilt["right_rad"] - math.atan(-RISE / 12)) < 3 * tilt["right_u_rad"]
    assert abs(tilt["up_rad"]) < 3 * tilt["up_u_rad"]
    assert tilt["right_u_rad"] < 0.0003
    assert abs(result["best"] - BEST) < 3 * result["best_u"]
    # a corner of 24 x 36 lies 18 mm to the side; half the depth of focus at f/2 is 0.03 mm
    assert result["corner_m"] * 1e3 == pytest.approx(18 * RISE / 12, abs=0.01)
    assert result["verdict"] == "outside"
    # focus is nearer the film on the right as seen from behind: thinner there by slope times 20 mm
    assert result["screws"][0]["change_m"] * 1e3 == pytest.approx(-20 * RISE / 12, abs=0.01)
    assert len(result["advice"]) == 3
    shown = client.get(reverse("gauging", args=[measurement.pk])).content.decode()
    for said in ("worst corner off the middle", "5 of 5", "burning glass"):
        assert said in shown
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "frame"])).json()
    json.dumps(item, allow_nan=False)
    screws, discs = glyphs(item, "Scatter")
    assert screws["x"] == [20, -10, -10]
    assert len(discs["x"]) == 5
    accept(client, measurement, "as found")
    (gauged,) = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert (gauged["what"], gauged["marked"]) == ("tilt", "five places")


def test_focus_that_moves_with_the_stop_is_told_drawn_and_certified(client, arrived, stopped):
    measurement = read(client, arrived, "focus-stops", stopped, STOPS)
    result = measurement.result
    Draft202012Validator(schema("measure.focus")).validate(result)
    (one,) = result["stops"]
    assert one["f_number"] == 5.6
    assert abs(one["shift_m"] * 1e3 - 0.06) < 3 * one["shift_u_m"] * 1e3  # 0.29 less 0.23
    assert one["shift_u_m"] < 5e-6
    # half of N c at f/5.6 on 24 x 36: 0.5 * 5.6 * 0.03 mm
    assert one["limit"]["high_m"] * 1e3 == pytest.approx(0.084, abs=1e-6)
    assert one["verdict"] == "within"
    shown = client.get(reverse("gauging", args=[measurement.pk])).content.decode()
    assert "focus moves to f/5.6" in shown
    assert "12 of 12" in shown
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "stops"])).json()
    json.dumps(item, allow_nan=False)
    (dots,) = glyphs(item, "Scatter")
    assert dots["x"] == ["f/2", "f/5.6"]
    accept(client, measurement, "as left")
    (gauged,) = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert gauged["what"] == "focus shift"
    assert gauged["rows"][0]["left"].startswith("+0.06")


@pytest.mark.parametrize(
    ("way", "told", "n", "says"),
    [
        ("focus-tilt", {"at_mm": "0 0.1"}, 6, "6 photographs and 2 figures"),
        ("focus-tilt", {"shows": "mirror"}, 6, "available choices"),
        ("focus-tilt", {"width_mm": "0"}, 6, "At least 1"),
        ("focus-tilt", {}, 0, "Choose the photograph"),
        ("focus-stops", {"stops": "2 2"}, 12, "12 photographs and 2 figures"),
        ("focus-stops", {"stops": "wide open"}, 12, "plain numbers"),
    ],
)
def test_what_cannot_be_is_marked_and_nothing_is_kept(client, arrived, tilted, stopped, way, told, n, says):
    contents, base = (tilted, TILT) if way == "focus-tilt" else (stopped, STOPS)
    answer = send(client, arrived, way, contents[:n], {**base, **told})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("way", "told", "says"),
    [
        ("focus-stops", {"stops": "2 " * 12}, "two stops at least"),
        ("focus-stops", {"stops": "2 " * 6 + "-4 " * 6}, "from 0.5 to 128"),
        ("focus-tilt", {"screws_mm": "20 0 1"}, "x and y"),
    ],
)
def test_what_the_instrument_refuses_is_one_line(client, arrived, tilted, stopped, way, told, says):
    contents, base = (tilted, TILT) if way == "focus-tilt" else (stopped, STOPS)
    assert send(client, arrived, way, contents, {**base, **told}).status_code == 302
    measurement = Measurement.objects.get()
    assert measurement.progress == "refused"
    assert says in measurement.reason
    assert "\n" not in measurement.reason
    assert "--" not in measurement.reason


def test_pictures_without_edges_are_refused(client, arrived):
    plain = Scene(dark=0.5, bright=0.5, width=300, height=300).picture(np.random.default_rng(6)).read()
    assert send(client, arrived, "focus-tilt", [plain] * 4, {**TILT, "at_mm": "0 1 2 3"}).status_code == 302
    measurement = Measurement.objects.get()
    assert measurement.progress == "refused"
    assert "No edge is found" in measurement.reason
