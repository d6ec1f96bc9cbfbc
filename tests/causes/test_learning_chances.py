"""A chance from counts, from stories and from what signs moved: held to Beta distributions and quadrature."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pegwood.causes.learning import chances
from pegwood.causes.learning.chances import Told
from pegwood.causes.learning.sharing_out import shares


def one(bearing, shift=0.0, weight=1.0):
    return bearing, shift, weight


THERE, NOT = one(math.inf), one(-math.inf)


def columns(told):
    bearing, shift, weight = np.array(told, dtype=float).reshape(-1, 3).T
    return Told(bearing=bearing, shift=shift, weight=weight)


def estimate(start, weight, told):
    return chances.estimate(start, weight, columns(told))


def size(start, told):
    return chances.size(start, columns(told))


def test_rulings_give_the_beta_distribution_after_them():
    # rat tumours, Gelman et al. ch. 5: Beta(1.4, 8.6) and 4 of 14; SciPy's Beta(5.4, 18.6)
    found = estimate(0.14, 10, [THERE] * 4 + [NOT] * 10)
    assert (found.chance, found.weight) == pytest.approx((0.225, 24), abs=1e-6)
    spread = math.sqrt(found.chance * (1 - found.chance) / (found.weight + 1))
    assert spread == pytest.approx(0.083516, abs=1e-6)
    # Beta(2, 8) and 7 of 20: Beta(9, 21), mean .3, 90 % .172465 to .442936
    found = estimate(0.2, 10, [THERE] * 7 + [NOT] * 13)
    assert found.chance == pytest.approx(0.3, abs=1e-9)
    assert found.interval == pytest.approx((0.172465, 0.442936), abs=1e-6)
    # placenta praevia: 437 of 980, uniform: Beta(438, 544)
    found = estimate(0.5, 2, [one(math.inf, weight=437), one(-math.inf, weight=543)])
    assert found.chance == pytest.approx(0.446029, abs=1e-6)
    assert found.interval == pytest.approx(stats.beta(438, 544).interval(0.9), abs=1e-6)


def likelihood(p, told):
    odds = p / (1 - p)
    total = np.zeros_like(p)
    for bearing, shift, weight in told:
        q = odds * math.exp(shift) / (1 + odds * math.exp(shift))
        bears = {math.inf: q, -math.inf: 1 - q}.get(bearing)
        total += weight * np.log(bears if bears is not None else 1 - q + q * math.exp(bearing))
    return total


def by_quadrature(start, weight, told):
    """Mean and standard deviation of the log-odds, by a sum over a fine grid."""
    x = np.linspace(-25, 15, 20001)
    p = 1 / (1 + np.exp(-x))
    log = weight * (start * np.log(p) + (1 - start) * np.log1p(-p)) + likelihood(p, told)
    density = np.exp(log - log.max())
    density /= density.sum()
    top = x[density.argmax()]
    mean = (density * x).sum()
    return top, math.sqrt((density * (x - mean) ** 2).sum())


@pytest.mark.parametrize(
    ("start", "told", "is_high"),
    [
        (0.05, [one(2.0, -4.0, 34.0), one(-math.inf, 1.0, 4.0)], False),
        (0.05, [one(-math.inf, 4.0, 16.0), one(4.0, -2.0, 34.0)], True),
        (0.3, [one(7.0, 2.0, 5.0), one(-math.inf, -6.0, 20.0), one(2.0, -5.0, 27.0)], True),
    ],
)
def test_of_two_tops_the_greater_is_taken(start, told, is_high):
    top, _ = by_quadrature(start, 10, told)
    assert (top > 0) == is_high
    found = estimate(start, 10, told).chance
    assert math.log(found / (1 - found)) == pytest.approx(top, abs=2e-3)  # the step of the sum's grid


def test_stories_and_moved_odds_give_the_top_and_the_width_of_the_whole_posterior():
    told = [one(math.inf, 2.0)] * 9 + [one(-math.inf, 2.0)] * 20 + [one(math.inf)] * 3
    told += [one(-math.inf)] * 40 + [one(3.0, 1.0)] * 12 + [one(-2.0, 1.0)] * 30 + [one(0.0)] * 50
    found = estimate(0.1, 10, told)
    top, spread = by_quadrature(0.1, 10, told)
    p = found.chance
    assert math.log(p / (1 - p)) == pytest.approx(top, abs=2e-3)
    assert 1 / math.sqrt(found.weight * p * (1 - p)) == pytest.approx(spread, rel=0.05)


def test_a_story_teaches_the_base_chance_not_its_own():
    rng = np.random.default_rng(4)
    base, odds = 0.05, 30
    raised = base * odds / (1 - base + base * odds)
    told = [one(math.inf if rng.random() < raised else -math.inf, math.log(odds)) for _ in range(4000)]
    assert estimate(0.2, 10, told).chance == pytest.approx(base, rel=0.1)
    # such a job says less of the base than one without a story: q (1 - q) over p (1 - p)
    assert size(base, told[:1]) == pytest.approx(raised * (1 - raised) / (base * (1 - base)))


def test_what_nobody_looked_at_teaches_nothing_and_what_signs_settle_as_much_as_a_ruling():
    assert estimate(0.2, 10, [one(0.0)] * 500) == estimate(0.2, 10, [])
    nearly, ruled = (
        estimate(0.2, 10, [one(14.0)] * 5 + [one(-14.0)] * 5),
        estimate(0.2, 10, [THERE] * 5 + [NOT] * 5),
    )
    assert (nearly.chance, nearly.weight) == pytest.approx((ruled.chance, ruled.weight), abs=1e-3)


@given(
    st.floats(0.001, 0.999),
    st.floats(1, 50),
    st.lists(st.tuples(st.floats(-30, 30), st.floats(-7, 7)), max_size=12),
)
def test_no_jobs_however_odd_give_a_chance_outside_its_interval_or_no_number(start, weight, jobs):
    found = estimate(start, weight, [one(bearing, shift) for bearing, shift in jobs])
    low, high = found.interval
    assert 0 <= low <= high <= 1
    assert 0 < found.chance < 1
    assert found.weight >= weight


def test_a_certain_start_stays_until_a_job_speaks_against_it():
    assert estimate(1.0, 10, [THERE] * 5).chance == 1
    assert estimate(1.0, 10, [NOT]).chance == pytest.approx(10 / 11)


def test_other_families_count_for_no_more_than_stated_and_one_small_one_nearly_whole():
    assert sum(n * s for n, s in zip((1e6, 1e5), shares((1e6, 1e5), 20), strict=True)) < 20
    assert shares([0.01], 20)[0] == pytest.approx(1, abs=1e-3)
    assert shares([5, 5], 0) == [0, 0]
    with pytest.raises(ValueError, match="cannot be"):
        estimate(0.2, 0, [])


def test_what_failed_early_is_not_counted_before_what_still_holds():
    """True success 0.8, failures spread over the guarantee, mends looked at while it runs; 20 benches."""
    rng, found = np.random.default_rng(8), []
    for _ in range(20):
        ran, failed = rng.random(400), np.where(rng.random(400) < 0.2, rng.random(400), np.inf)
        told = [one(-math.inf if f < u else -math.log1p(-u)) for u, f in zip(ran, failed, strict=True)]
        found.append(estimate(0.9, 0.1, told))
    assert np.mean([of.chance for of in found]) == pytest.approx(0.8, abs=0.02)
    assert sum(low < 0.8 < high for low, high in (of.interval for of in found)) >= 15
