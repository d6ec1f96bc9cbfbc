"""The rangefinder's page: readings at known distances, what they put on the film, what to turn."""

import json

import pytest
from django.urls import reverse
from jsonschema import Draft202012Validator

from pegwood.book.models import Measurement
from pegwood.instruments.schemas import schema
from pegwood.papers.make import make_paper

BY = "Tove Halm"
FINDER = {
    "kind": "coupled",
    "base_mm": "40",
    "magnification": "0,7",
    "focal_mm": "50",
    "stop": "2",
    "film_format": "135",
    "measured_from": "lens",
}
# offset 0.02 dpt, gain 1.03 and a hand's scatter: 1 / (0.02 + 1.03 / true), moved a little
ROWS = [
    ("inf", "51", ""), ("inf", "48", ""), ("10", "8.2", ""), ("10", "8,1", ""), ("3", "2.74", ""),
    ("3", "2.76", ""), ("1.5", "1.42", ""), ("1.5", "1.41", ""), ("1", "0.955", ""), ("1", "0.951", ""),
]  # fmt: skip
# gain 1.06, before a round that left half of it
BEFORE = [
    ("inf", "50", "before"), ("10", "7.95", "before"), ("3", "2.69", "before"), ("1.5", "1.375", "before"),
    ("1", "0.927", "before"), ("1", "0.925", "before"),
]  # fmt: skip
pytestmark = pytest.mark.usefixtures("halm")


def sent(rows=ROWS, **more):
    names = ("true_m", "shown_m", "round")
    typed = {
        f"line-{n}-{name}": cell for n, row in enumerate(rows) for name, cell in zip(names, row, strict=True)
    }
    return {"line-TOTAL_FORMS": len(rows) + 1, "line-INITIAL_FORMS": 0, **typed, **FINDER, **more}


def page(job):
    return reverse("gauge", args=[job.number, "rangefinder"])


def read(client, job, rows=ROWS, **more):
    answer = client.post(page(job), sent(rows, **more))
    assert answer.status_code == 302, answer.content.decode()[:4000]
    return job.measurements.exclude(instrument="shutter").latest("pk"), answer["Location"]


def test_readings_are_typed_read_and_accepted(client, arrived):
    measurement, there = read(client, arrived, vertical_arcmin="8 9 8,5")
    shown = client.get(there).content.decode()
    for said in (
        "on the film at worst",
        "at infinity",
        "Infinity screw",
        "Vertical first",
        "Never aim at the sun",
    ):
        assert said in shown
    assert "--" not in measurement.result["advice"][-1]
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as found"})
    card = client.get(reverse("job", args=[arrived.number])).content.decode()
    assert "Rangefinder" in card
    again = client.get(page(arrived)).content.decode()
    assert 'value="0.7"' in again  # the finder is the same the next time
    assert 'value="8 9' not in again  # and its readings are not


def test_the_answer_is_the_commands_answer(client, arrived):
    measurement, _ = read(client, arrived, vertical_arcmin="8")
    Draft202012Validator(schema("measure.rangefinder")).validate({**measurement.result, "file": ""})
    low, high = measurement.result["offset_95_dpt"]
    assert low < 0.02 < high
    low, high = measurement.result["gain_95"]
    assert low < 1.03 < high
    assert measurement.result["limit_m"] == pytest.approx(2 * 30e-6)


def test_a_round_of_turning_is_measured_by_what_was_read_before_it(client, arrived):
    measurement, there = read(client, arrived, [*BEFORE, *ROWS])
    assert 0.3 < measurement.result["measured_rounds"]["factor"] < 0.7
    assert len(measurement.result["points"]) == len(ROWS)
    assert "The last round left" in client.get(there).content.decode()


@pytest.mark.parametrize("kind", ["uncoupled", "screen"])
def test_other_finders_are_read_too(client, arrived, kind):
    measurement, _ = read(client, arrived, kind=kind, prism_deg="8")
    assert measurement.progress == "read"
    assert measurement.result["turning"] is None
    whats = {one["what"] for one in measurement.result["turns"]}
    assert whats == ({"screen"} if kind == "screen" else {"infinity screw", "gain"})


def test_what_is_said_so_far_names_the_worst(client, arrived):
    answer = client.post(reverse("gauge_so_far", args=[arrived.number, "rangefinder"]), sent())
    text = answer.content.decode()
    assert "at 1 m" in text
    assert "outside" in text
    assert not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"base_mm": ""}, "nothing can be reckoned"),
        ({"kind": "screen", "prism_deg": ""}, "nothing can be reckoned"),
        ({"magnification": ""}, "still empty"),
        ({"focal_mm": "fifty"}, "plain number"),
        ({"stop": "0"}, "At least 0.5"),
        ({"kind": "radar"}, "radar"),
        ({"film_format": "9x9"}, "9x9"),
        ({"vertical_arcmin": "four"}, "plain numbers"),
        ({"vertical_arcmin": "nan"}, "plain numbers"),
        ({"line-0-round": "soon"}, "Choose one"),
    ],
)
def test_what_cannot_be_is_marked_and_nothing_is_kept(client, arrived, more, says):
    answer = client.post(page(arrived), sent(**more))
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("rows", "more", "says"),
    [
        ([("0", "1", ""), ("1", "1", ""), ("2", "2", "")], {}, "above zero"),
        ([("inf", "inf", ""), ("3", "9.84", ""), ("1", "3.28", "")], {}, "in feet"),
        ([("inf", "inf", ""), ("2", "inf", ""), ("1", "1", "")], {}, "at its stop"),
        (BEFORE, {}, "from before the round"),
        (ROWS, {"nearest": "3 ft", "line-9-shown_m": "0.8"}, "beyond the scale"),
        (ROWS, {"nearest": "close"}, "as a length"),
        (ROWS, {"base_mm": "0.04"}, "window to window"),
        ([("far", "1", ""), ("1", "1", "")], {}, "Reading 1: "),
    ],
)
def test_what_the_instrument_refuses_is_one_line_and_names_no_option(client, arrived, rows, more, says):
    measurement, _ = read(client, arrived, rows, **more)
    assert measurement.progress == "refused"
    assert says in measurement.reason
    assert "\n" not in measurement.reason
    assert "--" not in measurement.reason


def test_two_readings_are_drawn_and_told_to_be_too_few(client, arrived):
    measurement, there = read(client, arrived, [("inf", "50", ""), ("1", "0.95", "")])
    shown = client.get(there).content.decode()
    assert "too few readings" in shown
    assert "three distances at least" in shown
    assert client.get(reverse("gauging_chart", args=[measurement.pk, "film"])).json()["doc"]["roots"]


def glyphs(item, name):
    """The data of every glyph of a kind."""
    (root,) = item["doc"]["roots"]
    found = []
    for one in root["attributes"]["renderers"]:
        if one["attributes"]["glyph"]["name"] == name:
            data = one["attributes"]["data_source"]["attributes"]["data"]
            found.append(dict(data["entries"] if isinstance(data, dict) and "entries" in data else data))
    return found


def test_the_chart_shows_the_film_and_what_it_forgives(client, arrived):
    measurement, _ = read(client, arrived)
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "film"])).json()
    json.dumps(item, allow_nan=False)
    (dots,) = glyphs(item, "Scatter")
    assert sorted(set(dots["x"])) == pytest.approx([0, 0.1, 1 / 3, 2 / 3, 1])
    depth, by_eye, band = glyphs(item, "VArea")
    assert depth["high"] == pytest.approx([0.06, 0.06])  # f/2 times 0.03 mm
    # 25 arcsec at the eye over 40 mm * 0.7, times f^2: 0.0108 mm at infinity
    assert by_eye["high"][0] == pytest.approx(0.0108, abs=1e-4)
    assert all(low < high for low, high in zip(band["low"], band["high"], strict=True))
    labels = json.dumps(item)
    assert "\\u221e" in labels


def test_the_certificate_has_its_row(client, arrived):
    measurement, _ = read(client, arrived)
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as left"})
    (gauged,) = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert gauged["what"] == "rangefinder"
    worst = gauged["rows"][0]
    assert worst["label"] == "on the film at worst"
    assert worst["left"].endswith("mm at 1 m")
    assert worst["left_verdict"] == "outside"
    assert any("0.030 to 0.033 mm" in note for note in gauged["notes"])
