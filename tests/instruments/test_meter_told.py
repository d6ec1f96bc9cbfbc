"""What is told of a meter in the bench's own words: the same analysis, whoever tells it."""

import io
import math

import pytest

from instruments.meters import table
from pegwood.instruments.meter import MeterLimits, analyse_told, fed_told
from pegwood.instruments.readings import RefusedReadings, open_figures
from pegwood.instruments.verdicts import Bounds

LEVELS = (4, 7, 10, 13, 16)
WAY = (1,) * 5 + (-1,) * 5


def readings(error=0.27, column="reference_ev", unit=lambda ev: ev):
    light = (*LEVELS, *reversed(LEVELS))
    text = table(light, [ev + error for ev in light], WAY).splitlines()
    head = text[0].replace("reference_ev", column)
    rows = [f"{unit(ev):.10g},{line.partition(',')[2]}" for ev, line in zip(light, text[1:], strict=True)]
    return open_figures(io.BytesIO("\n".join([head, *rows]).encode()), "typed.csv")


def test_nothing_told_is_the_ordinary():
    found = analyse_told(readings(), {})
    assert found.offset.value == pytest.approx(0.27, abs=1e-3)
    assert (found.cell, found.fed, found.taken_off_ev) == ("unknown", None, 0.0)
    told = dict.fromkeys(("k", "c", "film_speed", "light", "scale"))
    assert analyse_told(readings(), told).to_json() == found.to_json()


@pytest.mark.parametrize(
    ("column", "told", "light"),
    [  # ISO 2720: L = K 2^EV / S and E = C 2^EV / S, solved for the light by hand
        ("reference_cd_m2", {}, lambda ev: 12.5 * 2**ev / 100),
        ("reference_cd_m2", {"k": 11.0, "film_speed": 200.0}, lambda ev: 11 * 2**ev / 200),
        ("reference_lx", {"receptor": "dome"}, lambda ev: 340 * 2**ev / 100),
        ("reference_lx", {"c": 300.0}, lambda ev: 300 * 2**ev / 100),
    ],
)
def test_light_is_turned_into_ev_by_the_constant_that_was_told(column, told, light):
    found = analyse_told(readings(column=column, unit=light), told)
    assert found.offset.value == pytest.approx(0.27, abs=1e-3)
    assert any("by ISO 2720 with" in note for note in found.notes)


def test_the_limits_handed_in_judge_unless_one_is_told():
    own = MeterLimits(Bounds(-0.1, 0.1, "ev", "the workshop's own", "practice"))
    assert analyse_told(readings(), {"reference_u_ev": 0.01}, own).verdict == "outside"
    assert analyse_told(readings(), {"reference_u_ev": 0.01, "limit_ev": 0.6}, own).verdict == "within"


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"light": "A"}, "selenium or CdS"),
        ({"limit_ev": 0.0}, "above zero"),
        ({"limit_ev": math.nan}, "above zero"),
        ({"film_speed": 0.0}, "above zero"),
        ({"cell_in_it": "potato"}, "There are: mercury"),
        ({"cell_in_it": "alkaline", "made_for": "potato"}, "There are: mercury"),
        ({"cell_in_it": "alkaline", "current_ua": 0.0}, "above zero"),
        ({"cell_in_it": "alkaline", "circuit": "ring"}, "series or bridge"),
    ],
)
def test_what_cannot_be_told_is_refused_in_a_line(told, says):
    with pytest.raises(RefusedReadings, match=says):
        analyse_told(readings(), told)


def test_no_line_names_an_option_of_the_command():
    found = analyse_told(
        readings(), {"cell": "cds", "light": "A", "cell_in_it": "silver-oxide", "current_ua": 50.0}
    ).to_json()
    lines = [*found["advice"], *found["warnings"], *found["notes"], *found["cautions"], *found["fed"]["says"]]
    assert len(lines) > 5
    assert not any("--" in line for line in lines)


def test_the_light_colours_share_is_told_as_what_it_is():
    plain = analyse_told(readings(), {"cell": "cds"})
    lamp = analyse_told(readings(), {"cell": "cds", "light": "A"})
    assert plain.offset.value - lamp.offset.value == pytest.approx(lamp.taken_off_ev)
    assert lamp.taken_off_ev > 0.1  # a CdS cell sees red, of which a filament lamp has more than daylight


# --- the cell it is fed with -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("was", "is_now", "volts"),
    [("mercury", "silver-oxide", (1.35, 1.55)), ("mercury", "zinc-air", (1.35, 1.40)),
     ("silver-oxide", "mercury", (1.55, 1.35))],
)  # fmt: skip
def test_a_simple_series_meter_is_off_by_the_voltages_over_gamma(was, is_now, volts):
    fed = fed_told({"cell_in_it": is_now, "made_for": was})
    # R = R_m 2^(-gamma x): the needle stands where log2(V'/V) / gamma more light would have it
    assert fed.to_json()["error_ev"] == pytest.approx(math.log2(volts[1] / volts[0]) / 0.7, abs=1e-9)


def test_a_resistor_takes_up_the_difference_at_the_meters_own_current():
    fixes = fed_told({"cell_in_it": "silver-oxide", "current_ua": 50.0}).to_json()["fixes"]
    (resistor,) = (one for one in fixes if one["fix"] == "resistor")
    assert resistor["resistor_ohm"] == pytest.approx(0.2 / 50e-6)  # Ohm's law
    (dial,) = (one for one in fixes if one["fix"] == "film-speed dial")
    assert dial["worst_ev"] == pytest.approx(0, abs=1e-9)  # exact where nothing is in series


def test_a_cell_of_less_voltage_has_no_resistor():
    fed = fed_told({"cell_in_it": "mercury", "made_for": "silver-oxide", "current_ua": 50.0})
    assert [one.fix for one in fed.fixes] == ["nothing", "film-speed dial"]
    assert any("nothing in series can" in line for line in fed.remedies())


def test_the_cell_it_was_made_for_does_nothing():
    fed = fed_told({"cell_in_it": "mercury"})
    assert "the voltage it was made for" in fed.effect()
    assert fed.remedies() == ()


@pytest.mark.parametrize("told", [{}, {"cell_in_it": ""}, {"cell": "selenium", "cell_in_it": "alkaline"}])
def test_where_no_cell_is_told_or_none_is_there_nothing_is_said(told):
    assert fed_told(told) is None
