"""Couples: worked cases of the published rule, and the order against lists that were made by others."""

import math
from itertools import combinations

import pytest

from pegwood.trade.materials import MATERIALS
from pegwood.trade.metals import (
    ANODIC_INDEX,
    ENVIRONMENTS,
    RULES,
    SEAWATER,
    couple,
    in_order,
    tell_couple,
    tell_metal,
)
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade._told import keeps_its_word

REFERENCE = Reference()

# The galvanic series in sea water of MIL-STD-889B, table II, as a page quotes it: place, and the alloy that
# stands for our material. Kept here and not read from our table.
MIL_STD_889B = {
    "magnesium": 1, "zinc-die-cast": 4, "cadmium-plate": 10, "aluminium": 19, "duralumin": 25,
    "tin-plate": 27, "lead": 29, "steel": 30, "copper": 55, "nickel-plate": 34, "chromium-plate": 35,
    "brass": 49, "nickel-silver": 52, "bronze": 62,
}  # fmt: skip
# Where that list and the anodic index are known to part: tin and lead against steel, nickel and chromium
# against the copper alloys (plated nickel and chromium are porous in sea water), and neighbours.
PARTED = {
    frozenset(pair)
    for first, others in (
        ("tin-plate", ("lead", "steel", "duralumin")),
        ("lead", ("steel", "duralumin")),
        ("duralumin", ("steel", "cadmium-plate")),
        ("nickel-plate", ("chromium-plate", "brass", "nickel-silver", "bronze", "copper")),
        ("brass", ("bronze", "copper", "nickel-silver")),
        ("bronze", ("copper", "nickel-silver")),
        ("nickel-silver", ("copper",)),
        ("aluminium", ("cadmium-plate",)),
    )
    for pair in ((first, other) for other in others)
}

# Ranges of potentials in sea water against Ag/AgCl, [V], as a boatbuilders' magazine of 2006 prints them:
# made by others than the US Navy's figures in our table; the two electrodes differ by about 0.01 V there.
MARINE_RANGES = {
    "magnesium": (-1.65, -1.60), "zinc-die-cast": (-1.03, -0.98), "aluminium": (-1.00, -0.76),
    "cadmium-plate": (-0.73, -0.70), "steel": (-0.71, -0.60), "brass": (-0.40, -0.30),
    "tin-plate": (-0.33, -0.31), "copper": (-0.57, -0.30), "soft-solder": (-0.37, -0.28),
}  # fmt: skip


@pytest.mark.parametrize(
    ("a", "b", "apart", "verdicts", "anode"),
    [
        ("brass", "nickel", 0.10, ["within", "within", "within"], "brass"),
        ("aluminium", "brass", 0.50, ["outside", "outside", "within"], "aluminium"),
        ("zinc die-cast", "chrome", 0.65, ["outside", "outside", "outside"], "zinc-die-cast"),
        ("gold", "silver", 0.15, ["within", "within", "within"], "silver"),
    ],
)
def test_the_worked_cases_of_the_anodic_index_rule(a, b, apart, verdicts, anode):
    # gold on silver in a harsh place is the rule's own example of a difference that is exactly accepted
    for first, second in ((a, b), (b, a)):
        found = couple(REFERENCE, first, second)
        assert found.difference_v == apart
        assert [one.verdict for one in found.judged] == verdicts
        assert found.anode.key == anode


def test_just_over_the_limit_is_too_close_to_call_and_just_under_has_little_to_spare():
    # copper 0.35 against soft solder 0.65: rounding alone, half a step of 0.05 V each way on both, is by hand
    # an expanded uncertainty of 2 x 0.025 x sqrt(2/3)
    solder = couple(REFERENCE, "copper", "solder", "indoor")
    assert solder.uncertainty_v == pytest.approx(2 * 0.025 * math.sqrt(2 / 3))
    assert solder.asked.verdict == "outside"  # 0.30 is 0.05 over, more than 0.041
    brass = couple(REFERENCE, "brass", "solder", "indoor")
    assert brass.asked.verdict == "within"
    assert brass.asked.little_to_spare
    silver = couple(REFERENCE, "silver", "brass", "indoor")
    assert silver.asked.little_to_spare
    close = couple(REFERENCE, "brass", "chrome", "salt")
    assert (close.difference_v, close.asked.verdict) == (0.20, "too close to call")
    assert not couple(REFERENCE, "gold", "nickel", "dry cabinet").asked.little_to_spare


def test_that_a_metal_may_be_nobler_does_not_excuse_it_beside_a_baser_one():
    # anodic indices as printed: stainless 0.50 (18 % Cr) and at most 0.60 (12 % Cr), aluminium 0.90 at least:
    # 0.30 V apart at the very least, over the 0.15 V of salt; 0.30 for passive stainless only makes it more
    salt = couple(REFERENCE, "aluminium", "stainless steel", "salt")
    assert salt.asked.verdict == "outside"
    assert salt.anode.key == "aluminium"


def test_every_metal_and_every_metal_finish_has_an_index_or_says_why_not():
    rows = REFERENCE.rows(ANODIC_INDEX)
    metals = {row.key for row in REFERENCE.rows(MATERIALS).values() if row.kind in ("metal", "finish")}
    assert metals <= set(rows)
    assert all(row.insulates and row.reason for row in rows.values() if row.index_v is None)
    assert all({*row.over, *filter(None, [row.under])} <= metals for row in rows.values())
    assert set(REFERENCE.rows(SEAWATER)) <= metals


def test_the_order_is_that_of_mil_std_889b_but_where_the_two_are_known_to_part():
    index = {row.material: row.volts for row in in_order(REFERENCE)}
    pairs = list(combinations(MIL_STD_889B, 2))
    parted = {
        frozenset((a, b))
        for a, b in pairs
        if (index[a] - index[b]) * (MIL_STD_889B[b] - MIL_STD_889B[a]) <= 0
    }
    assert parted <= PARTED
    assert len(parted) < 0.25 * len(pairs)


def test_places_and_potentials_of_the_cross_check_are_those_that_others_print():
    rows = REFERENCE.rows(SEAWATER)
    for key, place in MIL_STD_889B.items():
        assert abs(rows[key].place - place) <= 3, key  # tempers of one alloy stand within three places
    for key, (low, high) in MARINE_RANGES.items():
        assert low - 0.02 <= rows[key].potential_v <= high + 0.02, key


@pytest.mark.parametrize(
    ("a", "b", "agreement"),
    [
        ("brass", "steel", "agrees"),
        ("stainless steel", "brass", "disagrees"),  # passive, it is the nobler one in sea water
        ("nickel", "silver", "cannot tell"),  # 0.02 V apart, each good to 0.04 V
        ("solder", "lead", "disagrees"),
        ("cadmium plate", "aluminium", "disagrees"),
    ],
)
def test_another_series_is_heard_on_the_order_alone(a, b, agreement):
    assert couple(REFERENCE, a, b).others[0].agreement == agreement


def test_a_film_makes_no_couple_until_it_is_scratched():
    found = couple(REFERENCE, "black anodised", "brass", "salt")
    assert [row.material for row in found.films] == ["anodised-aluminium"]
    assert (found.counts_a.key, found.anode.key, found.asked.verdict) == ("aluminium", "aluminium", "outside")
    assert "while the film is whole" in tell_couple(REFERENCE, "anodised", "brass").headline.says
    with pytest.raises(ValueError, match="Ask for the metal under it"):
        couple(REFERENCE, "stoved enamel", "brass")


def test_under_a_nobler_finish_the_basis_is_named_and_a_baser_one_shields():
    chrome = couple(REFERENCE, "chrome", "brass")
    assert [one.key for _, bases in chrome.beneath for one in bases] == ["steel", "zinc-die-cast"]
    zinc = couple(REFERENCE, "zinc plate", "brass")
    assert [one.key for one in zinc.sacrificed] == ["zinc-plate"]


def test_the_area_ratio_is_told_and_a_ratio_that_cannot_be_is_refused():
    told = tell_couple(REFERENCE, "brass", "steel", "salt", area_ratio=0.1)
    areas = next(line.says for s in told.sections for line in s.lines if line.label == "areas")
    assert "0.1 times as deep" in areas
    assert "mild case" in areas
    for wrong in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="above zero"):
            couple(REFERENCE, "brass", "steel", "salt", wrong)


def test_the_same_metal_and_metals_of_one_index_make_no_couple():
    assert couple(REFERENCE, "brass", "brass").anode is None
    assert "no couple" in tell_couple(REFERENCE, "brass", "brass").headline.says
    assert couple(REFERENCE, "brass", "bronze").anode is None


def test_what_is_no_metal_and_unknown_words_are_refused():
    with pytest.raises(ValueError, match="covering, no metal"):
        couple(REFERENCE, "leather", "brass")
    with pytest.raises(UnknownWord, match="no environment"):
        couple(REFERENCE, "steel", "brass", "moon")
    with pytest.raises(UnknownWord, match="no material"):
        couple(REFERENCE, "unobtainium", "brass")


def test_the_harsher_the_place_the_smaller_the_limit_and_everyday_names_lead_there():
    limits = {row.key: row.limit_v for row in REFERENCE.rows(ENVIRONMENTS).values()}
    assert limits == {"harsh": 0.15, "normal": 0.25, "controlled": 0.50}
    for key, words in (
        ("harsh", ("salt", "beach", "sea", "sweat", "damp", "cellar")),
        ("normal", ("indoor", "cupboard")),
        ("controlled", ("dry cabinet",)),
    ):
        assert {couple(REFERENCE, "brass", "steel", word).asked.environment.key for word in words} == {key}
    assert list(limits.values()) == sorted(limits.values())


def test_every_couple_and_every_metal_can_be_told_with_its_sources():
    keys = list(REFERENCE.rows(ANODIC_INDEX))
    metals = [row.material for row in in_order(REFERENCE)]
    assert all(keeps_its_word(tell_couple(REFERENCE, a, b, "salt", 3.0)) for a, b in combinations(metals, 2))
    assert all(keeps_its_word(tell_metal(REFERENCE, key)) for key in keys)
    assert {rule.when for rule in REFERENCE.rows(RULES).values()} == {"rule", "over", "small-anode", "salt"}


def test_a_workshops_own_index_counts_and_is_told_as_its_own(tmp_path):
    (tmp_path / "anodic-index.toml").write_text(
        'source = "my own list"\nmark = "practice"\n[[row]]\nmaterial = "brass"\nindex_v = 0.30\n', "utf-8"
    )
    found = couple(Reference(tmp_path), "brass", "nickel")
    assert found.anode is None
    assert tell_couple(Reference(tmp_path), "brass", "nickel").data["couple"]["own"] is True


def test_chromium_that_is_baser_by_the_list_is_not_told_to_suffer_for_sure():
    # at the bench the metal in its pores suffers (facts, section 1.4, practice), whatever the list prints
    told = tell_couple(REFERENCE, "chromium plate", "brass")
    assert "not sure" in told.headline.says
    assert any(line.label == "pores" for section in told.sections for line in section.lines)
    # zinc under chromium stays the anode, everywhere (section 11, case 3)
    assert "zinc die-cast suffers" in tell_couple(REFERENCE, "chromium plate", "zinc die-cast").headline.says
