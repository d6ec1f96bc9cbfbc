"""Glues: never near optics, what comes off again first, and times against what the sources print."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.trade.agents import verdict
from pegwood.trade.glues import (
    COVERINGS,
    GLUES,
    JOINS,
    best_glues,
    cure,
    tell_covering,
    tell_glue,
    tell_join,
)
from pegwood.trade.materials import MATERIALS
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade._told import keeps_its_word
from trade.test_corrosion import AGENTS

REFERENCE = Reference()
NOON = datetime(2030, 3, 4, 12)
MATERIAL_KEYS = list(REFERENCE.rows(MATERIALS))


@given(
    a=st.sampled_from(MATERIAL_KEYS),
    b=st.sampled_from(MATERIAL_KEYS),
    near=st.booleans(),
    again=st.booleans(),
)
def test_nothing_that_is_never_is_ever_chosen(a, b, near, again):
    found = best_glues(REFERENCE, a, b, near_optics=near, must_come_off_again=again)
    assert found.choices == best_glues(REFERENCE, b, a, near_optics=near, must_come_off_again=again).choices
    assert all(choice.fit.holds != "never" for choice in found.choices)
    if near or found.near_optics:
        assert all(choice.glue.near_optics != "never" for choice in found.choices)
    if again:
        assert all(choice.glue.removable != "no" for choice in found.choices)
    assert {one.glue.key for one in found.choices}.isdisjoint(one.glue.key for one in found.refused)
    assert all(one.reason for one in (*found.choices, *found.refused))


def test_cyanoacrylate_is_never_near_optics():
    # suppliers' notes: its vapour settles as a white bloom
    assert REFERENCE.rows(GLUES)["cyanoacrylate"].near_optics == "never"
    refused = {
        one.glue.key: one.reason for one in best_glues(REFERENCE, "glass", "brass", near_optics=False).refused
    }
    assert "bloom" in refused["cyanoacrylate"]


def test_the_rule_of_ten_degrees_is_told_only_of_what_sets_by_mixing():
    # the makers' pages speak of two-part adhesives; cyanoacrylate sets by the damp of the air
    told = {key for key, row in REFERENCE.rows(GLUES).items() if row.warmth}
    assert told == {"epoxy-fast", "epoxy-slow"}


def test_what_comes_off_again_stands_first_but_not_what_holds_poorly():
    leather = best_glues(REFERENCE, "leather", "aluminium", near_optics=False).choices
    assert [one.glue.key for one in leather] == ["transfer-tape", "shellac", "contact-cement", "pva"]
    pvc = best_glues(REFERENCE, "brass", "leatherette", near_optics=False).choices
    assert [one.glue.key for one in pvc] == ["transfer-tape", "contact-cement", "shellac"]


def test_a_glue_whose_own_solvent_takes_the_paint_stands_last_and_says_so():
    # bench facts: ethanol and acetone are never for air-dried nitrocellulose lacquer; naphtha's tape is safe
    found = best_glues(REFERENCE, "leather", "nitro-lacquer", near_optics=False).choices
    assert found[0].glue.key == "transfer-tape"
    spoiling = {one.glue.key for one in found if one.spoils}
    assert spoiling == {"shellac", "contact-cement"}
    assert {one.glue.key for one in found[-2:]} == spoiling
    told = tell_join(REFERENCE, "leather", "nitro-lacquer")
    assert keeps_its_word(told)
    assert any("ethanol spoils air-dried black lacquer" in line.says for line in told.sections[0].lines)


def test_what_stays_for_good_only_where_it_is_asked_for():
    kept = best_glues(REFERENCE, "abs", "abs", near_optics=False)
    assert kept.choices == ()
    assert [one.glue.key for one in kept.refused if one.only_for_good] == ["weld-butanone", "epoxy-slow"]
    assert "for a broken part: weld with butanone" in tell_join(REFERENCE, "abs", "abs").headline.says
    mended = best_glues(REFERENCE, "abs", "abs", near_optics=False, must_come_off_again=False)
    assert mended.choices[0].glue.key == "weld-butanone"


def test_what_the_tables_do_not_hold_is_not_known():
    told = tell_join(REFERENCE, "leather", "selenium cell")
    assert told.headline.verdict == "not known"
    assert best_glues(REFERENCE, "leather", "selenium", near_optics=False).choices == ()
    with pytest.raises(UnknownWord, match="no material"):
        best_glues(REFERENCE, "leather", "moonstone", near_optics=False)


def test_a_row_that_names_both_stands_before_one_that_names_a_kind():
    assert best_glues(REFERENCE, "glass", "steel", near_optics=False).join.key == "glass-in-cell"
    assert best_glues(REFERENCE, "steel", "brass", near_optics=False).join.key == "screw-lock"


def test_uv_cement_cures_for_twenty_times_its_first_light():
    # the cement's curing note: 15 s of pre-cure, 5 min at the same lamp, 4 to 8 times that for damp service
    found = cure(REFERENCE, "UV lens cement")
    assert found.set_s.likely == 15
    assert found.full_s.low == 20 * found.set_s.likely
    assert (found.full_s.likely, found.full_s.high) == (4 * found.full_s.low, 8 * found.full_s.low)


def test_the_ten_degree_rule_by_its_published_example():
    # an adhesive maker's page: 10 °C warmer halves the time, 20 C quarters it
    at_25, at_35, at_45 = (cure(REFERENCE, "slow epoxy", 273.15 + t) for t in (25, 35, 45))
    assert at_35.full_s.likely == pytest.approx(at_25.full_s.likely / 2)
    assert at_45.set_s.high == pytest.approx(at_25.set_s.high / 4)
    assert at_25.full_s == cure(REFERENCE, "slow epoxy").full_s
    assert cure(REFERENCE, "slow epoxy", 273.15 + 15).full_s.likely == pytest.approx(2 * at_25.full_s.likely)


def test_a_temperature_without_a_known_rule_or_outside_it_is_refused():
    with pytest.raises(ValueError, match="no figure is known"):
        cure(REFERENCE, "shellac", 300.0)
    with pytest.raises(ValueError, match="holds from 10 to 49 °C"):
        cure(REFERENCE, "epoxy", 278.15)


def test_the_day_it_is_ready_is_the_surest_one():
    tape = cure(REFERENCE, "transfer tape")
    assert tape.ready_at(NOON) == NOON + timedelta(days=3)
    assert tape.let_go_at(NOON) == NOON
    shellac = cure(REFERENCE, "shellac")
    assert shellac.let_go_at(NOON) < shellac.ready_at(NOON) == NOON + timedelta(hours=24)


def test_tables_name_materials_agents_and_glues_that_there_are():
    glues, materials = REFERENCE.rows(GLUES), REFERENCE.rows(MATERIALS)
    kinds = {f"any {row.kind}" for row in materials.values()}
    for join in REFERENCE.rows(JOINS).values():
        assert {*join.a, *join.b} <= kinds | set(materials), join.key
        assert {fit.glue for fit in join.fits} <= set(glues), join.key
        assert len({fit.glue for fit in join.fits}) == len(join.fits), join.key
    assert {fit.glue for join in REFERENCE.rows(JOINS).values() for fit in join.fits} >= set(glues) - {
        "epoxy-fast"
    }
    for glue in glues.values():
        assert {*glue.lifts, *glue.carries} <= AGENTS, glue.key
        assert glue.lifts or glue.removable != "yes", glue.key
    for row in REFERENCE.rows(COVERINGS).values():
        assert row.material in materials
        verdicts = {verdict(REFERENCE, agent, row.material).verdict for agent in row.lifts}
        assert verdicts <= {"safe", "with care"}, row.material


def test_every_glue_join_and_covering_is_told_with_its_sources():
    for key in REFERENCE.rows(GLUES):
        assert keeps_its_word(tell_glue(REFERENCE, key)), key
    for key in REFERENCE.rows(COVERINGS):
        assert keeps_its_word(tell_covering(REFERENCE, key)), key
    for a, b in (
        ("leather", "brass"),
        ("abs", "abs"),
        ("glass", "glass"),
        ("leather", "glass"),
        ("acetal", "acetal"),
    ):
        assert keeps_its_word(tell_join(REFERENCE, a, b)), (a, b)
    with pytest.raises(UnknownWord, match="no covering"):
        tell_covering(REFERENCE, "brass")


def test_heat_limits_and_fire_stand_with_the_covering():
    cautions = " ".join(one.says for one in tell_covering(REFERENCE, "leather").cautions)
    assert "Not above 60 °C" in cautions
    assert "No steam" in cautions
