"""A small run of the comparison in `benchmarks/bench_check.py`: the order that adapts and a fixed list."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.bench_check import calibration, compared
from pegwood.anatomy.construction import constructions


@pytest.mark.slow
def test_an_order_that_adapts_finds_faults_in_less_time_than_the_best_fixed_one():
    found = compared(constructions()["box"], 32, trained_on=24, moves=800, until_last=False)
    mine, theirs = found.each
    assert mine < 0.65 * theirs
    # chances are worth something in a world that is not the model: better than telling each fault's share
    brier, _, bins = calibration(found.forecasts)
    there = np.array([so for _, so in found.forecasts], dtype=float)
    assert brier < 0.75 * there.mean() * (1 - there.mean())
    assert sum(count for count, _, _ in bins) == len(there)
    # everything that is there is found by both, or the minutes would not be the same job's
    assert [set(one.found_at) for one in found.adaptive] == [set(one) for one in found.fixed_each]


def test_calibration_of_a_worked_example():
    # forecasts .1 x10 (1 hit), .4 x10 (5 hits), .8 x10 (7 hits): Brier .19 (decisions, 4: Murphy split)
    made = [(p, n < hits) for p, hits in ((0.1, 1), (0.4, 5), (0.8, 7)) for n in range(10)]
    brier, ece, bins = calibration(made)
    assert brier == pytest.approx(0.19)
    assert ece == pytest.approx((0 + 0.1 + 0.1) / 3)
    assert [count for count, _, _ in bins] == [10, 10, 10]
