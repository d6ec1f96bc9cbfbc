"""95 % intervals of a rangefinder hold the truth in 93 to 97 of 100 cases."""

import math

import numpy as np
import pytest

from pegwood.instruments.rangefinder import Base, Finder, Readings, analyse_rangefinder, measured_rounds
from pegwood.instruments.uncertainty import Measured

INF = math.inf
CASES = 1200
# A share that is truly 0.95 leaves 0.93 to 0.97 by chance in one of 700 runs of 1200 (binomial, sd 0.0063).

DESIGNS = {
    "three distances": ((INF, 3, 1), 1, 0.0),
    "four, straight": ((INF, 10, 3, 1), 1, 0.0),
    "five, bowed": ((INF, 10, 5, 2, 1), 1, 0.05),
    "five, three times, bowed": ((INF, 10, 5, 2, 1), 3, 0.03),
    "seven in feet's steps, twice": ((INF, 9.1, 4.6, 3, 2.1, 1.5, 1.07), 2, 0.02),
}


def film(w, v, f):
    """Where a thin lens stands for w, less where it should for v."""
    return f * f * w / (1 - f * w) - f * f * v / (1 - f * v)


@pytest.mark.slow
@pytest.mark.parametrize("name", DESIGNS)
def test_intervals_hold_offset_gain_and_film_error(name):
    at, repeats, bow = DESIGNS[name]
    rng = np.random.default_rng(sum(map(ord, name)))
    held = {"offset": 0, "gain": 0, "film": 0}
    films = 0
    for _ in range(CASES):
        f = rng.choice([0.035, 0.050, 0.075, 0.105])
        finder = Finder(Base(rng.uniform(0.03, 0.07), rng.uniform(0.5, 1.0)), f, rng.choice([2.0, 3.5]))
        # away from infinity's mark, so that no reading lies beyond the scale
        offset, gain, bend = rng.uniform(0.05, 0.1), rng.normal(1, 0.03), rng.normal(0, bow) if bow else 0.0
        true = np.repeat([1 / d for d in at], repeats)
        truth = offset + gain * true + bend * true * (true - true.max())
        eye = rng.uniform(8, 30) / 206265 / finder.base.effective_m
        scale = rng.uniform(5e-6, 20e-6) / f**2 * (1 - f * truth) ** 2
        shown = truth + rng.normal(0, np.hypot(eye, scale))
        if shown.min() <= 0:
            shown = np.clip(shown, 1e-6, None)
        result = analyse_rangefinder(
            Readings(tuple(INF if v == 0 else 1 / v for v in true), tuple(1 / shown)), finder
        )
        held["offset"] += inside(result.offset, offset)
        held["gain"] += inside(result.gain, gain)
        for v, w, found in zip(true[::repeats], truth[::repeats], result.film_error[::repeats], strict=True):
            held["film"] += inside(found, film(w, v, f))
            films += 1
    shares = {"offset": held["offset"] / CASES, "gain": held["gain"] / CASES, "film": held["film"] / films}
    assert all(0.93 <= share <= 0.97 for share in shares.values()), shares


def inside(measured, truth):
    low, high = measured.coverage_interval()
    return low <= truth <= high


@pytest.mark.slow
def test_intervals_hold_the_convergence_factor():
    rng = np.random.default_rng(4)
    held = told = 0
    for _ in range(3000):
        before, factor, sd, df = rng.uniform(0.03, 0.1), rng.uniform(-0.8, 0.9), rng.uniform(0.002, 0.006), 8
        gains = []
        for error in (before, before * factor):
            # an estimate with its own chi-squared uncertainty, as a fit of ten readings gives it
            gains.append(Measured(1 + error + rng.normal(0, sd), sd * math.sqrt(rng.chisquare(df) / df), df))
        found = measured_rounds(*gains, 1.0, 0.005)
        if found.factor_95 is None:
            continue
        told += 1
        held += found.factor_95[0] <= factor <= found.factor_95[1]
    assert told > 2900
    assert 0.93 <= held / told <= 0.97
