"""Fits in warmth against figures reckoned by hand from Callister's coefficients; clutches against theirs."""

import pytest

from pegwood.trade.figures import Figure
from pegwood.trade.fits import EXPANSIONS, Clutch, Expansion, fit, tell_clutch, tell_fit
from pegwood.trade.materials import MATERIALS
from pegwood.trade.measured import Measured
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade._told import told

TABLES = Reference()


def alloy(material, value):
    return Expansion(
        material=material,
        per_mk=(Figure(value=value, source="test", mark="seen"),),
        source="test",
        mark="seen",
    )


@pytest.mark.parametrize(
    ("outer", "inner", "closes_um"),
    [
        (20.5, 23.6, 6.2),  # 6061 in C36000
        (19.9, 23.6, 7.4),  # 6061 in C26000
        (17.3, 23.6, 12.6),  # 6061 in 304
        (12.0, 23.6, 23),  # 6061 in plain steel
        (12.0, 20.5, 17),  # brass in steel
    ],
)
def test_a_helicoid_of_50_mm_by_40_kelvin(outer, inner, closes_um):
    # facts, section 8, by hand
    found = fit(alloy("a", outer), alloy("b", inner), diameter_m=0.05, by_k=40.0)
    assert -found.change_m * 1e6 == pytest.approx(closes_um, rel=0.015)
    assert found.low_m == found.high_m == found.change_m


def test_sources_that_differ_are_told_as_a_spread():
    # nickel silver 16.2 to 18.4 in two tables: 50 mm, 40 K in bronze at 17.8 to 18.0
    answer = tell_fit(TABLES, "bronze", "nickel silver", diameter_m=0.05, to_c=60.0)
    assert "opens or closes, the sources differ" in told(answer)
    data = answer.data["fit"]
    assert data["change_low_m"] == pytest.approx(0.05 * (17.8 - 18.4) * 1e-6 * 40)
    assert data["change_high_m"] == pytest.approx(0.05 * (18.0 - 16.2) * 1e-6 * 40)


def test_cold_opens_what_warmth_closes():
    assert "closes" in told(tell_fit(TABLES, "brass", "aluminium", diameter_m=0.05, to_c=60.0))
    assert "opens" in told(tell_fit(TABLES, "brass", "aluminium", diameter_m=0.05, to_c=-10.0))


@pytest.mark.parametrize(
    ("clearance_um", "u_um", "says"),
    [
        (30, 1, "it still runs"),
        (10, 1, "it binds"),
        (23, 1, "too close to call"),
        (30, 5, "too close to call"),
    ],
)
def test_a_clearance_is_judged_with_all_that_is_unsure(clearance_um, u_um, says):
    # aluminium in steel, 50 mm, 40 K: closes by 17 (21.5 in 13.0) to 25.2 um (23.6 in 11.0)
    clearance = Measured(clearance_um * 1e-6, u_um * 1e-6)
    answer = tell_fit(TABLES, "steel", "aluminium", diameter_m=0.05, to_c=60.0, clearance=clearance)
    assert says in told(answer)


@pytest.mark.parametrize("row", TABLES.rows(EXPANSIONS).values(), ids=lambda row: row.material)
def test_every_expansion_is_of_a_known_material_and_its_sources_lie_near_each_other(row):
    assert row.material in TABLES.rows(MATERIALS)
    assert row.said.high / row.said.low < 1.7


def test_the_order_of_the_metals_is_that_of_every_handbook():
    # steel < nickel silver < brass < aluminium < magnesium < lead, as in any table of expansion
    first = [
        TABLES.rows(EXPANSIONS)[key].said.value
        for key in ("glass", "steel", "nickel-silver", "brass", "aluminium", "magnesium", "lead")
    ]
    assert first == sorted(first)


def test_a_plating_sends_to_the_metal_below():
    with pytest.raises(ValueError, match="Name the metal below it"):
        tell_fit(TABLES, "brass", "nickel plate", diameter_m=0.05)
    with pytest.raises(UnknownWord, match="Nearest: brass"):
        tell_fit(TABLES, "bras", "steel", diameter_m=0.05)


@pytest.mark.parametrize(("diameter", "to_c"), [(0.0, 60.0), (2.0, 60.0), (0.05, 900.0)])
def test_figures_that_cannot_be_are_refused(diameter, to_c):
    with pytest.raises(ValueError, match=r"diameter|temperatures"):
        tell_fit(TABLES, "brass", "steel", diameter_m=diameter, to_c=to_c)


def test_a_clutch_slips_where_the_lesson_has_it():
    # facts, section 8: mu 0.15, F 2 N, 2 faces, ro 5, ri 3 mm: 2.40 (wear) and 2.45 (pressure) N mm
    clutch = Clutch(friction=0.15, force_n=2.0, faces=2, outer_m=5e-3, inner_m=3e-3)
    assert clutch.worn_n_m * 1e3 == pytest.approx(2.40, abs=0.005)
    assert clutch.new_n_m * 1e3 == pytest.approx(2.45, abs=0.005)
    assert "2.4 N mm worn in, 2.45 N mm as new" in told(tell_clutch(clutch))
    with pytest.raises(ValueError, match="outer diameter"):
        Clutch(friction=0.15, force_n=2.0, faces=2, outer_m=3e-3, inner_m=5e-3)
