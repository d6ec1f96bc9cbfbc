"""What is told of substances, of pairs that must not meet, of hazards and of charged capacitors."""

import math
import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest

import pegwood.web
from pegwood.trade.answers import as_json
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from pegwood.trade.safety import (
    CODES,
    HAZARDS,
    MIXTURES,
    RULES,
    SUBSTANCES,
    discharge,
    mixes,
    pictograms,
    resistor_for,
    substance,
    tell_capacitor,
    tell_hazard,
    tell_mixture,
    tell_substance,
)
from pegwood.trade.safety.capacitor import E12, next_e12
from trade.walk_json import unsourced

TABLES = Reference()
SYMBOLS = Path(pegwood.web.__file__).parent / "static" / "bench" / "ghs"


# --- labels -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "symbols"),
    [
        # symbols as the named records show them, not by way of the codes
        ("heptane", ("GHS02", "GHS07", "GHS08", "GHS09")),  # laboratory supplier's record
        ("propan-2-ol", ("GHS02", "GHS07")),  # safety data sheet
        ("ethanol", ("GHS02",)),  # ECHA
        ("acetic acid", ("GHS02", "GHS05")),
        ("oxalic acid", ("GHS05", "GHS07")),  # safety data sheet
        ("phosphoric acid", ("GHS05",)),
        ("ammonia", ("GHS05", "GHS07", "GHS09")),
        ("bicarbonate", ()),
    ],
)
def test_the_symbols_follow_from_the_codes(word, symbols):
    assert pictograms(TABLES, substance(TABLES, word)) == symbols


def test_no_exclamation_mark_beside_the_skull():
    # UN GHS 1.4.10.5.3.1
    assert {"GHS06"} <= set(pictograms(TABLES, substance(TABLES, "beryllium")))
    assert "GHS07" not in pictograms(TABLES, substance(TABLES, "beryllium"))
    told = tell_substance(TABLES, "beryllium").sections[0].lines
    assert {line.pictogram for line in told} == {"GHS06", "GHS08", ""}


def test_every_code_in_use_has_its_words_and_every_symbol_its_drawing():
    drawn = {path.stem for path in SYMBOLS.glob("*.svg")}
    assert drawn == {f"GHS0{number}" for number in range(1, 10)}
    codes = TABLES.rows(CODES)
    assert {code.pictogram for code in codes.values()} - {""} <= drawn
    for row in TABLES.rows(SUBSTANCES).values():
        assert {code for one in row.classified for code in one.codes} <= codes.keys()
    for hazard in TABLES.rows(HAZARDS).values():
        assert set(hazard.pictograms) <= drawn
        assert not hazard.substance or hazard.substance in TABLES.rows(SUBSTANCES)


@pytest.mark.parametrize("number", range(1, 10))
def test_a_symbol_is_black_on_white_in_a_red_square_on_its_point(number):
    # UN GHS 1.4.10.4.1
    drawing = ET.parse(SYMBOLS / f"GHS0{number}.svg").getroot()
    frame = next(one for one in drawing if one.tag.endswith("path"))
    assert (frame.get("fill"), frame.get("stroke")) == ("#fff", "#e2001a")
    assert frame.get("d") == "M100 8 192 100 100 192 8 100Z"
    colours = {one.get(name) for one in drawing.iter() for name in ("fill", "stroke")}
    assert colours <= {None, "#fff", "#000", "none", "#e2001a"}


def test_a_substance_answers_to_any_name_and_its_number():
    assert {substance(TABLES, word).key for word in ("Bleach", "7681-52-9", "sodium hypochlorite")} == {
        "sodium-hypochlorite"
    }
    with pytest.raises(UnknownWord, match="Nearest: heptane"):
        substance(TABLES, "heptan")


def test_a_flammable_liquid_says_so_with_its_amount_and_never_goes_into_the_tank():
    answer = tell_substance(TABLES, "heptane")
    assert "Flash point -7 °C" in answer.headline.says
    assert "13 ml" in answer.headline.says  # a quarter of 52 ml
    assert any("Never pour a flammable liquid into the tank" in line.says for line in answer.cautions)


def test_drinks_are_not_told_as_a_danger_of_the_solvent():
    answer = tell_substance(TABLES, "ethanol")
    assert not any("cancer" in line.label for line in answer.cautions)
    air = next(section for section in answer.sections if section.title == "Air")
    assert any("alcoholic beverages" in line.says for line in air.lines)
    assert any("causes cancer" in line.says for line in tell_substance(TABLES, "cadmium").cautions)


def test_everything_in_the_tables_can_be_told_and_no_figure_without_its_source():
    answers = [tell_substance(TABLES, row.key) for row in TABLES.rows(SUBSTANCES).values()]
    hazards = [tell_hazard(TABLES, row.key) for row in TABLES.rows(HAZARDS).values()]
    assert all(answer.cautions for answer in hazards)  # every hazard has something never to do
    others = [tell_mixture(TABLES, "bleach", "vinegar"), tell_capacitor(TABLES, 1e-3, 330)]
    for answer in (*answers, *hazards, *others, tell_substance(TABLES, "110-82-7")):
        assert list(unsourced(as_json(answer))) == [], answer.understood


def test_roles_that_rules_and_mixtures_speak_of_are_those_of_substances():
    substances = TABLES.rows(SUBSTANCES)
    roles = {role for row in substances.values() for role in row.roles}
    for rule in TABLES.rows(RULES).values():
        assert set(rule.roles) - {"any"} <= roles, rule.key
    for row in TABLES.rows(MIXTURES).values():
        for side in (row.a, row.b):
            assert side.removeprefix("role:") in roles if side.startswith("role:") else side in substances


# --- what must not meet -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("a", "b", "makes"),
    [
        # laboratory incompatibility lists
        ("bleach", "vinegar", "chlorine"),
        ("bleach", "ammonia", "chloramines"),
        ("bleach", "citric acid", "chlorine"),
        ("hydrogen peroxide", "acetone", "explosive peroxides"),
        ("hydrogen peroxide", "vinegar", "peracetic acid"),
        ("ammonia", "silver nitrate", "explode"),
        ("ammonia", "mercury", "explosive"),
    ],
)
def test_what_must_not_meet_is_refused_in_either_order(a, b, makes):
    for one, other in ((a, b), (b, a)):
        answer = tell_mixture(TABLES, one, other)
        assert answer.headline.verdict == "never"
        assert makes in answer.headline.says.lower()
        assert answer.headline.mark == "seen"
        after = next(section for section in answer.sections if section.title == "One after the other")
        assert "rinsing" in after.lines[0].says


def test_a_pair_that_no_row_names_is_not_known_and_never_safe():
    assert mixes(TABLES, "acetone", "water") == ()
    answer = tell_mixture(TABLES, "acetone", "water")
    assert answer.headline.verdict == "not known"
    keys = list(TABLES.rows(SUBSTANCES))
    pairs = [(a, b) for place, a in enumerate(keys) for b in keys[place + 1 :]]
    verdicts = {row.verdict for a, b in pairs for row in mixes(TABLES, a, b)}
    assert verdicts == {"never", "with care"}


def test_a_substance_with_itself_is_no_question():
    with pytest.raises(ValueError, match="Give two substances"):
        tell_mixture(TABLES, "bleach", "sodium hypochlorite")


# --- hazards ----------------------------------------------------------------------------------------


def test_mercury_is_never_vacuumed_and_thoriated_glass_never_ground():
    # EPA, mercury quick facts; 10 CFR 40.13(c)(7)
    assert any("vacuum" in line.says for line in tell_hazard(TABLES, "mercury spill").cautions)
    assert any("grind" in line.says for line in tell_hazard(TABLES, "thoriated glass").cautions)


def test_the_limits_that_hazards_quote_are_those_of_the_figures():
    figures = {"cadmium dust": 2e-9, "lead": 5e-8, "selenium": 2e-7, "beryllium": 2e-9}
    for word, limit in figures.items():
        one = tell_substance(TABLES, tell_hazard(TABLES, word).also[0].removesuffix(" safety"))
        assert one.data["figures"]["twa_kg_m3"]["value"] == pytest.approx(limit)
        law = next(s for s in tell_hazard(TABLES, word).sections if s.title == "What rules say")
        assert f"{limit * 1e6:g} mg/m³" in law.lines[0].says


# --- charged capacitors -----------------------------------------------------------------------------


def test_a_thousand_microfarads_at_330_volts():
    # closed forms: C U²/2 = 54.45 J; 330 exp(-5) = 2.2235 V; 330²/1000 = 108.9 W; ln(66) = 4.1897
    one = discharge(1000e-6, 330, 1000, safe_v=5)
    assert one.energy_j == pytest.approx(54.45, rel=1e-9)
    assert one.left_v(5.0) == pytest.approx(2.2235, rel=1e-4)
    assert one.starting_power_w == pytest.approx(108.9, rel=1e-9)
    assert one.time_to_safe_s == pytest.approx(4.18965, rel=1e-5)


@pytest.mark.parametrize("microfarads", [47, 150, 330, 333, 1000, 2200, 100_000])
def test_the_time_told_is_never_too_short(microfarads):
    told = tell_capacitor(TABLES, microfarads * 1e-6, 330, 12e3)
    wait_s = float(re.search(r"after ([\d.]+) s", told.headline.says)[1])
    left_v = 330 * math.exp(-wait_s / (12e3 * microfarads * 1e-6))  # closed form
    assert 5 * 0.9 < left_v <= 5


def test_what_the_resistor_takes_up_is_what_the_capacitor_held():
    one = discharge(330e-6, 300, 4700, safe_v=5)
    step = one.time_constant_s / 2000
    heat = sum(one.left_v((i + 0.5) * step) ** 2 / 4700 * step for i in range(40_000))
    assert heat == pytest.approx(one.energy_j, rel=1e-5)


@pytest.mark.parametrize("volt", [12, 60, 310, 330, 450, 1000])
def test_the_resistor_chosen_is_the_least_of_e12_that_its_rating_stands(volt):
    ohm = resistor_for(volt, rating_w=10)
    assert volt**2 / ohm <= 10 * (1 + 1e-9)
    decade = sorted(float(f"{step * 10**power:.3g}") for step in E12 for power in range(-1, 8))
    assert volt**2 / decade[decade.index(ohm) - 1] > 10
    # IEC 60063: twelve to the decade, each about the twelfth root of ten above the one before
    assert all(1.15 < b / a < 1.26 for a, b in pairwise(decade))
    assert next_e12(8.3) == 10.0


def test_a_capacitor_is_told_with_its_regain_and_a_meter():
    answer = tell_capacitor(TABLES, 1000e-6, 330)
    assert answer.data["capacitor"]["resistance_ohm"] == 12_000  # 330²/10 = 10 890
    assert answer.data["capacitor"]["rating_w"] == 10
    says = " ".join(line.says for section in answer.sections for line in section.lines)
    assert "meter rated for 330 V" in says
    assert "come back" in says
    assert any("screwdriver" in line.says for line in answer.cautions)
    assert "below 5 V already" in tell_capacitor(TABLES, 1e-6, 4).headline.says


@pytest.mark.parametrize(
    ("figures", "says"),
    [
        ((-1e-3, 330, 1000, 5), "capacitance"),
        ((1000, 330, 1000, 5), "1000 uF"),
        ((1e-3, 0, 1000, 5), "voltage"),
        ((1e-3, 330, 0, 5), "resistance"),
        ((1e-3, 330, 1000, 230), "safe voltage"),
        ((float("nan"), 330, 1000, 5), "capacitance"),
    ],
)
def test_a_figure_that_cannot_be_is_refused_with_one_that_could(figures, says):
    with pytest.raises(ValueError, match=says):
        discharge(*figures)
