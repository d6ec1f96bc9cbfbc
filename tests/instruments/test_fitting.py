"""Fits, held to the certified values of NIST's Statistical Reference Datasets."""

import numpy as np
import pytest

from pegwood.instruments.fitting import fit_linear, polynomial
from pegwood.instruments.uncertainty import Component

# NIST StRD, Norris: 36 points, lower level of difficulty; seen as carried in open test suites.
NORRIS_X = """
0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6
556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5
"""
NORRIS_Y = """
0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8
557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2
"""

# NIST StRD, Wampler1: y = 1 + x + ... + x^5 at 0 to 20, exact; higher level of difficulty. Memory.
WAMPLER_X = np.arange(21.0)


def norris():
    x, y = (np.array(text.split(), dtype=float) for text in (NORRIS_X, NORRIS_Y))
    return fit_linear(polynomial(x, 1), y), x, y


def test_norris_comes_out_as_certified():
    fit, _, _ = norris()
    assert fit.values == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-11)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        [0.232818234301152, 0.000429796848199937], rel=1e-11
    )
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-11)
    assert fit.df == 34


def test_wampler1_keeps_its_digits():
    fit = fit_linear(polynomial(WAMPLER_X, 5), polynomial(WAMPLER_X, 5).sum(axis=1))
    assert fit.values == pytest.approx(np.ones(6), rel=1e-7)
    assert fit.residual_sd < 1e-6


def test_weights_count_as_repeated_readings_do():
    # the estimate of a reading with u / sqrt(3) is that of the same reading three times (least squares)
    once = fit_linear(polynomial([0, 1, 2, 3], 1), [0.1, 0.9, 2.2, 2.9], [1, 1, 3**-0.5, 1])
    thrice = fit_linear(polynomial([0, 1, 2, 2, 2, 3], 1), [0.1, 0.9, 2.2, 2.2, 2.2, 2.9])
    assert once.values == pytest.approx(thrice.values, rel=1e-12)


def test_a_point_on_the_line_carries_its_budget():
    fit, x, _ = norris()
    at = fit.of((1, x.mean()), "scatter", [Component("reference", 0.5)])
    # in the middle of the readings the line's height has u = s / sqrt(n)
    assert at.budget[0].u == pytest.approx(fit.residual_sd / 6, rel=1e-9)
    assert at.u == pytest.approx(np.hypot(fit.residual_sd / 6, 0.5), rel=1e-9)
    assert at.df > 34


def test_leverage_adds_up_to_the_number_of_parameters():
    fit, _, _ = norris()
    assert fit.leverage.sum() == pytest.approx(2, rel=1e-12)


@pytest.mark.parametrize(
    ("x", "y", "u", "why"),
    [
        ([1, 2], [1, 2], None, "at least 3 readings"),
        ([2, 2, 2], [1, 2, 3], None, "apart"),
        ([1, 2, 3], [1, 2, 3], [1, 1, 0], "above zero"),
        ([1, 2, float("inf")], [1, 2, 3], None, "finite"),
    ],
)
def test_what_cannot_be_fitted_says_why(x, y, u, why):
    with pytest.raises(ValueError, match=why), np.errstate(divide="ignore", invalid="ignore"):
        fit_linear(polynomial(x, 1), y, u)
