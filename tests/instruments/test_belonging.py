"""Whether a firing belongs to the others: against made-up groups whose odd one is known."""

from __future__ import annotations

import numpy as np
import pytest

from pegwood.instruments.shutter import Curve, Shot, doubts
from pegwood.instruments.shutter.belonging import robust_spread
from pegwood.instruments.uncertainty import Component, Measured


def shot(te: float, u: float = 1e-5, *, bounce: float = 0.0) -> Shot:
    effective = Measured(te, u, budget=(Component("noise", u, 50, "A"),))
    return Shot(0.0, 0, effective, None, None, None, None, None, bounce > 0, bounce, Curve((), (), {}))


def kinds(*times: float) -> list[list[str]]:
    return [[doubt.kind for doubt in found] for found in doubts([shot(te) for te in times])]


def test_firings_that_agree_have_nothing_against_them():
    assert kinds(0.0100, 0.0101, 0.0099, 0.0100, 0.0102) == [[]] * 5


def test_a_misfire_is_found_whatever_its_place_and_says_how_far_it_is():
    assert kinds(0.010, 0.0101, 0.019, 0.0099, 0.010) == [[], [], ["misfire"], [], []]
    found = doubts([shot(te) for te in (0.010, 0.010, 0.020, 0.010, 0.010)])[2]
    assert "1.00 EV longer than the middle of the other 4" in found[0].says  # log2(2), by hand


def test_a_slow_first_firing_is_called_by_its_name():
    assert kinds(0.016, 0.0101, 0.0099, 0.010) == [["first firing"], [], [], []]


def test_two_misfires_of_five_do_not_hide_each_other():
    assert kinds(0.010, 0.021, 0.0101, 0.0205, 0.0099) == [[], ["misfire"], [], ["misfire"], []]


def test_of_two_firings_nobody_can_say_which_is_the_odd_one():
    assert kinds(0.010, 0.020) == [[], []]


def test_a_firing_with_a_wide_uncertainty_of_its_own_is_not_called_far():
    found = doubts([shot(0.010), shot(0.010), shot(0.010), shot(0.016, u=0.004)])
    assert found[3] == ()


def test_a_bounce_is_told_with_what_it_adds():
    (found,) = doubts([shot(0.010, bounce=0.0005)])
    assert [doubt.kind for doubt in found] == ["bounce"]
    assert "5 %" in found[0].says


@pytest.mark.parametrize("n", [3, 5, 8])
def test_in_a_shutter_in_order_few_are_flagged_in_vain(n):
    """Normal scatter of 0.05 EV, 300 groups: the rule is set at one in a hundred."""
    rng = np.random.default_rng(n)
    groups = 0.01 * 2 ** rng.normal(0, 0.05, (300, n))
    flagged = sum(bool(found) for group in groups for found in doubts([shot(te) for te in group]))
    assert flagged / groups.size < 0.02


@pytest.mark.parametrize("n", range(2, 14))
def test_the_spread_of_a_few_normal_values_is_unbiased(n):
    """Against the standard deviation they were drawn with; Croux and Rousseeuw's factors are from memory."""
    rng = np.random.default_rng(n)
    mean = np.mean([robust_spread(rng.normal(0, 1, n)) for _ in range(6000)])
    assert mean == pytest.approx(1.0, abs=0.04)
