"""What a value with its uncertainty says about a limit (JCGM 106:2012; ILAC-G8:09/2019)."""

from __future__ import annotations

import math

import pytest

from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Limit, conformance_probability, verdict


def limit(low=-0.33, high=0.33) -> Limit:
    return Limit(low, high, "the workshop", "practice")


@pytest.mark.parametrize(
    ("value", "said"),
    # guard band w = U = 0.10 at a limit of 0.33: ILAC-G8:09/2019 p. 9 calls these pass, conditional pass,
    # conditional fail and fail (seen); the two conditional ones are what a bench calls too close to call
    [(0.22, "within"), (0.28, "too close to call"), (0.40, "too close to call"), (0.44, "outside")],
)
def test_the_four_cases_of_a_guard_band(value, said):
    u = 0.10 / 1.959963984540054  # so that the 95 % interval is +/- 0.10
    assert verdict(Measured(value, u), limit()) == said
    assert verdict(Measured(-value, u), limit()) == said


def test_an_interval_wider_than_the_limit_is_never_within():
    assert verdict(Measured(0.0, 1.0), limit()) == "too close to call"


def test_few_firings_widen_the_interval_and_may_change_the_verdict():
    assert verdict(Measured(0.2, 0.05), limit()) == "within"
    assert verdict(Measured(0.2, 0.05, df=1), limit()) == "too close to call"


def test_one_open_side_is_not_limited():
    only_slow = limit(None, 0.33)
    assert verdict(Measured(-3.0, 0.01), only_slow) == "within"
    assert verdict(Measured(0.5, 0.01), only_slow) == "outside"


def test_without_a_limit_there_is_no_judgement():
    assert verdict(Measured(0.0, 0.1), None) == "no limit given"
    assert verdict(Measured(0.0, 0.1), limit(None, None)) == "no limit given"
    assert verdict(None, None) == "no limit given"


def test_without_a_figure_a_limit_can_not_be_judged():
    assert verdict(None, limit()) == "too close to call"


@pytest.mark.parametrize(
    ("value", "u", "low", "high", "probability"),
    # JCGM 106:2012 (memory): two-sided, one-sided, and the voltage example with p = 0.919
    [
        (20.0, 6.0, -30.0, 30.0, 0.9522),
        (2.7, 0.2, None, 3.0, 0.9332),
        (-5.47, 0.05, None, -5.40, 0.9192),
    ],
)
def test_the_chance_of_conforming(value, u, low, high, probability):
    found = conformance_probability(Measured(value, u), limit(low, high))
    assert found == pytest.approx(probability, abs=1e-4)


def test_a_limit_says_whose_it_is():
    with pytest.raises(ValueError, match="whose it is"):
        Limit(-0.3, 0.3, " ", "practice")
    with pytest.raises(ValueError, match="crossed"):
        Limit(0.3, -0.3, "the workshop", "practice")
    with pytest.raises(ValueError, match="must be finite"):
        Limit(-math.inf, 0.3, "the workshop", "practice")
