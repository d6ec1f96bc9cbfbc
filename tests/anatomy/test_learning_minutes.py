"""Minutes from real jobs: against published data, closed forms, and benches drawn at random."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pegwood.anatomy.bench_log import TakenOff
from pegwood.anatomy.construction import Construction
from pegwood.anatomy.learning.minutes import learn_minutes
from pegwood.anatomy.learning.pooling import pooled, variances
from pegwood.anatomy.parts import Minutes, Part, Way
from pegwood.anatomy.planning import choose
from pegwood.trade.grounds import Ground

#: Gelman et al., Bayesian Data Analysis, table 5.2: coaching in eight schools (memory).
SCHOOLS = np.array([28.0, 8, -3, 7, -1, 1, 18, 12])
ERRORS = np.array([15.0, 10, 16, 11, 9, 11, 10, 18])
#: Davies 1947/1967: yield of dyestuff, five of each of six batches (memory); REML as lme4's vignettes print
#: it: batch 1764, residual 2451 (memory).
DYESTUFF = [
    np.array(one, dtype=float)
    for one in (
        (1545, 1440, 1440, 1520, 1580),
        (1540, 1555, 1490, 1560, 1495),
        (1595, 1550, 1605, 1510, 1560),
        (1445, 1440, 1595, 1465, 1545),
        (1595, 1630, 1515, 1635, 1625),
        (1520, 1455, 1450, 1480, 1445),
    )
]


def test_eight_schools_pooled_whole_are_the_published_mean_and_error():
    # BDA: the pooled estimate is 7.7, its standard error 4.1 (memory)
    found = pooled(SCHOOLS, ERRORS**2, np.zeros(8))
    assert found.groups == pytest.approx(np.full(8, 7.7), abs=0.05)
    assert found.mean_u == pytest.approx(4.1, abs=0.05)


def test_eight_schools_without_pooling_are_themselves():
    found = pooled(SCHOOLS, ERRORS**2, np.full(8, 1e12))
    assert found.groups == pytest.approx(SCHOOLS, abs=1e-6)
    assert found.groups_u == pytest.approx(ERRORS, rel=1e-6)


@pytest.mark.parametrize("tau", [1.0, 5.0, 10.0, 25.0])
def test_eight_schools_between_agree_with_the_joint_normal_solved_as_one_system(tau):
    # another route: precision matrix of (m, theta_1..8) under a flat m, inverted whole
    matrix = np.zeros((9, 9))
    matrix[0, 0] = 8 / tau**2
    matrix[0, 1:] = matrix[1:, 0] = -1 / tau**2
    matrix[1:, 1:] = np.diag(1 / ERRORS**2 + 1 / tau**2)
    covariance = np.linalg.inv(matrix)
    at = covariance @ np.concatenate([[0.0], SCHOOLS / ERRORS**2])
    found = pooled(SCHOOLS, ERRORS**2, np.full(8, tau**2))
    assert found.groups == pytest.approx(at[1:], rel=1e-9)
    assert found.groups_u == pytest.approx(np.sqrt(np.diag(covariance))[1:], rel=1e-9)
    assert (found.mean, found.mean_u) == pytest.approx((at[0], math.sqrt(covariance[0, 0])), rel=1e-9)


def test_one_value_and_a_known_mean_are_the_textbooks_conjugate_normal():
    # prior N(0, 4), one value 3 of variance 1: mean 3 * 4/5, variance 4/5
    found = pooled(np.array([3.0]), np.array([1.0]), np.array([0.0]), 0.0, 4.0)
    assert (found.mean, found.mean_u**2) == pytest.approx((2.4, 0.8))


def test_variances_of_the_dyestuff_are_the_published_ones():
    between, within = variances(DYESTUFF, np.ones(6))
    assert within == pytest.approx(2451.25, rel=1e-3)
    assert between == pytest.approx(1764.05, rel=1e-3)
    # balanced: REML is the analysis of variance, (MSB - MSW) / n
    means = np.array([one.mean() for one in DYESTUFF])
    inside = sum(((one - one.mean()) ** 2).sum() for one in DYESTUFF) / 24
    assert (between, within) == pytest.approx(((5 * means.var(ddof=1) - inside) / 5, inside), rel=1e-4)


# --- benches drawn at random ----------------------------------------------------------------------------


def camera(minutes):
    parts = {
        f"p{n}": Part(
            id=f"p{n}",
            name=f"p{n}",
            materials=("brass",),
            ways=(Way(side="front", tool="fingers", minutes=one),),
        )
        for n, one in enumerate(minutes)
    }
    return Construction(id="test", name="test", parts=parts, ground=Ground("a test", "practice"))


def jobs(times):
    """A log for each round of times; by part the times it took."""
    most = max(map(len, times.values()), default=0)
    return [
        [
            TakenOff(id=part, number=n + 1, part=part, name=part, minutes=those[job])
            for n, (part, those) in enumerate(times.items())
            if job < len(those)
        ]
        for job in range(most)
    ]


def bench(rng, pace_spread, own, job_to_job, parts=40):
    """A family's file, the steps' true medians over the file's, and times of some jobs."""
    pace = math.exp(pace_spread * rng.standard_normal())
    usual = rng.uniform(1, 15, parts)
    factor = np.exp(rng.uniform(0.5, 1.2, parts))
    minutes = [Minutes(low=u / f, likely=u, high=u * f) for u, f in zip(usual, factor, strict=True)]
    true = math.log(pace) + own * rng.standard_normal(parts)
    counts = rng.integers(0, 7, parts)
    times = {
        f"p{n}": list(usual[n] * np.exp(true[n] + job_to_job * rng.standard_normal(counts[n])))
        for n in range(parts)
    }
    ahead = usual * np.exp(true + job_to_job * rng.standard_normal(parts))
    return camera(minutes), true, usual, times, ahead


@pytest.mark.parametrize(("pace", "own", "job_to_job"), [(0.3, 0.25, 0.35), (0.5, 0.1, 0.3), (0.2, 0.5, 0.2)])
def test_over_benches_the_interval_holds_eight_in_ten_and_the_error_is_the_least(pace, own, job_to_job):
    rng = np.random.default_rng(7)
    inside, learned, alone, nothing = [], [], [], []
    for _ in range(30):
        family, true, usual, times, ahead = bench(rng, pace, own, job_to_job)
        found = learn_minutes(family, jobs(times))
        steps = [found.steps[part, ""] for part in times]
        inside += [one.low <= next_time <= one.high for one, next_time in zip(steps, ahead, strict=True)]
        guess = np.log([one.median for one in steps]) - np.log(usual)
        learned.append(np.mean((guess - true) ** 2))
        own_mean = np.array(
            [
                np.mean(np.log(those)) - np.log(u) if those else 0.0
                for those, u in zip(times.values(), usual, strict=True)
            ]
        )
        alone.append(np.mean((own_mean - true) ** 2))
        nothing.append(np.mean(true**2))
    assert np.mean(inside) == pytest.approx(0.80, abs=0.05)
    assert np.mean(learned) < np.mean(alone)
    assert np.mean(learned) < np.mean(nothing)


# --- what the bench sees --------------------------------------------------------------------------------

FILE = Minutes(low=2, likely=5, high=12)


def test_without_a_time_nothing_is_learned():
    found = learn_minutes(camera([FILE]), [])
    assert (found.steps, found.pace) == ({}, 1.0)


def test_one_time_moves_a_step_part_of_the_way_and_many_nearly_all_of_it():
    medians = [
        learn_minutes(camera([FILE, FILE]), jobs({"p0": [10.0] * n})).steps["p0", ""] for n in (1, 3, 10, 60)
    ]
    assert [one.n for one in medians] == [1, 3, 10, 60]
    assert 5 < medians[0].median < medians[1].median < medians[2].median < medians[3].median < 10
    assert medians[0].median < 7.5
    assert medians[3].median > 9.5
    assert medians[0].drawn > medians[1].drawn > medians[2].drawn > medians[3].drawn


def test_a_step_never_timed_goes_at_the_benchs_pace():
    found = learn_minutes(camera([FILE] * 6), jobs({f"p{n}": [10.0] * 5 for n in range(5)}))
    assert found.pace == pytest.approx(2.0, rel=0.1)
    assert found.steps["p5", ""].median == pytest.approx(5 * found.pace)
    assert (found.steps["p5", ""].n, found.steps["p5", ""].drawn) == (0, 1.0)
    assert "never timed here" in found.steps["p5", ""].says


def test_a_clock_that_ran_on_is_set_aside_and_told():
    found = learn_minutes(camera([FILE]), jobs({"p0": [5.0, 61.0, 0.1]}))
    assert found.steps["p0", ""].n == 1
    assert [one.says for one in found.set_aside] == [
        "p0: 61 min is longer than 5 times the file's 12: the clock ran on; left out.",
        "p0: 0.1 min is shorter than a 10th of the file's 2: pressed twice; left out.",
    ]


def test_a_plan_goes_by_what_was_learned_and_the_file_stays_told():
    family = camera([FILE])
    found = learn_minutes(family, jobs({"p0": [10.0] * 8}))
    here = family.with_minutes(found.for_construction())
    way = here.parts["p0"].ways[0]
    assert way.file_minutes == FILE
    assert f"min here (file: {way.file_minutes.likely:g}), timed 8 times; " in way.minutes_from
    assert choose(here.strip_down(), ["p0"]).cost == pytest.approx(found.steps["p0", ""].median)
    again = learn_minutes(here, jobs({"p0": [10.0] * 8}))  # from the file's value, not from what was learned
    assert again.steps == found.steps
    assert here.with_minutes(again.for_construction()).parts["p0"].ways[0].file_minutes == FILE
