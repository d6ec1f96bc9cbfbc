"""Another battery in a meter; cells compared: held to closed forms of elementary circuits."""

import math

import numpy as np
import pytest

from pegwood.instruments.meter import SeriesMeter, compare_cells, currents_of, shunt_for, supply_of, systems
from pegwood.instruments.meter.cell_results import CellTest
from pegwood.instruments.meter.series_meter import diode_drop
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.readings.table import FiguresTable


def fix(supply, name):
    return next(one for one in supply.fixes if one.fix == name)


# 1.55, 1.50 and 1.40 V against 1.35 V are 0.199, 0.152 and 0.052 EV of current; over gamma 0.7, of light
@pytest.mark.parametrize(("volts", "of_current"), [(1.55, 0.199), (1.50, 0.152), (1.40, 0.052)])
def test_a_simple_series_meter_reads_too_high(volts, of_current):
    supply = supply_of(SeriesMeter(1.35, 50e-6, 0.7), volts)
    for _, error in supply.fixes[0].errors:
        assert error.value == pytest.approx(math.log2(volts / 1.35) / 0.7, abs=1e-12)
        assert error.value * 0.7 == pytest.approx(of_current, abs=1e-3)


def test_the_worked_figure_of_silver_oxide():
    # 1.55 V in place of 1.35 V, gamma 0.7, no bridge: +0.285 EV
    assert supply_of(SeriesMeter(1.35, 50e-6, 0.7), 1.55).fixes[0].errors[4][1].value == pytest.approx(
        0.285, abs=1e-3
    )
    assert systems()["mercury"] == 1.35
    assert systems()["silver-oxide"] == 1.55


def test_a_bridge_at_its_null_does_not_care():
    supply = supply_of(SeriesMeter(1.35, 50e-6, 0.7), 1.55, "bridge")
    assert [error.value for _, error in supply.fixes[0].errors] == [0.0] * 9
    assert "null" in supply.notes[0]


def test_a_resistor_is_right_in_the_middle_and_wrong_at_the_ends():
    supply = supply_of(SeriesMeter(1.35, 50e-6, 0.7), 1.55)
    resistor = fix(supply, "resistor")
    assert resistor.resistor_ohm == pytest.approx(0.20 / 50e-6)  # 4 kohm
    # R_x = dV / I_m; V' / (R + R_x) against V / R: error = -log2((R + R_x) V / (R_m V')) / gamma - x
    middle = 1.35 / 50e-6
    for x, error in resistor.errors:
        whole = middle * 2 ** (-0.7 * x) + 0.20 / 50e-6
        assert error.value == pytest.approx(-math.log2(whole * 1.35 / 1.55 / middle) / 0.7 - x, abs=1e-9)


def test_a_diode_leaves_what_its_drop_varies_by():
    supply = supply_of(SeriesMeter(1.35, 50e-6, 0.7), 1.55)
    diode = fix(supply, "diode")
    assert diode.errors[4][1].value == pytest.approx(0, abs=1e-9)
    kt = 1.380649e-23 * 293.15 / 1.602176634e-19  # 25.26 mV at 20 degrees
    for x, error in diode.errors:
        # by repeated substitution, from the drop at the current without it; I_s is far below these currents
        current = 50e-6 * 2 ** (0.7 * x)
        for _ in range(200):
            drop = 0.20 + 1.05 * kt * math.log(current / 50e-6)
            current = (1.55 - drop) / (1.35 / 50e-6 * 2 ** (-0.7 * x))
        assert error.value == pytest.approx(math.log2(current / (50e-6 * 2 ** (0.7 * x))) / 0.7, abs=3e-3)
    assert diode.worst < fix(supply, "resistor").worst


def test_a_factor_of_ten_in_current_is_58_mv_of_an_ideal_diode():
    drop = diode_drop(0.3, 1e-4, 1.0)
    assert drop(1e-4) == pytest.approx(0.3, abs=1e-12)
    assert drop(1e-3) - drop(1e-4) == pytest.approx(0.0582, abs=2e-4)  # kT/q ln 10 at 20 degrees


def test_its_uncertainty_holds_gamma_and_the_voltage():
    error = supply_of(SeriesMeter(1.35, 50e-6, 0.7), 1.55).fixes[0].errors[4][1]
    # d/dV' log2(V'/V)/gamma = 1 / (V' gamma ln 2): 0.02 V is 0.0266 EV
    assert error.budget[1].u == pytest.approx(0.02 / (1.55 * 0.7 * math.log(2)), rel=1e-3)
    assert error.budget[0].mark == "memory"
    low, high = error.coverage_interval()
    assert low < 0.199 / 0.75 < high


def test_a_needle_driven_beyond_the_scale_is_said():
    supply = supply_of(SeriesMeter(1.35, 50e-6, 0.7, series_ohm=20000), 1.55)
    assert supply.fixes[0].errors[-1][1] is None
    assert supply.fixes[0].worst is None


@pytest.mark.parametrize(
    "bad",
    [
        lambda: SeriesMeter(1.35, 0, 0.7),
        lambda: SeriesMeter(1.35, 50e-6, -1),
        lambda: SeriesMeter(1.35, 50e-6, 0.7, series_ohm=27001),  # 1.35 V / 50 uA = 27 kohm
        lambda: SeriesMeter(1.35, math.inf, 0.7),
        lambda: supply_of(SeriesMeter(1.35, 50e-6, 0.7), 230),
        lambda: supply_of(SeriesMeter(1.35, 50e-6, 0.7), 1.5, "star"),
    ],
)
def test_what_cannot_be_is_refused(bad):
    with pytest.raises(RefusedReadings):
        bad()


# --- shunt ----------------------------------------------------------------------------------------


def test_a_shunt_as_large_as_the_movement_halves_its_current():
    assert shunt_for(-1.0, 500.0, None, "selenium") == pytest.approx(500.0)
    assert shunt_for(+1.0, 500.0, 500.0, "selenium") is None
    # a CdS cell's current halves in 1/0.7 EV
    assert shunt_for(-1 / 0.7, 500.0, None, "cds") == pytest.approx(500.0, rel=1e-3)
    with pytest.raises(RefusedReadings, match="all the current"):
        shunt_for(+0.1, 500.0, None, "selenium")
    with pytest.raises(RefusedReadings, match="above zero"):
        shunt_for(-1.0, 0.0, None, "selenium")


# --- cells ----------------------------------------------------------------------------------------

LEVELS = np.array([100.0, 300.0, 1000.0, 3000.0, 10000.0])


def drawn(rng, factor, exponent=1.0, scatter=0.02, division=0.1e-6, levels=LEVELS):
    current = 1e-7 * factor * levels**exponent * 2 ** rng.normal(0, scatter, levels.size)
    return division * np.round(current / division) if division else current


def test_the_better_of_two_tired_cells():
    rng = np.random.default_rng(1)
    found = compare_cells(
        [CellTest("old", LEVELS, drawn(rng, 0.8)), CellTest("spare", LEVELS, drawn(rng, 1.0))],
        division_a=0.1e-6,
    )
    (pair,) = found.comparisons
    assert (found.best, pair.better) == ("spare", "spare")
    low, high = pair.middle.coverage_interval()
    assert low < math.log2(0.8) < high
    assert found.cells[1].sensitivity.value == pytest.approx(1e-7, rel=0.05)


def test_cells_alike_are_too_close_to_call():
    rng = np.random.default_rng(2)
    found = compare_cells([CellTest(name, LEVELS, drawn(rng, 1.0, division=0)) for name in "ab"])
    assert (found.best, found.comparisons[0].better) == (None, "too close to call")


def test_a_wrong_luxmeter_does_not_touch_the_comparison():
    rng = np.random.default_rng(3)
    ours, theirs = drawn(rng, 0.8), drawn(rng, 1.0)
    right = compare_cells([CellTest("a", LEVELS, ours), CellTest("b", LEVELS, theirs)])
    wrong = compare_cells([CellTest("a", LEVELS * 1.3, ours), CellTest("b", LEVELS * 1.3, theirs)])
    assert wrong.comparisons[0].middle.value == pytest.approx(right.comparisons[0].middle.value, abs=1e-12)
    assert wrong.cells[0].sensitivity.value == pytest.approx(right.cells[0].sensitivity.value / 1.3, rel=1e-9)


def test_a_cell_that_fails_in_weak_light_is_found():
    rng = np.random.default_rng(4)
    found = compare_cells(
        [CellTest("leaky", LEVELS, drawn(rng, 0.3, 1.2)), CellTest("sound", LEVELS, drawn(rng, 1))]
    )
    assert "weak light" in found.cells[0].says
    assert "goes with the light" in found.cells[1].says


def test_too_few_readings_are_said():
    few = LEVELS[:2]
    found = compare_cells([CellTest("a", few, 1e-7 * few), CellTest("b", few, 1e-7 * few)])
    assert (found.best, found.comparisons[0].middle) == (None, None)
    assert all("at least four" in line or "four or more" in line for line in found.warnings)


def test_a_dead_cell_is_refused():
    table = FiguresTable("t", ("illuminance_lx", "current_ua"), ((2, ("100", "0")),))
    with pytest.raises(RefusedReadings, match="line 2"):
        currents_of(table)


@pytest.mark.slow
@pytest.mark.parametrize("division", [0.0, 0.5e-6])
def test_the_comparison_holds_the_truth(division):
    from instruments.meters import binomial_bounds

    rng, n, hits = np.random.default_rng(9), 1500, np.zeros(2)
    for _ in range(n):
        truth = rng.uniform(-0.5, 0.5)
        both = [
            CellTest("a", LEVELS, drawn(rng, 2**truth, division=division)),
            CellTest("b", LEVELS, drawn(rng, 1.0, division=division)),
        ]
        pair = compare_cells(both, division_a=division).comparisons[0]
        for place, one in enumerate((pair.middle, pair.weakest)):
            low, high = one.coverage_interval()
            hits[place] += low <= truth <= high
    low, high = binomial_bounds(n)
    assert ((low <= hits / n) & (hits / n <= high)).all(), hits / n
