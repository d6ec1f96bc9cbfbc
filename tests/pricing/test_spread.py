"""Minutes as distributions, and their sums, against closed forms, a published exercise and a library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from pegwood.anatomy.parts import Minutes
from pegwood.pricing.spread import (
    SHAPES,
    Fixed,
    Gamma,
    Lognormal,
    Many,
    Pert,
    Triangular,
    spread,
    spread_of,
    textbook,
    total,
)

#: Five tasks of one quote, [min] (facts, decisions 6: own case, computed by convolution on a 0.01 min grid
#: and by a million draws; seen).
QUOTE = [(10, 15, 30), (20, 30, 60), (5, 10, 40), (15, 20, 25), (30, 45, 120)]
#: The same from the library, which shares nothing with ours: shape to its frozen distribution.
BY_SCIPY = [
    (
        Pert(10, 15, 30),
        stats.beta(1 + 4 * 5 / 20, 1 + 4 * 15 / 20, loc=10, scale=20),
    ),
    (Pert(10, 10, 30), stats.beta(1, 5, loc=10, scale=20)),
    (Triangular(10, 15, 30), stats.triang(0.25, loc=10, scale=20)),
    (Triangular(10, 10, 30), stats.triang(0, loc=10, scale=20)),
    (Triangular(10, 30, 30), stats.triang(1, loc=10, scale=20)),
    (Lognormal(30, 0.5), stats.lognorm(0.5, scale=30)),
    (Gamma(2.5, 4), stats.gamma(2.5, scale=4)),
]


@pytest.mark.parametrize(("ours", "theirs"), BY_SCIPY)
def test_every_shape_has_the_moments_and_quantiles_of_the_library(ours, theirs):
    assert ours.mean == pytest.approx(theirs.mean(), rel=1e-12)
    assert ours.variance == pytest.approx(theirs.var(), rel=1e-12)
    p = np.array([0.001, 0.1, 0.25, 0.5, 0.8, 0.95, 0.999])
    np.testing.assert_allclose(ours.quantile(p), theirs.ppf(p), rtol=1e-9)
    x = np.array([-1.0, 0.0, 9.0, 10.0, 12.0, 15.0, 29.0, 30.0, 80.0])
    np.testing.assert_allclose(ours.cdf(x), theirs.cdf(x), atol=1e-12)


def test_five_triangles_come_to_the_published_points():
    sum_of = total([Triangular(*task) for task in QUOTE])
    # decisions 6 and row 29: mean 158.3333, variance 541.6667
    assert sum_of.mean == pytest.approx(158.3333, abs=5e-5)
    assert sum_of.variance == pytest.approx(541.6667, abs=5e-5)
    found = sum_of.quantile([0.5, 0.8, 0.9, 0.95])
    np.testing.assert_allclose(found, [156.310, 178.752, 190.506, 199.605], atol=0.005)
    assert sum_of.off == 0.025  # five halves of a step of 0.01 min


def test_five_beta_pert_tasks_come_to_the_published_points_and_to_24_minutes_less():
    sum_of = total([Pert(*task) for task in QUOTE])
    assert sum_of.mean == pytest.approx(139.1667, abs=5e-5)  # decisions 6
    np.testing.assert_allclose(sum_of.quantile([0.8, 0.95]), [154.530, 171.874], atol=0.005)
    triangles = total([Triangular(*task) for task in QUOTE])
    assert triangles.quantile(0.8) - sum_of.quantile(0.8) == pytest.approx(24.2, abs=0.05)


def test_the_normal_approximation_promises_too_much():
    # decisions 6: 80 % 177.92 and 95 % 196.62 by mean and variance of the five triangles
    sum_of = total([Triangular(*task) for task in QUOTE])
    normal = stats.norm(sum_of.mean, math.sqrt(sum_of.variance))
    np.testing.assert_allclose(normal.ppf([0.8, 0.95]), [177.92, 196.62], atol=0.005)
    assert sum_of.quantile(0.8) > normal.ppf(0.8) + sum_of.off


def test_three_uniforms_sum_as_the_closed_form_says():
    uniform = Pert(0, 0.5, 1, weight=0)
    sum_of = total([uniform] * 3, grid=1e-4)
    # Irwin-Hall: F(1) = 1/6, F(1.5) = 1/2, 80 % point 1.937121 (decisions 6)
    np.testing.assert_allclose(sum_of.cdf([1.0, 1.5]), [1 / 6, 0.5], atol=1e-6)
    assert sum_of.quantile(0.8) == pytest.approx(1.937121, abs=1e-6)
    assert total([uniform] * 12, grid=1e-3).cdf(7.0) == pytest.approx(0.839273, abs=1e-6)


def test_three_exponentials_sum_to_a_gamma():
    sum_of = total([Gamma(1, 30)] * 3)
    # decisions 6 and row 30: P50 80.2218, P80 128.3709, P90 159.6696; Gamma(3, 30) in closed form
    np.testing.assert_allclose(sum_of.quantile([0.5, 0.8, 0.9]), [80.2218, 128.3709, 159.6696], atol=1e-3)
    x = np.array([20.0, 80.0, 200.0])
    np.testing.assert_allclose(sum_of.cdf(x), stats.gamma(3, scale=30).cdf(x), atol=1e-6)


def test_four_lognormals_come_to_the_published_points():
    sum_of = total([Lognormal(30, 0.5)] * 4)
    assert sum_of.mean == pytest.approx(135.978, abs=5e-4)  # decisions 6
    np.testing.assert_allclose(sum_of.quantile([0.5, 0.8, 0.95]), [131.234, 163.492, 202.194], atol=1e-3)
    # Fenton and Wilkinson: the lognormal of the same mean and variance; printed 131.393, 163.796, 202.148
    sigma = math.sqrt(math.log(1 + sum_of.variance / sum_of.mean**2))
    near = Lognormal(sum_of.mean / math.exp(sigma**2 / 2), sigma)
    np.testing.assert_allclose(near.quantile([0.5, 0.8, 0.95]), [131.393, 163.796, 202.148], atol=1e-3)


def test_the_textbooks_pert_comes_to_the_published_dates():
    # mean 21, variance 4 (Render and Stair type of exercise; decisions 6, seen)
    found = textbook([(15, 21, 27)])
    assert (found.mean, found.variance) == (21, 4)
    dates = [found.within(t) for t in (17, 20, 23, 25)]
    np.testing.assert_allclose(dates, [0.022750, 0.308538, 0.841345, 0.977250], atol=5e-7)
    assert found.quantile(0.95) == pytest.approx(24.289707, abs=5e-7)


def test_the_foundrys_critical_path_is_within_sixteen_weeks_as_printed():
    # General Foundry, same book (inputs from memory): A, C, E, G, H; row 31
    found = textbook([(1, 2, 3), (1, 2, 3), (1, 4, 7), (3, 4, 11), (1, 2, 3)])
    assert found.mean == pytest.approx(15, abs=1e-12)
    assert found.variance == pytest.approx(3.1111, abs=5e-5)
    assert found.within(16) == pytest.approx(0.714625, abs=5e-7)
    assert found.quantile(0.99) == pytest.approx(19.1033, abs=5e-5)


@pytest.mark.parametrize("grid", [0.5, 0.1])
def test_a_coarse_grid_is_off_by_no_more_than_it_says(grid):
    fine, coarse = (total([Triangular(*task) for task in QUOTE], grid=of) for of in (0.005, grid))
    p = np.linspace(0.01, 0.99, 99)
    assert np.abs(coarse.quantile(p) - fine.quantile(p)).max() <= coarse.off + fine.off


def test_what_is_always_the_same_only_moves_the_sum():
    task = Triangular(10, 15, 30)
    alone, moved = total([task]), total([task, Fixed(7.0)])
    np.testing.assert_allclose(moved.quantile([0.2, 0.9]), alone.quantile([0.2, 0.9]) + 7.0, atol=1e-9)
    assert moved.off == alone.off
    nothing = total([Fixed(7.0), Fixed(1.0)])
    assert nothing.quantile(0.8) == pytest.approx(8.0, abs=0.01)
    assert nothing.off == 0


def test_a_grid_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        total([Triangular(1, 2, 3)], grid=0)
    with pytest.raises(ValueError, match="coarser grid"):
        total([Triangular(1, 2, 1000)], grid=1e-5)


def test_shapes_without_ends_take_low_and_high_for_tenths():
    low, high = 8.0, 8.0 * 3.2**2
    for shape in ("lognormal", "gamma"):
        read = spread(low, 8.0 * 3.2, high, shape)
        assert read.quantile(0.5) == pytest.approx(8.0 * 3.2, rel=1e-9)
        assert read.quantile(0.9) / read.quantile(0.1) == pytest.approx(3.2**2, rel=1e-9)
    np.testing.assert_allclose(spread(low, 8.0 * 3.2, high).quantile([0.1, 0.9]), [low, high], rtol=1e-9)


def test_three_equal_figures_are_that_in_every_shape():
    for shape in SHAPES:
        assert spread_of(Minutes(low=4, likely=4, high=4), shape) == Fixed(4)


@pytest.mark.parametrize(
    "make",
    [
        lambda: spread(3, 2, 4),
        lambda: spread(1, 2, math.inf),
        lambda: spread(1, 2, 3, "normal"),
        lambda: spread(0, 2, 3, "lognormal"),
        lambda: Pert(2, 2, 2),
        lambda: Lognormal(0, 1),
        lambda: Gamma(1, -1),
        lambda: Fixed(-1),
        lambda: textbook([]),
    ],
)
def test_what_is_no_spread_is_refused(make):
    with pytest.raises(ValueError, match=r"(?i)expected|give"):
        make()


@pytest.mark.parametrize("shape", list(SHAPES))
def test_a_draw_is_the_quantile_at_the_chance_of_its_normal_score(shape):
    of = [spread(low, likely, high, shape) for low, likely, high in [(1, 2, 20), (4, 5, 6), (10, 10, 30)]]
    z = np.linspace(-5, 5, 4001, dtype=np.float32)
    many = Many(of)
    for n, one in enumerate(of):
        found = many.at(np.full(len(z), n), z)
        off = np.abs(found - one.quantile(ndtr(z.astype(float)))) / math.sqrt(one.variance)
        near = np.abs(z) < 4  # farther out lies one draw in 16,000
        assert off[near].max() < 1e-3
        assert off.max() < 5e-3


def test_draws_that_share_a_part_of_their_score_go_together():
    rng = np.random.default_rng(3)
    hand, own = rng.standard_normal(40_000), rng.standard_normal((2, 40_000))
    z = (math.sqrt(0.3) * hand + math.sqrt(0.7) * own).astype(np.float32)
    one, other = (Many([Lognormal(20, 0.4)]).at(np.zeros(40_000, dtype=int), of) for of in z)
    # of logarithms the correlation is that of the scores, 0.3; its standard error is 0.005 here
    assert np.corrcoef(np.log(one), np.log(other))[0, 1] == pytest.approx(0.3, abs=0.02)
