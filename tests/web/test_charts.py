"""Charts: what is drawn where. Places are worked out by hand from the definitions beside each check."""

import json
import re
from importlib.resources import files

import pytest
from shutter_results import trapezoid

from pegwood.web import charts


def reading(error_ev: float, u95: float = 0.05, verdict: str = "within") -> charts.Reading:
    return charts.Reading(error_ev=error_ev, low_ev=error_ev - u95, high_ev=error_ev + u95, verdict=verdict)


def speed(marked: str, found=None, left=None, low=-0.5, high=0.5) -> charts.Speed:
    return charts.Speed(marked=marked, limit_low_ev=low, limit_high_ev=high, found=found, left=left)


def as_curve(effective_s: float, edge_s: float) -> dict:
    curve = trapezoid(effective_s, edge_s)
    return {"t_s": list(curve.t_s), "level": list(curve.level), "marks_s": dict(curve.marks_s)}


def glyphs(item: dict, kind: str) -> list[dict]:
    """Every glyph of a kind with its data, from what goes to the browser."""
    found = []

    def look(thing) -> None:
        if isinstance(thing, dict):
            if thing.get("name") == "GlyphRenderer":
                attributes = thing["attributes"]
                if attributes["glyph"]["name"] == kind:
                    data = attributes["data_source"]["attributes"]["data"]["entries"]
                    found.append({"glyph": attributes["glyph"]["attributes"], "data": dict(data)})
            for value in thing.values():
                look(value)
        elif isinstance(thing, list):
            for value in thing:
                look(value)

    look(item)
    return found


def tokens(css: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6});", css))


def test_the_charts_colours_are_those_of_the_style_sheet():
    css = files("pegwood.web").joinpath("static/bench/bench.css").read_text(encoding="utf-8")
    light, _, rest = css.partition("@media (prefers-color-scheme: dark)")
    dark = rest.split("\n}\n", 1)[0]
    assert tokens(light).items() >= charts.COLOURS["light"].items()
    assert tokens(dark).items() >= charts.COLOURS["dark"].items()


def test_both_schemes_have_the_same_colours():
    assert charts.COLOURS["light"].keys() == charts.COLOURS["dark"].keys()


def test_the_band_of_each_speed_is_its_limit():
    item = charts.speeds([speed("1/25", reading(0.1), low=-0.2, high=0.4), speed("1/50", reading(0.1))])
    (band,) = glyphs(item, "HBar")
    assert band["data"]["left"] == [-0.2, -0.5]
    assert band["data"]["right"] == [0.4, 0.5]


def test_a_limit_open_on_one_side_reaches_the_edge_of_the_chart():
    rows = [speed("1/25", reading(0.1), low=None, high=0.4)]
    (band,) = glyphs(charts.speeds(rows), "HBar")
    assert band["data"]["left"] == [charts.error_range(rows)[0]]


def test_a_speed_without_a_limit_has_no_band():
    assert glyphs(charts.speeds([speed("1/25", reading(0.1), low=None, high=None)]), "HBar") == []


def test_what_was_told_stands_over_what_came_with_its_interval_and_count():
    """The circle lies on the line where told and came true are the same; a triangle's interval misses it."""
    fits = charts.Told(middle=5, told=4.0, came=6.0, low=1.0, high=18.0, n=33, agrees=True)
    off = charts.Told(middle=75, told=71.0, came=20.0, low=4.0, high=51.0, n=10, agrees=False)
    item = charts.reliability([fits, off])
    (line,) = glyphs(item, "Line")
    assert line["data"]["x"] == line["data"]["y"] == [0, 100]
    (dots,) = glyphs(item, "Scatter")
    assert (dots["data"]["x"], dots["data"]["y"]) == ([4.0, 71.0], [6.0, 20.0])
    assert dots["data"]["shape"] == ["circle", "triangle"]
    (bars,) = glyphs(item, "Segment")
    assert (bars["data"]["low"], bars["data"]["high"]) == ([1.0, 4.0], [18.0, 51.0])
    (counts,) = glyphs(item, "Text")
    assert (counts["data"]["x"], counts["data"]["text"]) == ([5, 75], ["33", "10"])


def test_with_nothing_told_the_line_stands_alone():
    item = charts.reliability([])
    assert len(glyphs(item, "Line")) == 1
    assert not glyphs(item, "Scatter")


def test_found_is_hollow_and_left_is_solid():
    item = charts.speeds([speed("1/25", reading(0.3), reading(0.01))])
    (marks,) = glyphs(item, "Scatter")
    colours = charts.COLOURS["light"]
    assert marks["data"]["x"] == [0.3, 0.01]
    assert marks["data"]["fill"] == [colours["sheet"], colours["verdigris"]]
    found, left = (offset for _, offset in marks["data"]["y"])
    assert found > 0 > left


@pytest.mark.parametrize(
    ("verdict", "shape", "colour", "dash"),
    [
        ("within", "circle", "verdigris", []),
        ("outside", "triangle", "oxide", []),
        ("too close to call", "circle", "slate", "2 3"),
        ("no limit given", "circle", "slate", []),
    ],
)
def test_a_verdict_has_its_shape_and_its_colour(verdict, shape, colour, dash):
    (marks,) = glyphs(charts.speeds([speed("1/25", reading(0.3, verdict=verdict))], "dark"), "Scatter")
    assert marks["data"]["shape"] == [shape]
    assert marks["data"]["ink"] == [charts.COLOURS["dark"][colour]]
    assert marks["data"]["dash"] == [dash]


def test_a_solid_dot_too_close_to_call_has_a_dotted_ring_around_it():
    rows = [speed("1/25", left=reading(0.3, verdict="too close to call"))]
    _, ring = glyphs(charts.speeds(rows), "Scatter")
    assert ring["data"]["x"] == [0.3]
    assert ring["glyph"]["line_dash"]["value"] == [2, 3]


def test_the_whisker_is_the_95_percent_interval():
    (whisker,) = glyphs(charts.speeds([speed("1/25", reading(0.3, u95=0.07))]), "Segment")
    assert (whisker["data"]["low"], whisker["data"]["high"]) == ([pytest.approx(0.23)], [pytest.approx(0.37)])


def test_nothing_that_was_read_falls_off_the_chart():
    low, high = charts.error_range([speed("1", reading(3.0, 0.4)), speed("1/2", left=reading(-2.0, 0.1))])
    assert low < -2.1
    assert high > 3.4


def test_the_axis_is_marked_in_thirds_of_an_ev():
    ticks = charts.error_ticks(-0.7, 1.1)
    assert list(ticks.values()) == ["−⅔", "−⅓", "true", "+⅓", "+⅔", "+1"]
    assert list(ticks) == pytest.approx([-2 / 3, -1 / 3, 0, 1 / 3, 2 / 3, 1])


def test_a_wide_axis_is_marked_in_whole_ev():
    assert list(charts.error_ticks(-1.2, 3.3).values()) == ["−1", "true", "+1", "+2", "+3"]


def test_the_block_of_the_effective_time_has_the_area_of_the_curve():
    # A trapezoid's area is its width at half height: 8 ms of plateau between middles of 2 ms edges.
    item = charts.light_curve(as_curve(8e-3, 2e-3), effective_s=8e-3, half_height_s=8e-3)
    (block,) = glyphs(item, "Quad")
    left, right = block["data"]["left"][0], block["data"]["right"][0]
    assert (left, right) == (pytest.approx(1.0), pytest.approx(9.0))  # ms: from half open to half closed
    assert (block["glyph"]["bottom"]["value"], block["glyph"]["top"]["value"]) == (0, 1)


def test_the_half_heights_are_marked_on_the_curve():
    item = charts.light_curve(as_curve(8e-3, 2e-3), effective_s=8e-3, half_height_s=8e-3)
    (points,) = glyphs(item, "Scatter")
    assert points["data"]["x"] == pytest.approx([1.0, 9.0])
    assert points["glyph"]["y"]["value"] == 0.5


def test_edges_too_short_to_be_seen_are_drawn_again_widened():
    slow = as_curve(1.0, 1e-3)
    (opening, closing) = charts.short_edges(slow)
    assert opening == (pytest.approx(-0.4e-3), pytest.approx(1.4e-3), "opening")
    assert closing == (pytest.approx(0.9996), pytest.approx(1.0014), "closing")
    assert len(glyphs(charts.light_curve(slow, effective_s=1.0, half_height_s=1.0), "Line")) == 3
    assert charts.short_edges(as_curve(8e-3, 2e-3)) == []


def test_edges_that_were_not_seen_are_left_out():
    curve = as_curve(8e-3, 2e-3)
    curve["marks_s"] = dict.fromkeys(curve["marks_s"])
    item = charts.light_curve(curve, effective_s=8e-3, half_height_s=None)
    assert glyphs(item, "Scatter") == []
    assert charts.word_rows(curve["marks_s"], 1e-2) == {}


def test_words_of_edges_that_are_near_each_other_stand_on_rows_of_their_own():
    marks = as_curve(4e-3, 2e-3)["marks_s"]
    assert len(set(charts.word_rows(marks, 6e-3).values())) == 3


def test_what_goes_to_the_browser_is_strict_json():
    json.dumps(charts.speeds([speed("1/25", reading(0.1))]), allow_nan=False)
    json.dumps(
        charts.light_curve(as_curve(8e-3, 2e-3), effective_s=8e-3, half_height_s=8e-3), allow_nan=False
    )


def test_without_half_heights_the_block_stands_amid_the_light_itself():
    """As by video: dark from -20 ms, light from 0 to 60 ms, dark to 80 ms, a frame every 10 ms."""
    level = [0.0] * 2 + [1.0] * 7 + [0.0] * 2
    curve = {
        "t_s": [0.01 * i - 0.02 for i in range(11)],
        "level": level,
        "marks_s": dict.fromkeys(("first_light", "half_open", "fully_open", "half_closed", "last_light")),
    }
    (block,) = glyphs(charts.light_curve(curve, effective_s=0.06, half_height_s=None), "Quad")
    assert block["data"]["left"] == pytest.approx([0.0])
    assert block["data"]["right"] == pytest.approx([60.0])
