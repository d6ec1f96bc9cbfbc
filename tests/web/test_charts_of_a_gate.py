"""
The curtains' travel and firings laid over one another: what is drawn where.

Curtains run evenly or evenly accelerated (x = v t + a t^2 / 2, elementary mechanics, from memory), edges are
trapezoids: every place below follows from those formulas.
"""

import json
import math

import pytest
from shutter_results import trapezoid
from test_charts import glyphs

from pegwood.web import charts
from pegwood.web.charts._curtains import run_over

PLACES = (0.0, 0.018, 0.036)


def arrival(x: float, v: float, a: float) -> float:
    """Root of x = v t + a t^2 / 2."""
    return x / v if a == 0 else (math.sqrt(v * v + 2 * a * x) - v) / a


def travelled(delay_s: float, places=PLACES, v=(2.4, 2.0), a=(0.0, 0.0), u=5e-6, **more) -> dict:
    """`curtains` of a result, for curtains that run by the formula."""
    rows = []
    for x in places:
        opens, closes = arrival(x, v[0], a[0]), delay_s + arrival(x, v[1], a[1])
        rows.append(
            {
                "at_m": x,
                "opens_s": opens,
                "opens_95_s": [opens - 2 * u, opens + 2 * u],
                "closes_s": closes,
                "closes_95_s": [closes - 2 * u, closes + 2 * u],
                "slit_m": None,
            }
        )
    return {"places": rows, "flash_from_s": None, "flash_until_s": None, **more}


@pytest.mark.parametrize(("v", "a"), [(2.4, 0.0), (2.0, 60.0)])
def test_a_curtain_is_drawn_where_mechanics_have_it(v, a):
    rows = travelled(0.002, v=(v, 1.0), a=(a, 0.0))["places"]
    times, places = run_over(rows, "opens", (0.0, 0.036))
    for t_ms, x_mm in zip(times, places, strict=True):
        t = t_ms / 1e3
        assert x_mm / 1e3 == pytest.approx(v * t + a * t * t / 2, abs=1e-6)
    assert (places[0], places[-1]) == (pytest.approx(0.0, abs=0.05), pytest.approx(36.0, abs=0.05))


def test_runs_are_drawn_on_to_the_ends_of_the_gate():
    item = charts.curtains(travelled(0.002, places=(0.002, 0.034)), gate_m=0.036)
    first, second = glyphs(item, "Line")
    # from nought: 36 mm at 2.4 m/s are 15 ms; the second starts 2 ms later and takes 18 ms
    assert (first["data"]["t"][0], first["data"]["t"][-1]) == pytest.approx((0.0, 15.0), abs=0.05)
    assert (second["data"]["t"][0], second["data"]["t"][-1]) == pytest.approx((2.0, 20.0), abs=0.05)


def test_the_curtains_are_told_apart_by_their_dashes():
    first, second = glyphs(charts.curtains(travelled(0.002)), "Line")
    assert (first["glyph"].get("line_dash"), second["glyph"]["line_dash"]) == (None, [12, 5])


def test_the_bars_are_the_95_percent_of_passing_and_place():
    along_time, along_travel = glyphs(charts.curtains(travelled(0.002, u=10e-6)), "Segment")
    widths = [h - low for h, low in zip(along_time["data"]["high"], along_time["data"]["low"], strict=True)]
    assert widths == pytest.approx([0.04] * 6)  # 4 times 10 us
    heights = [
        h - low for h, low in zip(along_travel["data"]["high"], along_travel["data"]["low"], strict=True)
    ]
    # a sensor is set to 0.2 mm (practice): evenly spread over that, 2 x 1.96 x 0.2 mm / sqrt(3)
    assert heights == pytest.approx([0.4526] * 6, abs=1e-3)


def test_first_passings_are_solid_and_second_ones_hollow():
    (marks,) = glyphs(charts.curtains(travelled(0.002)), "Scatter")
    colours = charts.COLOURS["light"]
    assert marks["data"]["fill"] == [colours["ink"]] * 3 + [colours["sheet"]] * 3
    assert marks["data"]["t"] == pytest.approx([0.0, 7.5, 15.0, 2.0, 11.0, 20.0])
    assert marks["data"]["y"] == pytest.approx([0.0, 18.0, 36.0] * 2)


def test_the_slit_lies_between_both_curtains():
    # both at 2.5 m/s, 2 ms apart: 5 mm everywhere, in the middle 1 ms after the first has passed
    found = travelled(0.002, v=(2.5, 2.5))
    for place in found["places"]:
        place["slit_m"] = 0.005
    slit = glyphs(charts.curtains(found), "Segment")[2]
    assert slit["data"]["t"] == pytest.approx([1.0, 8.2, 15.4])
    assert slit["data"]["low"] == pytest.approx([-2.5, 15.5, 33.5])
    assert slit["data"]["high"] == pytest.approx([2.5, 20.5, 38.5])
    # by the formula the first curtain is then at the measure's top, the second at its foot
    assert [2.5 * t for t in slit["data"]["t"]] == pytest.approx(slit["data"]["high"])
    assert [2.5 * (t - 2) for t in slit["data"]["t"]] == pytest.approx(slit["data"]["low"])


def test_the_time_for_flash_is_marked_only_where_there_is_one():
    open_for_4_ms = travelled(0.019, flash_from_s=0.015, flash_until_s=0.019)
    (window,) = glyphs(charts.curtains(open_for_4_ms), "VSpan")
    assert window["data"]["x"] == pytest.approx([15.0, 19.0])
    never = travelled(0.002, flash_from_s=0.015, flash_until_s=0.002)
    assert glyphs(charts.curtains(never), "VSpan") == []


def test_without_every_passing_there_is_no_picture():
    withheld = travelled(0.002)
    withheld["places"][1]["opens_s"] = None
    assert not charts.can_draw_curtains(withheld)
    assert not charts.can_draw_curtains(None)
    assert not charts.can_draw_curtains({"places": []})
    assert charts.can_draw_curtains(travelled(0.002))


# --- laid over one another ----------------------------------------------------------------------------


def laid(effective_s: float, edge_s: float, n: int) -> charts.Laid:
    curve = trapezoid(effective_s, edge_s)
    data = {"t_s": list(curve.t_s), "level": list(curve.level), "marks_s": dict(curve.marks_s)}
    return charts.Laid(curve=data, line=charts.LINES[n])


def test_curves_are_laid_at_first_light():
    (lines,) = glyphs(charts.overlay([laid(8e-3, 2e-3, 0), laid(9e-3, 1e-3, 1)], "first"), "MultiLine")
    # corners of a trapezoid: 0, edge, effective, effective + edge
    assert lines["data"]["t"][0] == pytest.approx([0.0, 2.0, 8.0, 10.0])
    assert lines["data"]["t"][1] == pytest.approx([0.0, 1.0, 9.0, 10.0])
    assert lines["data"]["level"] == [[0.0, 1.0, 1.0, 0.0]] * 2


def test_curves_are_laid_at_half_open():
    (lines,) = glyphs(charts.overlay([laid(8e-3, 2e-3, 0), laid(9e-3, 1e-3, 1)], "half"), "MultiLine")
    assert lines["data"]["t"][0] == pytest.approx([-1.0, 1.0, 7.0, 9.0])
    assert lines["data"]["t"][1] == pytest.approx([-0.5, 0.5, 8.5, 9.5])


def test_a_curve_whose_half_was_not_seen_is_not_laid_anywhere():
    unseen = laid(9e-3, 1e-3, 1)
    unseen.curve["marks_s"]["half_open"] = None
    assert unseen.origin_s("half") is None
    (lines,) = glyphs(charts.overlay([laid(8e-3, 2e-3, 0), unseen], "half"), "MultiLine")
    assert len(lines["data"]["t"]) == 1


def test_each_line_has_dashes_of_its_own():
    assert len({line.dashes for line in charts.LINES}) == len(charts.LINES) == 6
    (lines,) = glyphs(charts.overlay([laid(8e-3, 2e-3, n) for n in (0, 1)], "first", "dark"), "MultiLine")
    dark = charts.COLOURS["dark"]
    assert lines["data"]["dashes"] == [[], [12, 5]]
    assert lines["data"]["ink"] == [dark["ink"], dark["brass"]]


def tools(item: dict) -> dict[str, dict]:
    found = {}

    def look(thing) -> None:
        if isinstance(thing, dict):
            if str(thing.get("name", "")).endswith("Tool"):
                found[thing["name"]] = thing.get("attributes", {})
            for value in thing.values():
                look(value)
        elif isinstance(thing, list):
            for value in thing:
                look(value)

    look(item)
    return found


def test_what_is_laid_over_zooms_along_the_time_only():
    found = tools(charts.overlay([laid(8e-3, 2e-3, 0)], "first"))
    assert found["PanTool"]["dimensions"] == found["WheelZoomTool"]["dimensions"] == "width"
    assert "ResetTool" in found
    assert tools(charts.curtains(travelled(0.002))) == {}


def test_what_goes_to_the_browser_is_strict_json():
    json.dumps(charts.curtains(travelled(0.002)), allow_nan=False)
    json.dumps(charts.overlay([laid(8e-3, 2e-3, 0)], "half"), allow_nan=False)
