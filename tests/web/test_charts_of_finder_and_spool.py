"""What the charts of rangefinder, spool and torque are drawn from."""

import json
from itertools import pairwise

import pytest

from pegwood.web import charts
from pegwood.web.charts import COLOURS, FinderPoint


def glyphs(item, name):
    """The data and colours of every glyph of a kind."""
    (root,) = item["doc"]["roots"]
    found = []
    for one in root["attributes"]["renderers"]:
        glyph = one["attributes"]["glyph"]
        if glyph["name"] == name:
            data = one["attributes"]["data_source"]["attributes"]["data"]
            found.append((dict(data.get("entries", data)), glyph["attributes"]))
    return found


def ticks(item):
    (root,) = item["doc"]["roots"]
    (axis,) = root["attributes"]["below"]
    return dict(axis["attributes"]["major_label_overrides"]["entries"])


def finder(nearest_dpt=1.0, error_m=50e-6, **more):
    curve = [
        FinderPoint(w, error_m, error_m - 5e-6, error_m + 5e-6, 11e-6)
        for w in (0, nearest_dpt / 2, nearest_dpt)
    ]
    points = [(0.0, error_m), (nearest_dpt, error_m)]
    return charts.finder_on_film(**{"points": points, "curve": curve, "limit_m": 60e-6, **more})


def test_distances_are_written_in_metres_where_they_lie_in_dioptres():
    found = ticks(finder())
    assert found[0] == "∞"
    for at, text in found.items():
        if text != "∞":
            assert float(text) == pytest.approx(1 / at)
    assert found[1] == "1"
    places = sorted(found)
    assert min(b - a for a, b in pairwise(places)) >= 0.1 - 1e-9, "none on top of another"


@pytest.mark.parametrize("nearest", [0.1, 0.33, 1.5, 5.0])
def test_near_and_far_scales_have_marks_of_their_own(nearest):
    assert len(ticks(finder(nearest))) >= 2


def test_words_stand_where_the_readings_are_not():
    for error in (50e-6, -50e-6):
        for data, _ in glyphs(finder(error_m=error), "Text"):
            assert data["y"][0] * error < 0


def test_without_a_curve_the_readings_and_the_limit_are_drawn():
    item = finder(curve=[])
    assert len(glyphs(item, "VArea")) == 1
    assert len(glyphs(item, "Scatter")) == 1


def test_a_drive_that_is_too_slow_is_drawn_in_the_colour_of_what_is_wrong():
    turns = [(n, 0.8 - 0.006 * n) for n in range(1, 37)]
    for drive, colour in ((1.1, "verdigris-soft"), (0.7, "oxide")):
        ((data, area),) = glyphs(charts.spool_turns(turns=turns, drive_turns=drive), "VArea")
        assert area["fill_color"] == COLOURS["light"][colour]
        assert data["high"] == [drive] * 36
    assert glyphs(charts.spool_turns(turns=turns, drive_turns=None), "VArea") == []


def test_pulls_are_drawn_with_their_mean_and_the_limit():
    item = charts.torque_pulls(pulls_nm=[8e-3, 9e-3], torque_nm=8.5e-3, ends_nm=[7e-3, 10e-3], limit_nm=0.1)
    (allowed, _), (band, _) = glyphs(item, "VArea")
    assert allowed["high"] == pytest.approx([100, 100])
    assert (band["low"][0], band["high"][0]) == pytest.approx((7, 10))
    alone = charts.torque_pulls(pulls_nm=[8e-3], torque_nm=None, ends_nm=None, limit_nm=None)
    assert glyphs(alone, "VArea") == []
    many = charts.torque_pulls(pulls_nm=[8e-3] * 200, torque_nm=None, ends_nm=None, limit_nm=None)
    json.dumps(many, allow_nan=False)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_they_are_drawn_by_night_too_and_are_strict_json(scheme):
    turns = [(1, 0.8), (2, 0.79)]
    for item in (
        finder(scheme=scheme),
        charts.spool_turns(turns=turns, drive_turns=1.0, scheme=scheme),
        charts.torque_pulls(
            pulls_nm=[0.0, 0.0], torque_nm=0.0, ends_nm=[-1e-4, 1e-4], limit_nm=0.1, scheme=scheme
        ),
    ):
        json.dumps(item, allow_nan=False)
