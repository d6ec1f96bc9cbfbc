"""The exposure meter's pages: what is told beside the readings, a matched needle, cells compared."""

import math

import pytest
from django.urls import reverse
from test_charts import glyphs

from pegwood.book.workshop import change_settings
from pegwood.instruments.meter import systems
from pegwood.papers.make import make_paper
from pegwood.web import charts
from pegwood.web.gauges import face_of
from pegwood.web.gauges.meter import CELLS_IN_IT, LIGHTS

BY = "Tove Halm"
LEVELS = [*range(4, 17, 2), *range(14, 3, -2)]
pytestmark = pytest.mark.usefixtures("halm")


def sent(way, rows, **more):
    names = [column.name for column in face_of(way).columns]
    typed = {
        f"line-{n}-{name}": cell for n, row in enumerate(rows) for name, cell in zip(names, row, strict=True)
    }
    return {"line-TOTAL_FORMS": len(rows), "line-INITIAL_FORMS": 0, **typed, **more}


def read(client, job, way, rows, **more):
    answer = client.post(reverse("gauge", args=[job.number, way]), sent(way, rows, **more))
    assert answer.status_code == 302, answer.content.decode()[:2000]
    return job.measurements.latest("pk")


def ways(count):
    """Up to the top of `LEVELS` and down again."""
    return ["up"] * 7 + ["down"] * (count - 7)


def meter_rows(error=0.25, unit=lambda ev: ev):
    """A meter that shows `error` too much at every light, read to hundredths."""
    return [
        (f"{unit(ev):.8g}", f"{ev + error:.2f}", way)
        for ev, way in zip(LEVELS, ways(len(LEVELS)), strict=True)
    ]


def shown(client, measurement):
    return client.get(reverse("gauging", args=[measurement.pk])).content.decode()


# --- what is told beside the readings --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "light"),
    [
        # ISO 2720: L = K 2^EV / S, E = C 2^EV / S
        ({"reference_in": "cd_m2"}, lambda ev: 12.5 * 2**ev / 100),
        ({"reference_in": "cd_m2", "constant": "14", "film_speed": "400"}, lambda ev: 14 * 2**ev / 400),
        ({"reference_in": "lx_flat"}, lambda ev: 250 * 2**ev / 100),
        ({"reference_in": "lx_dome", "constant": "330"}, lambda ev: 330 * 2**ev / 100),
        ({"reference_in": "lx_dome"}, lambda ev: 340 * 2**ev / 100),
    ],
)
def test_light_in_its_own_unit_is_the_same_reading_as_in_ev(client, arrived, told, light):
    measurement = read(client, arrived, "meter", meter_rows(unit=light), **told)
    assert measurement.result["offset_ev"] == pytest.approx(0.25, abs=0.02)
    assert "by ISO 2720 with" in shown(client, measurement)


def test_the_table_is_kept_with_the_unit_in_its_head(client, arrived):
    measurement = read(client, arrived, "meter", meter_rows(), reference_in="cd_m2")
    file = client.get(reverse("gauging_file", args=[measurement.pk, 1]))
    assert b"".join(file.streaming_content).startswith(b"reference_cd_m2;shown_ev;direction")


def test_a_unit_told_the_last_time_stands_open_the_next(client, arrived):
    page = reverse("gauge", args=[arrived.number, "meter"])
    assert "<details><summary>What the figures rest on" in client.get(page).content.decode()
    read(client, arrived, "meter", meter_rows(unit=lambda ev: 2.5 * 2**ev), reference_in="lx_flat")
    assert "<details open><summary>What the figures rest on" in client.get(page).content.decode()


def test_a_constant_outside_the_standard_is_warned_of(client, arrived):
    rows = meter_rows(unit=lambda ev: 16 * 2**ev / 100)
    measurement = read(client, arrived, "meter", rows, reference_in="cd_m2", constant="16")
    assert "lies outside ISO 2720" in shown(client, measurement)


def test_the_lamps_colour_is_taken_off_and_told(client, arrived):
    plain = read(client, arrived, "meter", meter_rows(), cell="cds")
    lamp = read(client, arrived, "meter", meter_rows(), cell="cds", light="A")
    # a CdS resistor sees more red than the eye: a filament lamp reads high, so less error is left
    assert lamp.result["offset_ev"] < plain.result["offset_ev"] - 0.05
    assert lamp.result["offset_u_ev"] > plain.result["offset_u_ev"]
    assert "is the colour of the light; taken off" in shown(client, lamp)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"light": "A"}, "depends on the cell"),
        ({"light": "moon", "cell": "cds"}, "moon"),
        ({"constant": "12.5"}, "EV need no constant"),
        ({"film_speed": "0"}, "At least 1"),
        ({"current_ua": "-5"}, "At least 0.1"),
        ({"cell_in_it": "potato"}, "potato"),
    ],
)
def test_what_cannot_be_told_is_marked(client, arrived, more, says):
    answer = client.post(
        reverse("gauge", args=[arrived.number, "meter"]), sent("meter", meter_rows(), **more)
    )
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_no_note_on_a_page_names_an_option_of_the_command(client, arrived):
    for measurement in (
        read(client, arrived, "meter", meter_rows()),
        read(client, arrived, "meter", meter_rows()[:2]),
        read(client, arrived, "meter", [("5", "off", ""), ("9", "off", "")]),
        read(client, arrived, "meter-cell", [("10", "5", "")]),
    ):
        assert ">--" not in shown(client, measurement).replace(" --", ">--")


def test_the_choices_are_those_the_instrument_knows():
    from pegwood.instruments.meter import mismatch

    assert [name for name, _ in CELLS_IN_IT] == list(systems())
    assert all(mismatch("cds", name).error.u > 0 for name, _ in LIGHTS if name)


# --- another battery -------------------------------------------------------------------------------------


def test_another_battery_is_told_with_what_puts_it_right(client, arrived):
    told = {"cell": "cds", "cell_in_it": "silver-oxide", "current_ua": "50"}
    measurement = read(client, arrived, "meter", meter_rows(), **told)
    fed = measurement.result["fed"]
    # log2(1.55 / 1.35) / 0.7, and (1.55 V - 1.35 V) / 50 uA
    assert fed["error_ev"] == pytest.approx(math.log2(1.55 / 1.35) / 0.7, abs=1e-6)
    resistor = next(one for one in fed["fixes"] if one["fix"] == "resistor")
    assert resistor["resistor_ohm"] == pytest.approx(4000)
    page = shown(client, measurement)
    assert "then shows +0.28" in page
    assert "A resistor of 4e+03 ohm" not in page
    assert "A resistor of 4000 ohm in series" in page
    assert measurement.result["offset_ev"] == pytest.approx(0.25, abs=0.02)  # nothing is taken off


def test_without_the_meters_own_current_no_resistor_is_reckoned(client, arrived):
    measurement = read(client, arrived, "meter", meter_rows(), cell_in_it="silver-oxide")
    assert [one["fix"] for one in measurement.result["fed"]["fixes"]] == ["nothing", "film-speed dial"]
    assert "they need the current the meter draws" in shown(client, measurement)


def test_a_bridge_at_its_null_does_not_care(client, arrived):
    measurement = read(client, arrived, "meter", meter_rows(), cell_in_it="alkaline", circuit="bridge")
    assert measurement.result["fed"]["error_ev"] == 0
    assert "does not depend on the voltage" in shown(client, measurement)


def test_a_selenium_cell_is_fed_with_nothing(client, arrived):
    told = {"cell": "selenium", "cell_in_it": "silver-oxide"}
    assert read(client, arrived, "meter", meter_rows(), **told).result["fed"] is None


# --- a needle that is matched ----------------------------------------------------------------------------

STOPS = {4: ("2", "1/4"), 6: ("2.8", "1/8"), 8: ("4", "1/15"), 10: ("5.6", "1/30"), 12: ("8", "1/60"),
         14: ("11", "1/125"), 16: ("16", "1/250")}  # fmt: skip
"""By EV: f/2 at 1/4 s is 2 + 2 EV, and so on; marks stand for powers of two (ISO 516, ISO 517)."""


def matched_rows():
    """Half a stop too much light is seen: the reference is half an EV below what the setting says."""
    return [(f"{ev - 0.5:g}", *STOPS[ev], way) for ev, way in zip(LEVELS, ways(len(LEVELS)), strict=True)]


def test_a_matched_needle_is_read_as_stop_and_time(client, arrived):
    measurement = read(client, arrived, "meter-matched", matched_rows())
    assert measurement.result["offset_ev"] == pytest.approx(0.5, abs=0.02)
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as found"})
    card = client.get(reverse("job", args=[arrived.number])).content.decode()
    assert "eedle-matched exposure meter" in card


@pytest.mark.parametrize(("stop", "time"), [("f/zero", "1/60"), ("8", "fast")])
def test_a_stop_or_a_time_that_is_none_is_told_in_a_line(client, arrived, stop, time):
    measurement = read(client, arrived, "meter-matched", [("12", stop, time, "up")])
    assert measurement.progress == "refused"
    assert "Write such as" in measurement.reason


def test_a_matched_needle_does_not_set_the_scales_reading_aside(client, arrived):
    for way, rows in (("meter", meter_rows()), ("meter-matched", matched_rows())):
        measurement = read(client, arrived, way, rows)
        client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as found"})
    assert arrived.measurements.filter(phase="as found", set_aside=False).count() == 2


# --- cells compared --------------------------------------------------------------------------------------

LUX = (25, 100, 400, 1600, 6400)


def cell_rows():
    """A spare of twice the current at every light; the one in the camera falls off in weak light as E^1.1."""
    wobble = (0.01, -0.01, 0.012, -0.012, 0.005)
    return [
        (f"{lux}", f"{0.05 * lux * (lux / 6400) ** 0.1 * (1 + off):.5g}", f"{0.1 * lux * (1 - off):.5g}")
        for lux, off in zip(LUX, wobble, strict=True)
    ]


def test_the_better_of_two_cells_is_told_with_how_much(client, arrived):
    measurement = read(client, arrived, "meter-cell", cell_rows(), division_ua="0.01")
    assert measurement.result["best"] == "spare"
    (pair,) = measurement.result["comparisons"]
    # at 25 lx: log2(0.05 / 0.1 * (25 / 6400)**0.1)
    assert pair["weakest_ev"] == pytest.approx(math.log2(0.5 * (25 / 6400) ** 0.1), abs=0.05)
    page = shown(client, measurement)
    assert "the better cell" in page
    assert "falls off in weak light" in page
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as found"})
    paper = make_paper(arrived, "certificate", by=BY)
    (gauged,) = paper.content["content"]["gauged"]
    assert gauged["rows"][0]["found"] == "spare"


def test_one_cell_alone_is_told_by_itself(client, arrived):
    measurement = read(client, arrived, "meter-cell", [(lux, current, "") for lux, current, _ in cell_rows()])
    assert measurement.result["best"] is None
    assert [one["name"] for one in measurement.result["cells"]] == ["in the camera"]


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([("100", "", "")], "Nothing is written under a cell's current."),
        ([("0", "5", "5")], "not above zero"),
        ([("100", "-5", "5")], "not above zero"),
        ([("100", "five", "5")], "not above zero"),
        ([("inf", "5", "5")], "not above zero"),
    ],
)
def test_currents_that_are_none_are_told_in_a_line(client, arrived, rows, says):
    measurement = read(client, arrived, "meter-cell", rows)
    assert measurement.progress == "refused"
    assert says in measurement.reason


# --- charts ----------------------------------------------------------------------------------------------


def words_of(item):
    return [thing for thing in str(item).split("'") if thing]


def test_the_error_chart_says_what_is_what(client, arrived):
    change_settings({"gauge_limits": {"meter.error_ev": 0.4}}, by=BY)
    measurement = read(client, arrived, "meter", meter_rows())
    for scheme in ("light", "dark"):
        item = client.get(reverse("gauging_chart", args=[measurement.pk, "error"]), {"scheme": scheme}).json()
        assert {"the limit: ± 0.4", "the error, sure to 95 %", "light rising", "light falling"} <= set(
            words_of(item)
        )
    up, down = glyphs(item, "Scatter")
    assert (len(up["data"]["x"]), len(down["data"]["x"])) == (7, 6)
    assert up["glyph"]["fill_color"] != down["glyph"]["fill_color"]


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        ((-0.5, 0.5), "the limit: ± 0.5"),
        ((-0.25, 0.5), "the limit: \u22120.25 to +0.5"),
        ((None, 0.5), "the limit: at most +0.5"),
        ((-0.5, None), "the limit: at least \u22120.5"),
    ],
)
def test_a_limits_band_is_named_for_what_it_is(limits, says):
    item = charts.error_over(
        points=[(5, 0.1, "")], curve=[], limits=limits, x_label="light, EV", y_label="error, EV"
    )
    assert says in words_of(item)
    assert "rising" not in words_of(item)


def test_cells_stand_level_where_they_go_with_the_light(client, arrived):
    measurement = read(client, arrived, "meter-cell", cell_rows())
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "current"])).json()
    camera, spare = glyphs(item, "Scatter")
    # current for each lux against the best, in EV: the spare's is 0.1 uA/lx throughout, within its wobble
    assert max(map(abs, spare["data"]["y"])) < 0.05
    assert camera["data"]["y"][0] == pytest.approx(-1 - 0.8, abs=0.06)  # -1 - 0.1 log2(6400 / 25)
    assert camera["data"]["y"][-1] == pytest.approx(-1, abs=0.06)
