"""Whether more surprises come than should: held to SciPy, to enumeration, and to what was drawn."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from pegwood.causes.scoring import Answered, model_check
from pegwood.causes.scoring.surprises import at_least


def drawn(rng, told, true):
    return [
        Answered(sign=f"s{n % 7}", chances=tuple(p), came=int(rng.choice(len(q), p=q)))
        for n, (p, q) in enumerate(zip(told, true, strict=True))
    ]


def test_how_many_surprises_is_the_binomial_where_all_chances_are_one():
    for count in (0, 1, 3, 12):
        assert at_least(count, [0.004] * 500) == pytest.approx(
            stats.binom.sf(count - 1, 500, 0.004), rel=1e-10
        )


def test_how_many_surprises_agrees_with_going_through_all_cases():
    chances = [0.1, 0.03, 0.4, 0.25, 0.07, 0.6]
    for count in range(7):
        every = sum(
            math.prod(p if one else 1 - p for p, one in zip(chances, case, strict=True))
            for case in itertools.product((0, 1), repeat=6)
            if sum(case) >= count
        )
        assert at_least(count, chances) == pytest.approx(every, abs=1e-14)


def test_z_is_the_excess_of_log_loss_over_its_own_spread():
    # two answers of chance 0.2 and 0.8, the rarer came: -ln 0.2 over the entropy; variance p q (ln p/q)^2
    found = model_check([Answered(sign="s", chances=(0.8, 0.2), came=1)])
    mean = -0.8 * math.log(0.8) - 0.2 * math.log(0.2)
    assert found.z == pytest.approx((-math.log(0.2) - mean) / (0.4 * math.log(4)), rel=1e-12)


def test_the_tail_of_the_excess_is_the_gamma_distributions():
    # 200 answers of chances 0.9 and 0.1, 30 of them rare: mean, variance and skewness of a Bernoulli sum
    found = model_check([Answered(sign="s", chances=(0.9, 0.1), came=int(n < 30)) for n in range(200)])
    z, skewness = (30 - 20) / math.sqrt(18), 0.8 / math.sqrt(18)
    assert found.z == pytest.approx(z, rel=1e-9)
    assert found.p_z == pytest.approx(stats.pearson3.sf(z, skewness), rel=1e-6)


def test_chances_that_follow_the_answers_leave_the_expected_number_and_warn_hardly_more_often():
    """After a surprise the next is four times likelier, as with a fault that shows again and again."""
    rng = np.random.default_rng(12)
    off, alarms = [], 0
    for _ in range(1500):
        told, chance = [], 0.002
        for n in range(100):
            came = bool(rng.random() < chance)
            told.append(Answered(sign=f"s{n % 7}", chances=(1 - chance, chance), came=int(came)))
            chance = 0.008 if came else 0.002
        found = model_check(told)
        off.append(found.surprises - found.expected)
        alarms += found.p_surprises < 0.005
    # a martingale: the mean is nought, to within three of its own standard errors
    assert abs(np.mean(off)) < 3 * np.std(off) / math.sqrt(len(off))
    assert alarms / len(off) < 0.01  # FALSE_ALARM is halved between the two monitors: 0.005 is stated


def test_right_knowledge_is_warned_of_as_seldom_as_stated():
    rng = np.random.default_rng(11)
    alarms = 0
    for _ in range(150):
        told = rng.dirichlet((3, 0.5, 0.1), 80)
        alarms += model_check(drawn(rng, told, told)).warns
    assert alarms <= stats.binom.ppf(0.999, 150, 0.01) + 1  # the normal of z is only nearly one


def test_knowledge_that_is_too_sure_is_warned_of():
    rng = np.random.default_rng(12)
    told = rng.dirichlet((3, 0.3, 0.05), 300)
    true = told**0.5 / (told**0.5).sum(axis=1, keepdims=True)
    found = model_check(drawn(rng, told, true))
    assert found.warns
    assert found.says.startswith("More surprises than there should be")
    assert found.worst[0].surprises > found.worst[0].expected


def test_an_impossible_answer_is_told_at_once_and_there_is_no_nan():
    found = model_check([Answered(sign="hangs", chances=(1.0, 0.0), came=1)])
    assert (found.z, found.p_surprises) == (math.inf, 0.0)
    assert found.warns
    assert "held impossible: hangs" in found.says


def test_without_answers_nothing_is_claimed():
    assert not model_check([]).warns
    assert "No answer" in model_check([]).says
    with pytest.raises(ValueError, match="come to 1 together"):
        Answered(sign="s", chances=(0.5, 0.2), came=0)
