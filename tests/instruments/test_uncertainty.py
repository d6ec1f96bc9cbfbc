"""
Uncertainty against the worked examples of the GUM (JCGM 100:2008).

Results of H.1, H.2 and 4.4.3 were read in GTC's documentation and in verification tables of open
uncertainty programs (mark: seen); the raw readings of 4.4.3 and H.2 and the inputs of
G.4.1 are from memory and reproduce the
published results.
"""

from __future__ import annotations

import math

import GTC
import numpy as np
import pytest
from scipy import stats

from pegwood.instruments.uncertainty import Component, Measured, combine, mean_of, propagate

TEMPERATURES = [
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
]  # fmt: skip
VOLTS = [5.007, 4.994, 5.005, 4.990, 4.999]
AMPERES = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
RADIANS = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]


def rectangular(half_width: float, df: float = math.inf) -> Measured:
    return Measured(0.0, half_width / math.sqrt(3), df)


def test_twenty_readings_of_a_temperature_as_in_gum_4_4_3():
    mean = mean_of(TEMPERATURES)
    assert mean.value == pytest.approx(100.145, abs=5e-4)
    assert mean.u * math.sqrt(20) == pytest.approx(1.489, abs=5e-4)
    assert mean.u == pytest.approx(0.333, abs=5e-4)
    assert mean.df == 19


def test_three_relative_parts_as_in_gum_g_4_1():
    product = combine(0.0, [Component("a", 0.25, 9), Component("b", 0.57, 4), Component("c", 0.82, 14)])
    assert product.u == pytest.approx(1.03, abs=5e-3)
    assert product.df == pytest.approx(19.0, abs=0.05)
    assert stats.t.ppf(0.975, 19) * product.u == pytest.approx(2.2, abs=0.05)


def end_gauge() -> Measured:
    difference = combine(215.0, [Component("d", 5.8, 24), Component("d1", 3.9, 5), Component("d2", 6.7, 8)])

    def length(ls, d, d_alpha, theta, alpha, d_theta):
        return ls + d - ls * (d_alpha * theta + alpha * d_theta)

    return propagate(
        length,
        {
            "ls": Measured(50_000_623.0, 25.0, 18),
            "d": difference,
            "d_alpha": rectangular(1e-6, 50),
            "theta": Measured(-0.1, 0.41),
            "alpha": Measured(11.5e-6, 2e-6 / math.sqrt(3)),
            "d_theta": rectangular(0.05, 2),
        },
    )


def test_end_gauge_as_in_gum_h_1():
    gauge = end_gauge()
    assert gauge.value == pytest.approx(50_000_838, abs=0.5)
    assert gauge.u == pytest.approx(31.66, abs=0.02)
    assert gauge.df == pytest.approx(16.75, abs=0.02)
    # the GUM rounds the degrees of freedom down to 16 and prints 2.92 and 93 nm (from the rounded 32 nm)
    rounded = Measured(gauge.value, gauge.u, math.floor(gauge.df))
    assert rounded.coverage_factor(0.99) == pytest.approx(2.9208, abs=1e-4)
    assert rounded.coverage_factor(0.99) * gauge.u == pytest.approx(92.5, abs=0.1)


def test_every_input_of_the_end_gauge_stands_in_its_budget():
    contributions = {c.name: c.u for c in end_gauge().budget}
    assert contributions["ls"] == pytest.approx(25, abs=0.01)
    assert contributions["d_alpha"] == pytest.approx(2.89, abs=0.01)
    assert contributions["d_theta"] == pytest.approx(16.6, abs=0.05)
    assert contributions["alpha"] == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("function", "value", "u"),
    [
        (lambda volt, ampere, phi: volt * GTC.cos(phi) / ampere, 127.732, 0.071),
        (lambda volt, ampere, phi: volt * GTC.sin(phi) / ampere, 219.847, 0.296),
        (lambda volt, ampere, phi: volt / ampere + 0 * phi, 254.260, 0.236),
    ],
    ids=["resistance", "reactance", "impedance"],
)
def test_correlated_readings_as_in_gum_h_2(function, value, u):
    sets = {"volt": VOLTS, "ampere": AMPERES, "phi": RADIANS}
    r = np.corrcoef([VOLTS, AMPERES, RADIANS])
    assert r[0, 1] == pytest.approx(-0.3553, abs=1e-3)
    found = propagate(
        function,
        {name: mean_of(readings) for name, readings in sets.items()},
        {("volt", "ampere"): r[0, 1], ("volt", "phi"): r[0, 2], ("ampere", "phi"): r[1, 2]},
    )
    assert found.value == pytest.approx(value, abs=5e-4)
    assert found.u == pytest.approx(u, abs=1e-3)


@pytest.mark.parametrize(
    ("df", "k"),  # Student's t for 95 %, recomputed table of the house's fact sheet, section 8.2
    [(1, 12.7062), (2, 4.3027), (4, 2.7764), (9, 2.2622), (16, 2.1199), (50, 2.0086), (math.inf, 1.9600)],
)
def test_the_95_percent_interval_uses_students_t(df, k):
    low, high = Measured(10.0, 2.0, df).coverage_interval(0.95)
    assert (high - low) / 4 == pytest.approx(k, abs=1e-4)
    assert (high + low) / 2 == pytest.approx(10.0)


def test_known_components_combine_as_gtc_combines_them():
    parts = [Component("a", 3.0), Component("b", 4.0), Component("c", 12.0)]
    by_gtc = GTC.ureal(0, 3.0) + GTC.ureal(0, 4.0) + GTC.ureal(0, 12.0)
    found = combine(1.0, parts)
    assert found.u == pytest.approx(by_gtc.u)
    assert found.df == math.inf
    assert found.budget == tuple(parts)


def test_an_outside_figure_without_a_mark_is_refused():
    with pytest.raises(ValueError, match="needs a mark"):
        Component("clock", 1e-6, source="from somewhere")


@pytest.mark.parametrize("u", [-1.0, math.nan, math.inf])
def test_an_impossible_uncertainty_is_refused(u):
    with pytest.raises(ValueError, match="must be finite and not negative"):
        Measured(1.0, u)
    with pytest.raises(ValueError, match="must be finite and not negative"):
        Component("noise", u)


def test_a_single_reading_has_no_spread():
    with pytest.raises(ValueError, match="at least two readings"):
        mean_of([1.0])


def test_another_unit_scales_the_whole_budget():
    seconds = combine(0.008, [Component("noise", 1e-5, 9, "A"), Component("clock", 1e-6)])
    milliseconds = seconds.scaled(1000)
    assert milliseconds.value == pytest.approx(8.0)
    assert milliseconds.u == pytest.approx(1000 * seconds.u)
    assert milliseconds.df == seconds.df
    assert [c.u for c in milliseconds.budget] == pytest.approx([1e-2, 1e-3])
