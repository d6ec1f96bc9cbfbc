"""Oils and greases: ASTM D341 and D2270 against worked sheets and a library, and what goes where."""

import subprocess
import sys
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.trade.answers import as_json
from pegwood.trade.lubricants import (
    LUBRICANTS,
    PLACES,
    BelowPourPoint,
    TooThin,
    Walther,
    from_index,
    iso_vg,
    lubricant,
    nlgi,
    place,
    tell_cold,
    tell_lubricant,
    tell_place,
    viscosity_index,
)
from pegwood.trade.lubricants.grades import ISO_VG, NLGI
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade.walk_json import unsourced

TABLES = Reference()
MM2 = 1e-6


def kelvin(celsius: float) -> float:
    return celsius + 273.15


# --- the equations ----------------------------------------------------------------------------------


def test_the_worked_sheet_of_astm_d341():
    # the sheet takes kelvin as C + 273: 32 at 40 C, 5.4 at 100 C give A 9.5259, B 3.7449, 8.5 at 80 C
    line = Walther.through((32 * MM2, 313.0), (5.4 * MM2, 373.0))
    assert line.a == pytest.approx(9.5259, abs=1e-4)
    assert line.b == pytest.approx(3.7449, abs=1e-4)
    assert line.at(353.0) / MM2 == pytest.approx(8.5, abs=0.05)
    assert line.at(263.0) / MM2 == pytest.approx(805, rel=0.01)
    assert line.at(293.0) / MM2 == pytest.approx(86, rel=0.01)


def test_the_worked_index_of_astm_d2270():
    assert round(viscosity_index(73.3 * MM2, 8.86 * MM2)) == 92


def test_the_index_agrees_with_a_library_that_holds_the_standards_table():
    from chemicals.viscosity import viscosity_index as library

    compared = 0
    for at_100 in (2.0, 2.6, 3.79, 3.81, 5.1, 8.86, 11.9, 14.0, 21.0, 39.9, 54.9, 69.9, 70.1, 120.0):
        for times in (2.5, 4.0, 6.0, 8.0, 10.0, 13.0):
            table = library(at_100 * times * MM2, at_100 * MM2)
            if 0 <= table <= 200:  # of real oils
                assert viscosity_index(at_100 * times * MM2, at_100 * MM2) == pytest.approx(table, abs=0.3)
                compared += 1
    assert compared > 25


@given(st.floats(7, 1000), st.floats(60, 160))
def test_an_oil_made_from_an_index_has_that_index(at_40, index):
    try:
        line = from_index(at_40 * MM2, index)
    except TooThin:
        return
    assert line.at(kelvin(40)) / MM2 == pytest.approx(at_40, rel=1e-6)
    # the standard's table has small steps between its parts: 0.4 is less than it rounds to
    assert viscosity_index(line.at(kelvin(40)), line.at(kelvin(100))) == pytest.approx(index, abs=0.6)


@pytest.mark.parametrize(
    ("grade", "index", "at_20", "at_0", "at_minus_10"),
    [
        # made with the viscosity index of a library and D341, apart from this code
        (10, 95, 21, 55, 103),
        (10, 140, 19, 47, 82),
        (15, 140, 32, 85, 160),
        (22, 140, 50, 152, 306),
        (32, 95, 88, 352, 862),
        (68, 95, 218, 1080, 3010),
        (100, 95, 343, 1840, 5360),
    ],
)
def test_oils_of_a_grade_and_an_index_in_the_cold(grade, index, at_20, at_0, at_minus_10):
    line = from_index(grade * MM2, index)
    found = [line.at(kelvin(celsius)) / MM2 for celsius in (20, 0, -10)]
    assert found == pytest.approx([at_20, at_0, at_minus_10], rel=0.03)


@given(st.floats(2.5, 50), st.floats(1.5, 15), st.floats(-40, 100), st.floats(0.5, 20))
def test_an_oil_is_thinner_when_warmer(at_100, times, celsius, warmer):
    line = Walther.through((at_100 * times * MM2, kelvin(40)), (at_100 * MM2, kelvin(100)))
    try:
        cold, warm = line.at(kelvin(celsius)), line.at(kelvin(celsius + warmer))
    except ValueError:
        return  # outside what the equation holds for
    assert cold > warm


def test_what_the_equation_does_not_hold_for_is_refused():
    thin = Walther.through((4 * MM2, kelvin(40)), (2 * MM2, kelvin(80)))
    with pytest.raises(TooThin, match="from 2 mm²/s upwards"):
        thin.at(kelvin(120))
    with pytest.raises(TooThin):
        Walther.through((5 * MM2, kelvin(40)), (1.2 * MM2, kelvin(100)))
    with pytest.raises(ValueError, match="thinner when it is warmer"):
        Walther.through((5 * MM2, kelvin(40)), (32 * MM2, kelvin(100)))
    with pytest.raises(ValueError, match="no temperature for an oil"):
        thin.at(20)
    with pytest.raises(TooThin):
        viscosity_index(10 * MM2, 1.5 * MM2)
    with pytest.raises(ValueError, match="which figure is which"):
        viscosity_index(5 * MM2, 8 * MM2)
    with pytest.raises(ValueError, match="index of 900"):
        from_index(32 * MM2, 900)


# --- grades -----------------------------------------------------------------------------------------


def test_grades_as_the_standards_have_them():
    assert [iso_vg(v * MM2) for v in (30.0, 26.0, 28.8, 35.2, 9.0, 11.0, 90, 110)] == [
        32,
        None,
        32,
        32,
        10,
        10,
        100,
        100,
    ]  # ISO 3448
    assert [nlgi(tenths * 1e-4) for tenths in (280, 300, 265, 295, 475, 85)] == [
        "2",
        None,
        "2",
        "2",
        "000",
        "6",
    ]  # ASTM D217
    for wrong in (0, -1):
        with pytest.raises(ValueError, match="cannot be"):
            iso_vg(wrong)
        with pytest.raises(ValueError, match="cannot be"):
            nlgi(wrong)


def test_grades_are_sorted_and_do_not_overlap():
    middles = list(ISO_VG.values())
    assert middles == sorted(middles)
    assert all(a * 1.1 < b * 0.9 for a, b in pairwise(middles))
    ends = list(NLGI.values())
    assert all(soft[0] > hard[1] for soft, hard in pairwise(ends))
    assert all(most - least == 30 for least, most in ends)  # ASTM D217: every grade is 30 wide


# --- tables -----------------------------------------------------------------------------------------


def test_places_name_lubricants_that_there_are():
    for where in TABLES.rows(PLACES).values():
        assert set(where.lubricants) <= TABLES.rows(LUBRICANTS).keys(), where.key


@pytest.mark.parametrize("word", ["shutter blades", "iris", "gear teeth", "clutch", "glass", "air brake"])
def test_where_none_may_be_none_is_told(word):
    answer = tell_place(TABLES, word)
    assert answer.headline.verdict == "never"
    assert answer.data["place"]["lubricants"] == []


def test_the_grade_that_a_row_names_is_that_of_its_viscosity():
    for row in TABLES.rows(LUBRICANTS).values():
        if row.key.startswith(("synthetic-oil", "mineral-oil")):
            assert iso_vg(row.viscosity(kelvin(40)).value) == int(row.key.rsplit("-", 1)[1])


def test_everything_in_the_tables_can_be_told_and_no_figure_without_its_source():
    answers = [tell_lubricant(TABLES, row.key) for row in TABLES.rows(LUBRICANTS).values()]
    answers += [tell_place(TABLES, where.key) for where in TABLES.rows(PLACES).values()]
    answers += [tell_cold(TABLES, row.key) for row in TABLES.rows(LUBRICANTS).values() if row.known]
    for answer in answers:
        assert list(unsourced(as_json(answer))) == [], answer.understood


def test_an_unknown_place_names_the_nearest():
    with pytest.raises(UnknownWord, match="Nearest: helicoid"):
        place(TABLES, "helicoit")


# --- the cold ---------------------------------------------------------------------------------------


def test_the_winter_check_gives_the_ratio_with_what_the_class_leaves_open():
    answer = tell_cold(TABLES, "mineral oil VG 32")
    ratio = answer.data["cold"]["ratio"]
    assert ratio["ratio"] == pytest.approx(862 / 88, rel=0.02)  # the sheet's figures
    assert ratio["lowest"] < ratio["ratio"] < ratio["highest"]
    assert "gear-train-pivots" in answer.data["cold"]["slows"]


def test_a_synthetic_oil_slows_less_than_a_mineral_one():
    mineral, synthetic = (
        tell_cold(TABLES, word).data["cold"]["ratio"]["ratio"]
        for word in ("mineral oil VG 10", "synthetic oil VG 10")
    )
    assert synthetic < mineral  # the point of a high viscosity index


def test_below_the_pour_point_there_is_no_figure():
    with pytest.raises(BelowPourPoint, match="pour point"):
        lubricant(TABLES, "mineral oil VG 100").viscosity(kelvin(-20))
    answer = tell_cold(TABLES, "mineral oil VG 100", kelvin(-20))
    assert answer.headline.verdict == "never"
    assert answer.data["cold"]["viscosities"][0]["viscosity_m2_s"] is None
    told = tell_lubricant(TABLES, "mineral oil VG 100", [kelvin(-20)]).sections[0].lines[0]
    assert told.verdict == "not known"


def test_an_oil_of_ones_own_by_two_points_or_one_and_an_index():
    two = tell_lubricant(TABLES, "32@40 5.4@100", [kelvin(80)])
    assert two.data["lubricant"]["viscosities"][0]["viscosity_m2_s"] / MM2 == pytest.approx(8.5, abs=0.05)
    one = tell_lubricant(TABLES, "32@40 VI 95", [kelvin(-10)])
    assert one.data["lubricant"]["viscosities"][0]["viscosity_m2_s"] / MM2 == pytest.approx(862, rel=0.01)
    for wrong in ("32@40", "32@20 VI 95", "32@40 5.4@100 VI 95"):
        with pytest.raises(ValueError, match="give two points"):
            lubricant(TABLES, wrong)


def test_nothing_slows_where_it_is_dry_and_what_is_not_known_is_refused():
    assert tell_cold(TABLES, "graphite").data["cold"]["slows"] == []
    with pytest.raises(ValueError, match="viscosity is not known"):
        tell_cold(TABLES, "silicone grease")


def test_a_workshops_own_oil_stands_before_the_shipped_one(tmp_path):
    (tmp_path / "lubricants.toml").write_text(
        'source = "the tin on my shelf"\nmark = "practice"\n[[row]]\nkey = "shelf-oil"\nname = "shelf oil"\n'
        'kind = "oil"\npoints = [{ mm2_s = 32, at_c = 40, source = "the tin", mark = "seen" }, '
        '{ mm2_s = 5.4, at_c = 100, source = "the tin", mark = "seen" }]\n'
    )
    answer = tell_lubricant(Reference(tmp_path), "shelf oil", [kelvin(80)])
    assert answer.headline.own
    assert answer.data["lubricant"]["viscosities"][0]["viscosity_m2_s"] / MM2 == pytest.approx(8.5, abs=0.05)


def test_a_look_up_loads_no_numpy():
    code = (
        "import sys\n"
        "from pegwood.trade.reference import Reference\n"
        "from pegwood.trade.lubricants import tell_cold, tell_place\n"
        "tell_cold(Reference(), 'mineral oil VG 32'); tell_place(Reference(), 'helicoid')\n"
        "assert not {'numpy', 'chemicals'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
