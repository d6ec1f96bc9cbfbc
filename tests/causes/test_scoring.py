"""Scores of past chances, held to published examples and other people's figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from pegwood.causes.intervals import beta_interval, exact_interval
from pegwood.causes.scoring import (
    Prediction,
    brier_of_answers,
    calibration_z,
    murphy_split,
    reliability,
    scores,
)


def told(chances, was):
    return [Prediction(p, bool(y)) for p, y in zip(chances, was, strict=True)]


# scikit-learn 1.9.1, docstrings of brier_score_loss, log_loss and calibration_curve
BRIER = told([0.1, 0.9, 0.8, 0.3], [0, 1, 1, 0])
LOG = told([0.9, 0.1, 0.2, 0.65], [1, 0, 0, 1])
CURVE = told([0.1, 0.2, 0.3, 0.4, 0.65, 0.7, 0.8, 0.9, 1.0], [0, 0, 0, 0, 1, 1, 1, 1, 1])
# TorchMetrics, docstring of BinaryCalibrationError
ERROR = told([0.25, 0.25, 0.55, 0.75, 0.75], [0, 0, 1, 1, 1])
# ten jobs, worked by hand beside the code
TEN = told([0.9, 0.2, 0.7, 0.8, 0.4, 0.1, 0.6, 0.3, 0.55, 0.95], [1, 0, 1, 1, 0, 0, 1, 0, 1, 1])
MURPHY = told([0.1] * 10 + [0.4] * 10 + [0.8] * 10, [1] + [0] * 9 + [1] * 5 + [0] * 5 + [1] * 7 + [0] * 3)


def test_brier_and_log_score_are_those_of_the_published_examples():
    assert scores(BRIER).brier == pytest.approx(0.0375, abs=1e-12)
    assert scores(LOG).log == pytest.approx(0.216162, abs=1e-6)
    assert (scores(TEN).brier, scores(TEN).log) == pytest.approx((0.0805, 0.304114), abs=1e-6)


def test_brier_of_three_answers_is_not_halved():
    three = [(0.8, 0.1, 0.1), (0.2, 0.7, 0.1), (0.2, 0.2, 0.6)]
    assert brier_of_answers(three, [0, 1, 2]) == pytest.approx(0.146667, abs=1e-6)  # scikit-learn's example
    with pytest.raises(ValueError, match="answer 3 came to a question of 3 answers"):
        brier_of_answers(three, [0, 1, 3])


def test_the_reliability_curve_is_that_of_the_published_example():
    found = reliability(CURVE, bins=3).bins
    assert [one.share for one in found] == pytest.approx([0, 0.5, 1])
    assert [one.told for one in found] == pytest.approx([0.2, 0.525, 0.85])
    assert [(one.came, one.n) for one in found] == [(0, 3), (1, 2), (4, 4)]


def test_calibration_errors_are_those_of_the_published_example():
    found = reliability(ERROR, bins=2)
    assert (found.ece, found.ece_l2, found.worst) == pytest.approx((0.29, 0.291833, 0.316667), abs=1e-6)
    ten = reliability(TEN, bins=5)
    assert (ten.ece, ten.worst) == pytest.approx((0.17, 0.35), abs=1e-9)


def test_murphys_three_parts_come_to_the_brier_score():
    found = murphy_split(MURPHY)
    parts = (found.reliability, found.resolution, found.uncertainty)
    assert parts == pytest.approx((0.006667, 0.062222, 0.245556), abs=1e-6)
    assert scores(MURPHY).brier == pytest.approx(0.19, abs=1e-12)
    assert found.brier == pytest.approx(0.19, abs=1e-12)
    assert found.within == pytest.approx(0, abs=1e-15)


def test_with_bins_the_split_still_comes_to_the_brier_score():
    rng = np.random.default_rng(3)
    chances = rng.random(300)
    some = told(chances, rng.random(300) < chances**1.5)
    found = murphy_split(some, bins=10)
    assert found.within != 0
    assert found.brier == pytest.approx(scores(some).brier, abs=1e-12)


def test_z_of_calibration_is_that_of_the_published_table():
    # Rufibach 2010, table 1: x = (1, 0), Brier .34 and .30, Z 1.06 and 1.22
    for chances, brier, z in (((0.2, 0.2), 0.34, 1.06), ((0.4, 0.5), 0.30, 1.22)):
        some = told(chances, (1, 0))
        assert round(calibration_z(some), 2) == z
        assert scores(some).brier == pytest.approx(brier, abs=0.006)


def test_a_bins_interval_is_the_exact_one():
    assert exact_interval(4, 20) == pytest.approx((0.071354, 0.401028), abs=1e-6)  # NIST 7.2.4.2's setting
    assert exact_interval(3, 120, 0.95) == pytest.approx((0.005186, 0.071323), abs=1e-6)
    assert exact_interval(0, 25, 0.95) == pytest.approx((0, 0.137185), abs=1e-6)
    assert beta_interval(9, 21) == pytest.approx((0.172465, 0.442936), abs=1e-6)
    other = stats.binomtest(7, 19).proportion_ci(0.9, "exact")
    assert exact_interval(7, 19) == pytest.approx((other.low, other.high), abs=1e-9)


def test_few_predictions_are_said_to_be_mostly_noise():
    assert "mostly noise" in scores(TEN).says
    assert "mostly noise" in reliability(TEN).says
    many = told([0.8] * 300, [1] * 150 + [0] * 150)
    assert "mostly noise" not in scores(many).says
    assert "told as 80 % came 150 times in 300, too seldom" in reliability(many).says


def test_a_certainty_that_fails_is_clipped_and_told():
    found = scores(told([1.0, 0.5], [0, 1]))
    assert found.clipped == 1
    assert found.log == pytest.approx((math.log(1e6) + math.log(2)) / 2, rel=1e-9)
    assert "1 held certain came out the other way" in found.says


def test_nothing_to_score_and_what_is_no_chance_are_refused():
    with pytest.raises(ValueError, match="nothing to score yet"):
        scores([])
    with pytest.raises(ValueError, match="Expected 0 to 1"):
        Prediction(math.nan, True)
