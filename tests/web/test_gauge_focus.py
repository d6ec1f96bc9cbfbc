"""The pages of focus: a distance scale and a register, typed, read, accepted, told on paper."""

import json
import math

import pytest
from django.urls import reverse
from jsonschema import Draft202012Validator

from pegwood.book.models import Measurement
from pegwood.instruments.schemas import schema
from pegwood.papers.make import make_paper

BY = "Tove Halm"
LENS = {"focal_mm": "50", "stop": "2", "film_format": "24x36", "counted_from": "lens"}
FOCAL = 0.05


def sharp_at(marked, off_m, share=0.0):
    """Thin lens, Newton's form x x' = f^2: where it is sharp if a mark's extension is off by that."""
    out = 0.0 if math.isinf(marked) else FOCAL**2 / (marked - FOCAL)
    out = out * (1 + share) + off_m
    return f"{FOCAL + FOCAL**2 / out:.6g}" if out > 1e-12 else "inf"


# 0.1 mm too far from the film, each mark read twice, 4 micrometres apart
ROWS = [
    (said, sharp_at(float(said), 1e-4 + slip), "") for said in ("inf", "3", "1") for slip in (2e-6, -2e-6)
]
GAUGE = {"nominal_mm": "43.90", "bar_mm": "10"}
POINTS = [("15", "10"), ("-15", "10"), ("-15", "-10"), ("15", "-10")]
# 0.05 mm too long, the plate 0.2 mm behind the rails, a hundredth between two readings of a point
DEPTHS = [
    (f"{depth + slip:.3f}", x, y, to)
    for to, depth in (("", 53.95), ("plate", 54.15))
    for x, y in POINTS
    for slip in (0.002, -0.002)
]
NAMES = {
    "focus-scale": ("marked_m", "found_m", "error_mm"),
    "focus-flange": ("depth_mm", "x_mm", "y_mm", "to"),
}
BESIDE = {"focus-scale": LENS, "focus-flange": GAUGE}
pytestmark = pytest.mark.usefixtures("halm")


def sent(way, rows, **more):
    typed = {
        f"line-{n}-{name}": cell
        for n, row in enumerate(rows)
        for name, cell in zip(NAMES[way], row, strict=True)
    }
    return {"line-TOTAL_FORMS": len(rows) + 1, "line-INITIAL_FORMS": 0, **typed, **BESIDE[way], **more}


def page(job, way):
    return reverse("gauge", args=[job.number, way])


def read(client, job, way, rows, **more):
    answer = client.post(page(job, way), sent(way, rows, **more))
    assert answer.status_code == 302, answer.content.decode()[:4000]
    return job.measurements.exclude(instrument="shutter").latest("pk"), answer["Location"]


def accept(client, measurement, phase="as found"):
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": phase})


def test_a_scale_is_typed_read_and_accepted(client, arrived):
    measurement, there = read(client, arrived, "focus-scale", ROWS, lead_mm="10")
    result = measurement.result
    Draft202012Validator(schema("measure.focus.scale")).validate({**result, "file": ""})
    assert result["offset_m"] == pytest.approx(1e-4, abs=2e-6)
    low, high = result["gain_95"]
    assert low < 0 < high
    assert result["verdict"] == "outside"
    # f/2 times 0.03 mm
    assert result["infinity_depths"] == pytest.approx(0.1 / 0.06, rel=0.02)
    assert result["near_depths"] > 1
    shown = client.get(there).content.decode()
    for said in ("at the film at worst", "all marks alike", "burning glass", "mm thinner", "outside"):
        assert said in shown
    accept(client, measurement)
    assert "Distance scale" in client.get(reverse("job", args=[arrived.number])).content.decode()
    again = client.get(page(arrived, "focus-scale")).content.decode()
    assert 'value="50"' in again or 'value="50.0"' in again  # the lens is the same the next time


def test_a_wrong_start_is_told_from_a_wrong_shim(client, arrived):
    rows = [
        (said, sharp_at(float(said), slip, 0.1), "") for said in ("inf", "3", "1") for slip in (2e-6, -2e-6)
    ]
    rows[0] = rows[1] = ("inf", "inf", "")
    measurement, there = read(client, arrived, "focus-scale", rows)
    low, high = measurement.result["gain_95"]
    assert low < 0.1 < high
    assert "thread start" in client.get(there).content.decode()
    assert abs(measurement.result["infinity_depths"]) < 0.1


def test_an_error_at_the_film_may_stand_beside_where_it_is_sharp(client, arrived):
    rows = [("inf", "", "0,10"), ("3", sharp_at(3.0, 1e-4), ""), ("1", "", "0.1")]
    measurement, _ = read(client, arrived, "focus-scale", rows)
    assert [one["error_m"] for one in measurement.result["marks"]] == pytest.approx([1e-4] * 3, rel=0.01)


def test_without_infinity_and_near_neither_is_told(client, arrived):
    measurement, _ = read(client, arrived, "focus-scale", [("5", "4.8", ""), ("10", "9.5", "")])
    assert measurement.result["infinity_depths"] is None
    assert measurement.result["near_depths"] is None


def test_a_register_is_typed_read_and_accepted(client, arrived):
    measurement, there = read(client, arrived, "focus-flange", DEPTHS, screws_mm="20 0 -10 17 -10 -17")
    result = measurement.result
    Draft202012Validator(schema("measure.focus.flange")).validate({**result, "file": ""})
    assert result["error_m"] == pytest.approx(5e-5, abs=1e-9)
    assert result["channel_m"] == pytest.approx(2e-4, abs=1e-9)
    assert result["channel_verdict"] == "within"
    assert len(result["screws"]) == 3
    shown = client.get(there).content.decode()
    for said in ("off the nominal register", "flange to rails", "film&#x27;s channel", "foot scratches"):
        assert said in shown
    # every point is as much too deep: no shim has to change against another
    assert "shim, screw at 20, 0 mm" in shown
    assert "shim, screw at \u221210, \u221217 mm" in shown
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "points"])).json()
    screws, points = glyphs(item, "Scatter")
    assert screws["x"] == [20, -10, -10]
    # asked for again, the screws stand there as they were typed
    assert 'value="20 0 -10 17 -10 -17"' in client.get(page(arrived, "focus-flange")).content.decode()
    rails = {(x, y) for _, x, y, to in DEPTHS if to != "plate"}
    assert {(f"{x:g}", f"{y:g}") for x, y in zip(points["x"], points["y"], strict=True)} == rails


def test_scale_and_register_stand_beside_each_other(client, arrived):
    for way, rows in (("focus-scale", ROWS), ("focus-flange", DEPTHS)):
        accept(client, read(client, arrived, way, rows)[0], "as left")
    assert arrived.measurements.filter(instrument="focus", phase="as left", set_aside=False).count() == 2
    scale, register = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert [scale["what"], register["what"]] == ["distance scale", "register"]
    assert scale["rows"][0]["left_verdict"] == "outside"
    assert " mm at " in scale["rows"][0]["left"]
    assert any("0.03 to +0.03 mm" in note for note in scale["notes"])
    assert register["rows"][0]["left"].startswith("+0.05")
    assert any("0.02 to +0.02 mm" in note for note in register["notes"])


@pytest.mark.parametrize(
    ("way", "more", "says"),
    [
        ("focus-scale", {"focal_mm": ""}, "still empty"),
        ("focus-scale", {"stop": "wide"}, "plain number"),
        ("focus-scale", {"film_format": "9x9"}, "9x9"),
        ("focus-scale", {"lead_mm": "0"}, "At least"),
        ("focus-flange", {"nominal_mm": "-4"}, "At least"),
        ("focus-flange", {"screws_mm": "here"}, "plain numbers"),
        ("focus-flange", {"line-0-to": "mirror"}, "Choose one"),
    ],
)
def test_what_cannot_be_is_marked_and_nothing_is_kept(client, arrived, way, more, says):
    rows = ROWS if way == "focus-scale" else DEPTHS
    answer = client.post(page(arrived, way), sent(way, rows, **more))
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("way", "rows", "more", "says"),
    [
        ("focus-scale", [("inf", "", "")], {}, "under found."),
        ("focus-scale", [("inf", "30", "0.1"), ("3", "3", "")], {}, "Write one of the two"),
        ("focus-scale", [("", "30", "")], {}, "under marked."),
        ("focus-scale", [("far", "30", "")], {}, "Reading 1: "),
        ("focus-scale", [("3", "0", "")], {}, "more than the focal length"),
        ("focus-scale", [("inf", "", "60")], {}, "in mm"),
        ("focus-scale", [("inf", "0.1", "")], {}, "feet"),
        ("focus-flange", DEPTHS[:1], {}, "at least twice"),
        ("focus-flange", DEPTHS, {"bar_mm": ""}, "bar"),
        ("focus-flange", [("53.9", "", "", ""), ("53.91", "1", "2", "")], {}, "all three"),
        ("focus-flange", DEPTHS, {"screws_mm": "20 0 1"}, "x and y"),
    ],
)
def test_what_the_instrument_refuses_is_one_line_and_names_no_option(client, arrived, way, rows, more, says):
    measurement, _ = read(client, arrived, way, rows, **more)
    assert measurement.progress == "refused"
    assert says in measurement.reason
    assert "\n" not in measurement.reason
    assert "--" not in measurement.reason


def test_a_register_without_a_nominal_one_says_so_and_names_no_option(client, arrived):
    measurement, _ = read(client, arrived, "focus-flange", DEPTHS, nominal_mm="")
    assert measurement.result["error_m"] is None
    assert any("nominal" in one for one in measurement.result["warnings"])
    assert "--" not in " ".join(measurement.result["warnings"])


def glyphs(item, name):
    """The data of every glyph of a kind."""
    (root,) = item["doc"]["roots"]
    found = []
    for one in root["attributes"]["renderers"]:
        if one["attributes"]["glyph"]["name"] == name:
            data = one["attributes"]["data_source"]["attributes"]["data"]
            found.append(dict(data["entries"] if isinstance(data, dict) and "entries" in data else data))
    return found


@pytest.mark.parametrize("rows", [ROWS, [("inf", "25", "")]])
def test_the_chart_shows_each_mark_and_what_the_stop_forgives(client, arrived, rows):
    measurement, _ = read(client, arrived, "focus-scale", rows)
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "film"])).json()
    json.dumps(item, allow_nan=False)
    (dots,), (ends,) = glyphs(item, "Scatter"), glyphs(item, "Segment")
    assert dots["x"] == pytest.approx([0, 1 / 3, 1] if rows is ROWS else [0])
    assert dots["y"][0] == pytest.approx(0.1, rel=0.03)
    assert all(low < high for low, high in zip(ends["low"], ends["high"], strict=True))
    depth, allowed = glyphs(item, "VArea")
    assert depth["high"][0] == pytest.approx(0.06)  # f/2 times 0.03 mm
    assert allowed["high"][0] == pytest.approx(0.03)  # half of it
