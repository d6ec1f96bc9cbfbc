"""Grades of rust, against the borders that ISO 4628-3, ASTM D610 and ISO 10289 print."""

import math

import pytest

from pegwood.trade.metals import (
    RUST_BANDS,
    RUST_GRADES,
    grade_from_area,
    grade_from_look,
    rp_by_formula,
    tell_rust,
)
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade._told import keeps_its_word

REFERENCE = Reference()


@pytest.mark.parametrize(
    ("percent", "grade"),
    [(0.0, 10), (0.01, 10), (0.02, 9), (0.1, 8), (0.3, 7), (0.31, 6), (1.0, 6), (3.0, 5), (10, 4), (16, 3),
     (33, 2), (50, 1), (50.1, 0)],
)  # fmt: skip
def test_astm_d610_at_the_borders_of_its_table_1(percent, grade):
    assert grade_from_area(REFERENCE, percent).d610.grade == grade


@pytest.mark.parametrize(
    ("percent", "rp"), [(0.0, 10), (0.05, 9), (0.1, 9), (0.25, 8), (0.5, 7), (1.0, 6), (2.5, 5), (100, 0)]
)
def test_iso_10289_goes_by_the_band_and_not_by_rounding(percent, rp):
    assert grade_from_area(REFERENCE, percent).rp.grade == rp


def test_the_formula_of_iso_10289_as_printed_and_where_it_ends():
    assert rp_by_formula(0.1) == pytest.approx(9.0)
    assert rp_by_formula(1.0) == pytest.approx(6.0)
    assert rp_by_formula(2.5) == pytest.approx(4.81, abs=0.005)
    assert rp_by_formula(0.05) == pytest.approx(9.90, abs=0.005)
    assert rp_by_formula(0.046416) is None
    assert rp_by_formula(0.0) is None


def test_the_bands_agree_with_the_formula_within_a_half_grade():
    for band in REFERENCE.rows(RUST_BANDS).values():
        if band.scale == "ISO 10289" and band.grade > 0 and band.up_to_percent:
            assert abs(3 * (2 - math.log10(band.up_to_percent)) - band.grade) <= 0.5, band


def test_the_pictures_of_iso_4628_3_are_the_grades():
    # Ri: rusted area in %, and European Re, as a coatings-inspection table prints them; Ri 5 is 40 to 50 %
    for ri, area, re in ((0, 0, 0), (1, 0.05, 1), (2, 0.5, 2), (3, 1, 3), (4, 8, 5), (5, 40, 7)):
        found = grade_from_area(REFERENCE, area).grade
        assert (found.grade, found.ri, found.re) == (ri, ri, re)
    assert grade_from_area(REFERENCE, 0.06).grade.grade == 2  # between two pictures the worse


def test_borders_rise_as_grades_fall():
    for scale in ("ASTM D610", "ISO 10289"):
        bands = [band for band in REFERENCE.rows(RUST_BANDS).values() if band.scale == scale]
        assert [band.grade for band in bands] == list(range(10, -1, -1))
        areas = [band.up_to_percent for band in bands]
        assert areas == sorted(set(areas))
    grades = list(REFERENCE.rows(RUST_GRADES).values())
    assert [one.grade for one in grades] == list(range(6))
    assert [one.up_to_percent for one in grades] == sorted(one.up_to_percent for one in grades)


def test_an_eye_is_good_to_a_factor_of_two():
    found = grade_from_area(REFERENCE, 0.3)
    assert (found.lowest, found.grade.grade, found.highest) == (2, 2, 3)


def test_area_alone_misleads_a_flag_fails_what_a_speck_would_not():
    assert not grade_from_area(REFERENCE, 0.1).fails
    assert grade_from_area(REFERENCE, 0.1, ["moving-part"]).fails
    assert not grade_from_area(REFERENCE, 0.1, ["pitted"]).fails
    assert not grade_from_area(REFERENCE, 0.0, ["moving part"]).fails
    told = tell_rust(REFERENCE, "0.1 %", ["moving part"])
    assert told.headline.says.startswith("A failure, whatever the area: moving part")
    with pytest.raises(ValueError, match="'bent' is no flag"):
        grade_from_area(REFERENCE, 0.1, ["bent"])


@pytest.mark.parametrize("wrong", [-0.1, 100.1, math.nan, math.inf])
def test_what_is_no_part_of_a_surface_is_refused(wrong):
    with pytest.raises(ValueError, match="from 0 to 100 %"):
        grade_from_area(REFERENCE, wrong)


def test_a_look_has_a_grade_and_an_unknown_one_the_nearest_names():
    assert grade_from_look(REFERENCE, "a few specks").grade == 1
    assert grade_from_look(REFERENCE, "patches").grade == 4
    with pytest.raises(UnknownWord, match=r"Nearest: .*patch"):
        tell_rust(REFERENCE, "pach")


def test_rust_is_told_with_its_sources():
    for asked in ("0", "0.05", "0,3 %", "12", "100", "specks", "crust"):
        assert keeps_its_word(tell_rust(REFERENCE, asked, ["pitted", "optical face"]))
