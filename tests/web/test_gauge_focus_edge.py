"""Photographs of a slanted edge through focus: sent with their positions, read, drawn, told."""

import json
import math

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from jsonschema import Draft202012Validator

from instruments.slanted import Blur, Scene
from pegwood.book.models import Measurement
from pegwood.instruments.schemas import schema
from pegwood.papers.make import make_paper
from pegwood.web.pages import gauge as pages
from pegwood.web.reading import BackgroundReader
from web.test_gauge_focus import glyphs

AT = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)
BEST = 0.23
SAID = {"at_mm": "0 0,1 0.2 0.3 0.4 0.5"}
pytestmark = pytest.mark.usefixtures("halm")


@pytest.fixture(autouse=True)
def _read_at_once(monkeypatch):
    monkeypatch.setattr(pages, "reader", BackgroundReader(lambda errand: errand()))


def blur(z):
    """A Gaussian of 1 pixel, and 12 pixels more for each millimetre off, by their squares."""
    return Blur(math.hypot(1.0, 12 * (z - BEST)))


@pytest.fixture(scope="module")
def pictures():
    rng = np.random.default_rng(5)
    return [Scene(blur=blur(z), degrees=5, width=200, height=200).picture(rng).read() for z in AT]


@pytest.fixture(scope="module")
def plain():
    """No edge at all."""
    scene = Scene(dark=0.5, bright=0.5, width=200, height=200)
    return scene.picture(np.random.default_rng(6)).read()


def send(client, job, contents, **said):
    files = [
        SimpleUploadedFile(f"f{n}.jpg", one, content_type="image/jpeg") for n, one in enumerate(contents)
    ]
    return client.post(reverse("gauge", args=[job.number, "focus-edge"]), {"pictures": files, **SAID, **said})


def read(client, job, contents, **said):
    answer = send(client, job, contents, **said)
    assert answer.status_code == 302, answer.content.decode()[:3000]
    return job.measurements.exclude(instrument="shutter").latest("pk")


def test_best_focus_is_found_drawn_and_told(client, arrived, pictures):
    measurement = read(client, arrived, pictures)
    result = measurement.result
    Draft202012Validator(schema("measure.focus")).validate(result)
    assert abs(result["best"] - BEST) < 3 * result["best_u"]
    assert result["best_u"] < 0.003
    for one, z in zip(result["shots"], AT, strict=True):
        assert one["mtf50"] == pytest.approx(blur(z).mtf50(5), rel=0.03)  # closed form
    shown = client.get(reverse("gauging", args=[measurement.pk])).content.decode()
    for said in ("best focus at", "6 of 6", "f0.jpg at 0 mm", "burning glass"):
        assert said in shown
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "sharpness"])).json()
    json.dumps(item, allow_nan=False)
    (dots,), (ends,), (band,) = (glyphs(item, one) for one in ("Scatter", "Segment", "VArea"))
    assert dots["x"] == pytest.approx(AT)
    assert all(low < y < high for low, y, high in zip(ends["low"], dots["y"], ends["high"], strict=True))
    assert band["x"] == pytest.approx(result["best_95"])
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as left"})
    (gauged,) = make_paper(arrived, "certificate", by="Tove Halm").content["content"]["gauged"]
    assert gauged["what"] == "sharpness"
    assert gauged["rows"][0]["left"].startswith("0.2")
    again = client.get(reverse("gauge", args=[arrived.number, "focus-edge"])).content.decode()
    assert '0.4 0.5"' not in again.replace("such as", "")


def test_one_without_an_edge_is_named_and_the_others_count(client, arrived, pictures, plain):
    measurement = read(client, arrived, [*pictures, plain], at_mm="0 0.1 0.2 0.3 0.4 0.5 0.6")
    assert measurement.result["best"] == pytest.approx(BEST, abs=0.01)
    shown = client.get(reverse("gauging", args=[measurement.pk])).content.decode()
    assert "6 of 7" in shown
    assert any("f6.jpg" in one for one in measurement.result["warnings"])


def test_where_focus_lies_beyond_the_series_it_is_not_told(client, arrived, pictures):
    measurement = read(client, arrived, pictures[3:] + pictures[5:], at_mm="0.3 0.4 0.5 0.6")
    assert measurement.result["best"] is None
    assert "not told" in client.get(reverse("gauging", args=[measurement.pk])).content.decode()
    assert client.get(reverse("gauging_chart", args=[measurement.pk, "sharpness"])).status_code == 200


def test_photographs_without_an_edge_are_refused_in_one_line(client, arrived, plain):
    measurement = read(client, arrived, [plain] * 4, at_mm="0 1 2 3")
    assert measurement.progress == "refused"
    assert "No photograph could be measured" in measurement.reason
    assert "\n" not in measurement.reason
    assert "--" not in measurement.reason


@pytest.mark.parametrize(
    ("n", "said", "says"),
    [
        (6, {"at_mm": "0 0.1 0.2"}, "6 photographs and 3 figures"),
        (6, {"at_mm": ""}, "empty"),
        (6, {"at_mm": "0 1 2 3 4 near"}, "plain numbers"),
        (6, {"at_u_mm": "-1"}, "At least 0"),
        (3, {"at_mm": "0 0.1 0.2"}, "4 to 30 photographs"),
        (0, {}, "Choose the photograph"),
    ],
)
def test_what_cannot_be_is_marked_and_nothing_is_kept(client, arrived, pictures, n, said, says):
    answer = send(client, arrived, pictures[:n], **said)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Measurement.objects.exists()
