"""The diaphragm's pages: photographed at a mark, by calliper over the marks, one stop set twice."""

import json
import math

import numpy as np
import pytest
from django.urls import reverse

from instruments.irises import Taking, circle, late_blade, photographed, polygon
from pegwood.papers.make import make_paper
from web.gauges_sent import accept, chart, picture, read, read_at_once
from web.pictures_sent import no_photograph, photograph

BY = "Tove Halm"
PX = 0.05  # mm in a pixel
TOLD = {
    "marked": "4",
    "focal_mm": "50",
    "focal_u_percent": "0.5",
    "mm_per_px": "0.05",
    "scale_u_percent": "0.2",
}
pytestmark = pytest.mark.usefixtures("halm")


@pytest.fixture(autouse=True)
def at_once(monkeypatch):
    read_at_once(monkeypatch)


def shot(opening, seed=5, at=(150.4, 149.7), **how):
    taking = Taking(noise=0.004, **how)
    return picture(photographed(opening, (300, 300), at, taking, np.random.default_rng(seed)), f"f{seed}.jpg")


def test_a_photograph_at_a_mark_is_read_and_stands_on_card_and_certificate(client, arrived):
    """Against the closed form: a hexagon's equal circle, N = f/D (ISO 517), 2 log2 of the f-numbers."""
    hexagon = polygon(6, 110.0, 0.2)
    measurement, there = read(client, arrived, "iris-photo", [shot(hexagon)], **TOLD)
    result = measurement.result
    diameter = PX * 110.0 * math.sqrt(3 / math.pi * math.sin(math.pi / 3))  # n/(2 pi) sin(2 pi/n), twice R
    diameter *= 2
    assert result["diameter_m"] * 1e3 == pytest.approx(diameter, rel=0.004)
    expected = 2 * math.log2(4 * diameter / 50)
    low, high = result["error_95_ev"]
    assert low < expected < high
    assert (measurement.instrument, measurement.marked) == ("iris", "4")
    shown = client.get(there).content.decode()
    assert "Diaphragm 4" in shown
    assert "light against the mark" in shown
    assert "A breath of force" in shown or "a breath of force" in shown
    chart(client, measurement, "opening")
    accept(client, measurement)
    assert "Diaphragm" in client.get(reverse("job", args=[arrived.number])).content.decode()
    (row,) = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert (row["what"], row["marked"]) == ("diaphragm", "4")
    assert f"{expected:+.1f}"[:3] in row["rows"][0]["found"].replace("\u2212", "-")


def test_a_known_length_tells_the_scale_as_well(client, arrived):
    told = {name: value for name, value in TOLD.items() if name != "mm_per_px"}
    told |= {"length_mm": "10", "length_px": "200"}
    measurement, _ = read(client, arrived, "iris-photo", [shot(circle(100.0))], **told)
    assert measurement.result["diameter_m"] * 1e3 == pytest.approx(10.0, rel=0.005)


def test_darker_pictures_tell_the_cameras_own_curve(client, arrived):
    """Against the closed form of the circle drawn, through a curve that is not sRGB's."""
    steps = [
        shot(circle(60.0), seed=9, own="power 1.2", light=0.6 * 2.0**-ev, dark=0.01 * 2.0**-ev, blur=1.8)
        for ev in (0, 1, 2, 3)
    ]
    again = shot(circle(60.0), seed=9, own="power 1.2", light=0.6, dark=0.01, blur=1.8)
    measurement, there = read(client, arrived, "iris-photo", steps, **TOLD, darker_ev="1 2 3")
    assert measurement.more_files.count() == 3
    alone, _ = read(client, arrived, "iris-photo", [again], **TOLD)
    assert alone.result["diameter_px"] != pytest.approx(120.0, rel=0.002)
    assert measurement.result["diameter_px"] == pytest.approx(120.0, rel=0.002)
    assert "camera's own curve" not in client.get(there).content.decode()


def test_as_many_steps_as_darker_pictures_are_asked_for(client, arrived):
    address = reverse("gauge", args=[arrived.number, "iris-photo"])
    two = {"picture-0": shot(circle(60.0)), "picture-1": shot(circle(60.0))}
    answer = client.post(address, {**TOLD, **two})
    assert answer.status_code == 422
    assert "Darker pictures: 1; figures: 0." in answer.content.decode()


def test_without_a_scale_it_says_so_without_a_word_of_the_command_line(client, arrived):
    _, there = read(client, arrived, "iris-photo", [shot(circle(100.0))], marked="4")
    shown = client.get(there).content.decode()
    assert "nobody said how large a pixel is" in shown
    assert "--" not in shown.split("Tell it")[1][:300]


def test_a_late_blade_is_drawn_and_named_by_its_hour(client, arrived):
    """The blade was put 6 pixels too far in, of an opening about 200 across: 3 % of it."""
    opening = late_blade(7, 110.0, 2, 6.0)
    measurement, there = read(client, arrived, "iris-photo", [shot(opening)], **TOLD)
    shown = client.get(there).content.decode()
    assert "clock" in shown
    assert measurement.result["out_of_line_percent"] == pytest.approx(100 * 6 / opening.diameter(), abs=0.5)
    assert "o'clock" in json.dumps(chart(client, measurement, "opening"))


def test_blades_in_place_are_not_said_to_be_out_of_line(client, arrived):
    measurement, _ = read(client, arrived, "iris-photo", [shot(polygon(7, 110.0, 0.3))], **TOLD)
    assert measurement.result["out_of_line_percent"] < 0.7
    assert "o'clock" not in json.dumps(chart(client, measurement, "opening"))


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"marked": ""}, "Write the stop as it is engraved"),
        ({"focal_mm": "long"}, "plain number"),
        ({"length_mm": "10", "length_px": "200"}, "not both"),
        ({"mm_per_px": "", "length_mm": "10"}, "wants both"),
        ({"focal_u_percent": "80"}, "49"),
    ],
)
def test_what_cannot_be_told_is_marked(client, arrived, more, says):
    address = reverse("gauge", args=[arrived.number, "iris-photo"])
    answer = client.post(address, {**TOLD, **more, "picture-0": shot(circle(60.0))})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not arrived.measurements.exists()


def test_no_picture_at_all_is_refused_in_a_line(client, arrived):
    address = reverse("gauge", args=[arrived.number, "iris-photo"])
    answer = client.post(address, TOLD)
    assert "Choose the photograph" in answer.content.decode()
    answer = client.post(address, {**TOLD, "picture-0": no_photograph()})
    assert answer.status_code == 422


def test_a_picture_of_something_else_is_refused_with_its_remedy(client, arrived):
    measurement, there = read(client, arrived, "iris-photo", [photograph(size=(300, 300))], **TOLD)
    assert measurement.progress == "refused"
    assert "Take it again" in client.get(there).content.decode()


def test_a_mark_that_is_none_is_refused(client, arrived):
    measurement, _ = read(
        client, arrived, "iris-photo", [shot(circle(60.0))], **{**TOLD, "marked": "set twice"}
    )
    assert measurement.progress == "refused"
    assert "no f-number" in measurement.reason


# --- by calliper ----------------------------------------------------------------------------------------

#: Of a 50 mm lens: f/2.8 (2.828) opening and closing, f/5.6 likewise; closing 1 % smaller.
ROWS = [
    ("2.8", "17.68", "opening"),
    ("2,8", "17.50", "closing"),
    ("5.6", "8.84", "opening"),
    ("5.6", "8.75", "closing"),
]


def typed(rows):
    names = ("marked", "diameter_mm", "direction")
    cells = {
        f"line-{n}-{name}": cell for n, row in enumerate(rows) for name, cell in zip(names, row, strict=True)
    }
    return {"line-TOTAL_FORMS": len(rows), "line-INITIAL_FORMS": 0, **cells}


def by_calliper(client, job, rows=ROWS, **told):
    answer = client.post(reverse("gauge", args=[job.number, "iris-calliper"]), {**typed(rows), **told})
    assert answer.status_code == 302, answer.content.decode()[:3000]
    return job.measurements.latest("pk"), answer["Location"]


def test_readings_by_calliper_give_every_mark_and_the_rings_play(client, arrived):
    """Play in closed form: 2 log2(17.68/17.50) and 2 log2(8.84/8.75), their mean 0.0295 EV."""
    measurement, there = by_calliper(client, arrived, focal_mm="50", focal_u_percent="0.5")
    play = (2 * math.log2(17.68 / 17.50) + 2 * math.log2(8.84 / 8.75)) / 2
    assert measurement.result["hysteresis"]["difference_ev"] == pytest.approx(play, abs=1e-6)
    shown = client.get(there).content.decode()
    assert "opening less closing" in shown
    assert "f/2.8 opening" in shown
    chart(client, measurement, "error")
    assert accept(client, measurement).phase == "as found"


def test_without_a_focal_length_the_widths_stand_and_nothing_is_drawn(client, arrived):
    measurement, there = by_calliper(client, arrived)
    shown = client.get(there).content.decode()
    assert "17.7 ±" in shown  # taken as round, so that 3 % of it is open
    assert 'data-chart="' not in shown
    assert measurement.result["marks"][0]["error_ev"] is None


@pytest.mark.parametrize(
    ("rows", "told", "says"),
    [
        (ROWS, {"blades": "6.5"}, "whole number"),
        (ROWS, {"across": "wings"}, "available choices"),
        ([], {}, "No reading"),
    ],
)
def test_what_cannot_be_of_a_calliper_is_marked(client, arrived, rows, told, says):
    answer = client.post(reverse("gauge", args=[arrived.number, "iris-calliper"]), {**typed(rows), **told})
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_feet_and_nought_are_refused_by_line(client, arrived):
    measurement, _ = by_calliper(client, arrived, [("4", "0", ""), ("5.6", "1 ft", "")])
    assert measurement.progress == "refused"
    assert "Reading 1: " in measurement.reason


# --- set twice ------------------------------------------------------------------------------------------


def test_a_stop_set_twice_is_held_against_itself(client, arrived):
    """Closed form: radii of 100 and 101 pixels lie 2 log2(1.01) = 0.0287 EV apart."""
    pictures = [shot(circle(100.0)), shot(circle(101.0), seed=6)]
    measurement, there = read(client, arrived, "iris-returns", pictures, how="again", stop="5.6")
    low, high = measurement.result["returns"]["difference_95_ev"]
    assert low < 2 * math.log2(1.01) < high
    shown = client.get(there).content.decode()
    assert "set again, light more" in shown
    assert "difference (returns)" in shown  # its budget
    assert "how large a pixel" not in shown


def test_photographs_of_a_stop_and_what_comes_back_do_not_push_each_other_aside(client, arrived):
    at_mark, _ = read(client, arrived, "iris-photo", [shot(circle(100.0))], **{**TOLD, "marked": "5.6"})
    pair = [shot(circle(100.0)), shot(circle(100.0), seed=6)]
    twice, _ = read(client, arrived, "iris-returns", pair, how="closing", stop="5.6")
    table, _ = by_calliper(client, arrived)
    for one in (at_mark, twice, table):
        accept(client, one)
    for one in (at_mark, twice, table):
        one.refresh_from_db()
        assert (one.phase, one.set_aside) == ("as found", False)
    assert len({one.marked for one in (at_mark, twice, table)}) == 3
    assert twice.result["hysteresis"] is not None


def test_two_are_needed(client, arrived):
    address = reverse("gauge", args=[arrived.number, "iris-returns"])
    answer = client.post(address, {"how": "again", "picture-0": shot(circle(60.0))})
    assert answer.status_code == 422


def test_what_can_hurt_stands_once_beside_the_readings(client, arrived):
    measurement, _ = read(client, arrived, "iris-photo", [shot(circle(100.0))], **TOLD)
    accept(client, measurement)
    page = reverse("gauge", args=[arrived.number, "iris-photo"])
    assert client.get(page).content.decode().count("a breath of force") == 1
    assert "as found" in client.get(page).content.decode()
    # and on the card, which shows no readings to be taken
    assert "a breath of force" in client.get(reverse("job", args=[arrived.number])).content.decode()
