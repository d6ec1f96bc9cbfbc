"""
What the pattern of errors over all speeds says, against outside references.

Marginal likelihoods: numeric integration (scipy.integrate) and scipy.stats' normal density. Scatter: the
chi-square of scipy.stats. First firing: numeric integration of Student's t. Bounce: its beta-binomial.
Taper: plain geometry. Shutters with known faults come from `patterns.py`, which shares no code with the
analysis.
"""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from instruments.patterns import DOUBLING, ROWS, SAYS, Shutter, fired
from pegwood.instruments.shutter import NoError, SpeedReading, what_the_pattern_says
from pegwood.instruments.shutter import _pattern_own as own
from pegwood.instruments.shutter._pattern_data import knowledge, read_knowledge
from pegwood.instruments.shutter._pattern_fit import Fit, Noise
from pegwood.instruments.shutter._pattern_shapes import shapes
from pegwood.instruments.uncertainty import Measured

TEN = list(DOUBLING)[:10]
TIMES = np.array([DOUBLING[m] for m in TEN])


def said_of(errors, *, seed=1, kind=None, n=5, **more):
    """What is said of a shutter with those errors, fired five times at each speed."""
    errors = dict(zip(TEN, map(float, errors), strict=True)) if not isinstance(errors, dict) else errors
    results = fired(Shutter(errors, **more), np.random.default_rng(seed), n=n)
    return what_the_pattern_says([SpeedReading.from_result(result) for result in results], kind)


def sign(pattern, name):
    return next(one for one in pattern.signs if one.id == name)


def untidy(seed=5, ev=0.04):
    """How speeds of a sound shutter differ anyway."""
    return ev * np.random.default_rng(seed).standard_normal(10)


# --- each pattern is found, with its size ----------------------------------------------------------------

DELAY = np.log2(1 + 0.0009 / TIMES)
FOUND = {
    "all-slow": (untidy() + 0.45, 0.45),
    "all-fast": (untidy() - 0.5, -0.5),
    "slow-range-slow": (untidy() + 0.7 * (TIMES > 0.05), 0.7),
    "slow-range-fast": (untidy() - 0.6 * (TIMES > 0.05), -0.6),
    "slow-speeds-equal": (untidy() + np.where(TIMES > 0.03, np.log2(0.03 / TIMES), 0), 0.03),
    "fast-end-slow": (untidy() + 0.6 * (TIMES < 0.009), 0.6),
    "fast-end-fast": (untidy() - 0.55 * (TIMES < 0.009), -0.55),
    "time-added": (untidy() + DELAY, 0.0009),
    "one-speed": (untidy() + 0.7 * (TIMES == 1 / 16), 0.7),
}


@pytest.mark.parametrize(("name", "errors", "size"), [(n, *row) for n, row in FOUND.items()])
def test_a_pattern_is_found_and_its_size_lies_within_what_is_said(name, errors, size):
    first = said_of(errors).signs[0]
    assert (first.id, first.tells) == (name, True)
    assert first.probability > 0.8
    low, high = first.figure.coverage_interval(0.99)
    assert low < size < high


def test_a_sound_shutter_is_left_alone():
    first = said_of(untidy()).signs[0]
    assert first.id == "nothing-wrong"
    assert first.probability > 0.8
    assert "alone" in first.order[0]


def test_errors_without_a_pattern_are_called_so():
    errors = [0.5, -0.4, 0.6, 0.1, -0.7, 0.4, -0.1, 0.9, -0.5, 0.3]
    assert said_of(errors).signs[0].id == "no-pattern"


def test_a_time_added_is_told_from_a_time_that_grows_with_the_speed():
    # 0.9 ms more at every speed is 0.55 EV at 1/500 and 0.001 EV at 1 s: log2(1 + d/t)
    added, multiplied = said_of(untidy() + DELAY), said_of(untidy() + 0.55)
    assert sign(added, "time-added").probability > 100 * sign(multiplied, "time-added").probability
    assert sign(multiplied, "all-slow").probability > 100 * sign(added, "all-slow").probability


def test_two_faults_are_found_together():
    pattern = said_of(untidy() + 0.8 * (TIMES > 0.05) + 0.7 * (TIMES < 0.005))
    assert {one.id for one in pattern.signs[:2]} == {"slow-range-slow", "fast-end-slow"}
    assert all(one.probability > 0.9 for one in pattern.signs[:2])


def test_the_speeds_it_shows_at_are_named():
    pattern = said_of(untidy() + 0.7 * (TIMES > 0.05))
    assert sign(pattern, "slow-range-slow").speeds == ("1", "1/2", "1/4", "1/8", "1/15")
    assert sign(said_of(FOUND["one-speed"][0]), "one-speed").speeds == ("1/15",)


# --- signs with a measure of their own -------------------------------------------------------------------


def test_scatter_first_firing_and_bounce_are_found_each_by_its_own_measure():
    scattering = said_of(untidy(), firing_ev=0.3)
    stiff = said_of(untidy(), first_ev=0.5, rested=1.0)
    bouncing = said_of(untidy(), bounces=0.6)
    for pattern, name in ((scattering, "scatter"), (stiff, "first-firing-slow"), (bouncing, "bounce")):
        for other in ("scatter", "first-firing-slow", "bounce"):
            assert (sign(pattern, other).probability > 0.9) == (other == name), (name, other)
    assert sign(scattering, "scatter").figure.value == pytest.approx(0.3, rel=0.25)
    assert sign(stiff, "first-firing-slow").figure.value == pytest.approx(0.5, abs=0.06)
    # a twentieth of the time is the bounce's, at every speed
    assert sign(bouncing, "bounce").figure.value == pytest.approx(-np.log2(1 - 0.05), abs=1e-6)
    assert sign(bouncing, "bounce").figure.u < 0.01


def test_a_slow_first_firing_is_not_taken_for_slow_speeds():
    # in five firings of which the first is 1 EV slower the mean is 0.2 EV too long: all of it from the first
    pattern = said_of(untidy(), first_ev=1.0, rested=1.0)
    assert pattern.first_left_out
    assert sign(pattern, "all-slow").probability < 0.1
    assert any("left out" in note for note in pattern.notes)


def test_noise_of_the_recording_is_not_called_scatter():
    results = fired(Shutter(dict.fromkeys(TEN, 0.0), firing_ev=0.02), np.random.default_rng(2), noise_ev=0.3)
    pattern = what_the_pattern_says([SpeedReading.from_result(one) for one in results])
    assert sign(pattern, "scatter").probability < 0.5


def test_taper_is_found_in_the_direction_it_has_and_capping_by_its_firings():
    late = said_of(untidy(), travel_s=0.0008, caps=0.0)
    early = said_of(untidy(), travel_s=-0.0008, caps=0.5)
    assert sign(late, "taper-late").probability > 0.9 > 0.1 > sign(late, "taper-early").probability
    assert sign(early, "taper-early").probability > 0.9 > 0.1 > sign(early, "taper-late").probability
    assert sign(early, "capping").probability > 0.9 > 0.1 > sign(late, "capping").probability
    # geometry: with 1/512 s on average and 0.8 ms between the ends, log2((1/512 + 0.4 ms) / (1/512 - 0.4 ms))
    expected = math.log2((1 / 512 + 0.0004) / (1 / 512 - 0.0004))
    assert sign(late, "taper-late").figure.value == pytest.approx(expected, abs=0.06)


def test_a_leaf_shutter_has_no_curtains_to_speak_of():
    names = {one.id for one in said_of(untidy(), kind="leaf").signs}
    assert not names & {"taper-late", "taper-early", "capping"}


def test_the_chance_of_scatter_is_chi_squares():
    # sum of squares over the bound's variance, by scipy.stats; the prior counts as firing_df more
    firings = [own.Firings("1", 0.2, 4, 0.0), own.Firings("1/8", 0.1, 2, 0.0)]
    b = SAYS["scatter_bound_ev"]
    squares = (4 * 0.2**2 + 2 * 0.1**2 + SAYS["firing_df"] * SAYS["firing_ev"] ** 2) / b**2
    expected = stats.chi2.cdf(squares, 6 + SAYS["firing_df"])
    assert own.scatter(firings, knowledge().practice).probability == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("df", [1, 4, 37.5, 1e6, math.inf])
def test_students_t_is_scipys(df):
    x = np.array([-30.0, -2.0, 0.0, 0.7, 5.0])
    assert own._log_t(x, df) == pytest.approx(stats.t.logpdf(x, df), rel=1e-8)


@pytest.mark.parametrize(("found", "n"), [(0, 20), (1, 20), (1, 3), (12, 20)])
def test_a_count_is_weighed_by_beta_binomial_and_binomial(found, n):
    # scipy.stats' own distributions
    does = stats.betabinom.pmf(found, n, SAYS["share_a"], SAYS["share_b"])
    sound = stats.binom.pmf(found, n, SAYS["false_alarm"])
    expected = 0.1 * does / (0.1 * does + 0.9 * sound)
    assert own.counted(found, n, knowledge().practice, 0.1) == pytest.approx(expected, rel=1e-9)


def test_the_chance_of_a_slow_first_firing_is_that_of_numeric_integration():
    practice, effect = knowledge().practice, Measured(0.2, 0.1, 3)
    firings = [own.Firings("1", 0.09, 3, 0.0)]
    df = 3 + SAYS["firing_df"]
    variance = (3 * 0.09**2 + SAYS["firing_df"] * SAYS["firing_ev"] ** 2) / df
    scale = math.sqrt(1.25 * variance + SAYS["first_sound_ev"] ** 2)

    def density(x):
        return stats.t.pdf(0.2, df, x, scale) * stats.norm.pdf(x, SAYS["first_ev"], SAYS["first_sd_ev"])

    none = stats.t.pdf(0.2, df, 0, scale)
    shows = integrate.quad(density, -1.5, 2.5, points=[0.2, 0.4], epsabs=1e-12)[0]
    stiff = SAYS["first_rested"] * shows + (1 - SAYS["first_rested"]) * none
    expected = 0.15 * stiff / (0.15 * stiff + 0.85 * none)
    got = own.first_firing([("1", effect, 4)], firings, practice, 0.15).probability
    assert got == pytest.approx(expected, rel=1e-4)


# --- the evidence ------------------------------------------------------------------------------------------


def fit_of(times, own_ev, shared, most=1):
    known = knowledge()
    hypotheses = shapes(np.asarray(times), len(times), known)
    odds = {one.id: math.log(one.prior / (1 - one.prior)) for one in known.signs.values() if one.prior > 0}
    log_odds = np.array([odds.get(name, 0.0) for name in hypotheses.names])
    n = len(times)
    noise = Noise(
        np.full(n, own_ev),
        np.atleast_2d(shared) if shared is not None else np.zeros((0, n)),
        np.eye(n, dtype=bool),
    )
    return (
        Fit(hypotheses, noise, log_odds, odds["no-pattern"], known.practice, most=most),
        hypotheses,
        noise,
        log_odds,
        odds,
    )


def test_the_evidence_is_that_of_numeric_integration_over_amplitude_and_offset():
    # every model's integral over its amplitude is done again by scipy.integrate, the density by scipy.stats
    times, y = np.array([0.5, 1 / 16, 1 / 256]), np.array([0.55, 0.1, 0.05])
    shared = np.array([0.03, 0.03, 0.03])  # a clock
    fit, every, noise, log_odds, odds = fit_of(times, 0.05, shared)
    practice = knowledge().practice
    likelihood, weight = [], []

    for k in range(len(every.sign)):
        moved = every.group[k] == 0
        odd = every.log_weight[k] + log_odds[every.sign[k]] if k else 0.0
        total = 0.0
        for ev, share in zip(practice.between_ev, practice.between_weights, strict=True):
            cov = np.diag(noise.own_ev**2 + 1e-8 + ev**2) + np.outer(shared, shared)
            cov = cov + (0.0 if moved else practice.sound_offset_ev**2)
            mu, sd = every.mean[k], every.sd[k]
            a = np.linspace(mu - 8 * sd, mu + 8 * sd, 2001)
            left = y - every.offset[k] - np.outer(a, every.slope[k])
            line = stats.multivariate_normal.pdf(left, np.zeros(3), cov) * stats.norm.pdf(a, mu, sd)
            total += share * integrate.simpson(line, x=a)
        likelihood.append(total)
        weight.append(math.exp(odd))
    scattered = 0.0
    for ev, share in zip(practice.scattered_ev, practice.scattered_weights, strict=True):
        cov = np.diag(noise.own_ev**2 + 1e-8 + ev**2) + np.outer(shared, shared) + practice.sound_offset_ev**2
        scattered += share * stats.multivariate_normal.pdf(y, np.zeros(3), cov)
    likelihood.append(scattered)
    weight.append(math.exp(odds["no-pattern"]))
    posterior = np.array(likelihood) * weight
    expected = {
        name: posterior[:-1][every.sign == i].sum() / posterior.sum() for i, name in enumerate(every.names)
    }
    weighed = fit.weigh(y)
    assert math.exp(weighed.log_evidence) == pytest.approx(posterior.sum() / sum(weight), rel=1e-5)
    got = fit.probabilities(weighed)
    for name, p in expected.items():
        assert got[name] == pytest.approx(p, rel=1e-4, abs=1e-12), name


@pytest.mark.parametrize("delay", [0.0002, 0.0008, 0.003])
def test_the_pieces_of_a_time_added_are_the_log_normal_they_stand_for(delay):
    # the integral over a log-normal delay done again by scipy.integrate; curved, not in straight pieces
    times = np.array([0.25, 1 / 64, 1 / 256, 1 / 512])
    y, own_ev = np.log2(1 + delay / times) + np.array([0.03, -0.04, 0.02, -0.01]), 0.07
    every = fit_of(times, own_ev, None)[1]
    pieces = np.flatnonzero(every.sign == every.names.index("time-added"))
    got = sum(
        math.exp(every.log_weight[k])
        * stats.multivariate_normal.pdf(
            y,
            every.offset[k],
            np.eye(4) * own_ev**2 + every.sd[k] ** 2 * np.outer(every.slope[k], every.slope[k]),
        )
        for k in pieces
    )
    prior = stats.lognorm(math.log(SAYS["delay_factor"]), scale=SAYS["delay_median_s"])
    d = np.exp(np.linspace(math.log(1e-5), math.log(0.05), 4001))
    fits = stats.norm.pdf(y - np.log2(1 + d[:, None] / times), 0, own_ev).prod(axis=1)
    assert got == pytest.approx(integrate.simpson(fits * prior.pdf(d), x=d), rel=0.1)


def test_the_evidence_of_two_shapes_is_the_normal_density_of_their_joint_covariance():
    # Bishop 2006, 2.115 (from memory): N(y | m + X mu, C + X S X'), by scipy.stats
    times, y = TIMES, untidy() + 0.8 * (TIMES > 0.05) + 0.7 * (TIMES < 0.005)
    fit, every, noise, log_odds, _ = fit_of(times, 0.03, None, most=2)
    weighed = fit.weigh(y)
    practice = knowledge().practice
    best = [int(np.argmax(weighed.weight)), int(np.argmax(weighed.weight * (weighed.between_ev == 0.10)))]
    ratios = []
    for model in best:
        i, j, ev = weighed.first[model], weighed.second[model], weighed.between_ev[model]
        cov = np.diag(noise.own_ev**2 + 1e-8 + ev**2) + practice.sound_offset_ev**2
        mean = np.zeros(10)
        log_prior = math.log(practice.between_weights[practice.between_ev.index(ev)])
        for k in (i, j):
            mean = mean + every.offset[k] + every.slope[k] * every.mean[k]
            cov = cov + every.sd[k] ** 2 * np.outer(every.slope[k], every.slope[k])
            log_prior += every.log_weight[k] + log_odds[every.sign[k]]
        ratios.append(
            log_prior + stats.multivariate_normal.logpdf(y, mean, cov) - math.log(weighed.weight[model])
        )
    assert weighed.second[best[0]] < len(every.sign)  # two shapes, indeed
    assert ratios[0] == pytest.approx(ratios[1], abs=1e-6)


def test_an_error_that_all_speeds_share_is_not_averaged_out():
    # ten speeds each +0.3 EV: of one recorder whose clock is 0.25 EV uncertain that says little, of ten much
    def of(recorders):
        readings = [
            SpeedReading(m, DOUBLING[m], Measured(0.3, 0.251), 3, 0.02, (("clock", 0.25),), 0.03, recorder=r)
            for m, r in zip(TEN, recorders, strict=True)
        ]
        return sign(what_the_pattern_says(readings), "all-slow")

    one, ten = of("x" * 10), of("abcdefghij")
    assert one.figure.u > 2 * ten.figure.u
    assert one.log10_bayes_factor < ten.log10_bayes_factor


# --- what can't be told -----------------------------------------------------------------------------------


def test_without_readings_nothing_is_told_and_each_sign_says_what_to_measure():
    pattern = what_the_pattern_says([])
    assert not any(one.tells for one in pattern.signs)
    assert all(one.to_tell for one in pattern.signs)
    assert all(one.probability == pytest.approx(one.prior) for one in pattern.signs)


def test_one_speed_alone_tells_no_pattern_and_names_the_next():
    pattern = said_of({"1/125": 0.5})
    errors = {"all-slow", "slow-range-slow", "fast-end-slow", "time-added", "one-speed", "nothing-wrong"}
    assert not any(one.tells for one in pattern.signs if one.id in errors)
    assert pattern.next is not None
    assert pattern.next.marked in DOUBLING


def test_fast_speeds_alone_do_not_tell_of_the_slow_range():
    pattern = said_of({"1/125": 0.05, "1/250": 0.0, "1/500": -0.05})
    slow = sign(pattern, "slow-range-slow")
    assert not slow.tells
    assert "1/8" in slow.to_tell
    assert abs(slow.log10_bayes_factor) < 0.15
    assert DOUBLING[pattern.next.marked] > 0.05


def test_two_firings_of_each_speed_tell_nothing_of_scatter():
    assert not sign(said_of(untidy(), n=2), "scatter").tells


@pytest.mark.parametrize(
    ("result", "reason"),
    [
        ({}, "no result"),
        ({"marked": None, "summary": {}, "shots": []}, "--marked"),
        ({"marked": "B", "marked_s": None, "summary": {"n": 3}, "shots": []}, "B has no marked time"),
        ({"marked": "1", "marked_s": 1.0, "summary": {"n": 0, "error_ev": None}, "shots": []}, "no firing"),
    ],
)
def test_a_result_without_an_error_is_refused_with_its_reason(result, reason):
    with pytest.raises(NoError, match=reason):
        SpeedReading.from_result(result)


def test_an_unknown_kind_is_refused():
    with pytest.raises(ValueError, match="leaf"):
        what_the_pattern_says([], "rotary")


# --- what must not change the answer ------------------------------------------------------------------------

READINGS = st.lists(
    st.builds(
        lambda m, e, u, n, s, f: SpeedReading(
            m, DOUBLING[m], Measured(e, u, max(n - 1, 1)), n, u, (), s if n > 1 else None,
            Measured(f, 1.2 * s, n - 2) if n > 2 else None, 0.01,
        ),
        st.sampled_from(list(DOUBLING)),
        st.floats(-6, 6), st.floats(0.001, 1), st.integers(1, 6), st.floats(0.001, 2), st.floats(-2, 2),
    ),
    max_size=11,
)  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(READINGS, st.randoms(use_true_random=False))
def test_the_order_of_the_speeds_does_not_matter(readings, random):
    shuffled = readings[:]
    random.shuffle(shuffled)
    assert what_the_pattern_says(shuffled).to_json() == what_the_pattern_says(readings).to_json()


@settings(max_examples=25, deadline=None)
@given(READINGS)
def test_no_chance_leaves_0_to_1_and_no_number_is_none_of_a_number(readings):
    data = what_the_pattern_says(readings).to_json()
    json.dumps(data, allow_nan=False)
    for one in data["signs"]:
        assert 0 <= one["probability"] <= 1
        assert one["log10_bayes_factor"] is not None
        assert one["figure"] is None or one["figure_u"] >= 0


@settings(max_examples=15, deadline=None)
@given(st.floats(-0.3, 0.6))
def test_a_constant_added_to_all_errors_moves_only_the_figure_over_all_speeds(constant):
    def of(more):
        readings = [
            SpeedReading(m, DOUBLING[m], Measured(0.8 + more + e + 0.8 * (DOUBLING[m] > 0.05), 0.02), 3)
            for m, e in zip(TEN, untidy(), strict=True)
        ]
        return what_the_pattern_says(readings)

    before, after = of(0.0), of(constant)
    moved = sign(after, "all-slow").figure.value - sign(before, "all-slow").figure.value
    assert moved == pytest.approx(constant, abs=0.03)  # but for what the prior holds back
    slow = [sign(one, "slow-range-slow").figure for one in (before, after)]
    assert slow[1].value == pytest.approx(slow[0].value, abs=0.03)
    assert slow[1].u == pytest.approx(slow[0].u, rel=0.2)


# --- the table ----------------------------------------------------------------------------------------


def test_every_advice_asks_for_the_sheet_or_a_measurement_first_and_carries_its_caution():
    for row in knowledge().advice:
        assert any(word in row.order[0] for word in ("service sheet", "easure", "gate", "Leave")), row.sign
        assert row.caution.endswith(".")
        assert row.mark == "practice"


@pytest.mark.parametrize("name", sorted(ROWS))
def test_cleaning_comes_before_anything_is_bent_tightened_or_filed(name):
    for row in (row for row in knowledge().advice if row.sign == name):
        steps = [step.lower() for step in row.order]
        cleaned = [i for i, step in enumerate(steps) if "clean" in step]
        turned = [i for i, step in enumerate(steps) if step.startswith(("only then", "then the tension"))]
        assert not cleaned or not turned or cleaned[0] < turned[0]


def test_the_trains_engagement_comes_before_its_retard():
    steps = knowledge().advice_for("slow-speeds-equal", None).order
    assert next(i for i, s in enumerate(steps) if "Engagement" in s) < next(
        i for i, s in enumerate(steps) if "depth" in s
    )


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("prior = 0.20", "prior = 1.2", "sign 3 .slow-range-slow.: prior"),
        ('shape = "equal"', 'shape = "level"', "shape is one of"),
        ('sign = "bounce"\nkind = "leaf"', 'sign = "bounces"\nkind = "leaf"', "no sign of this table"),
        ("firing_ev = 0.06", "firing_ev = -1.0", "firing_ev must be above zero"),
        ("[practice]", "[practice", "pattern.toml"),
    ],
)
def test_a_table_that_cannot_be_is_refused_by_row_and_reason(old, new, said):
    from importlib import resources

    text = resources.files("pegwood.instruments.shutter").joinpath("pattern.toml").read_text("utf-8")
    assert old in text
    with pytest.raises(ValueError, match=said):
        read_knowledge(text.replace(old, new, 1))


def test_readings_of_one_speed_count_as_one_speed():
    one = SpeedReading("1/125", 1 / 128, Measured(0.5, 0.02), 3)
    pattern = what_the_pattern_says([one, replace(one, error=Measured(0.52, 0.02)), one])
    assert not sign(pattern, "all-slow").tells


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=3),
    lambda inside: st.lists(inside, max_size=3) | st.dictionaries(st.text(max_size=3), inside, max_size=3),
    max_leaves=6,
)
PLACES = [("marked",), ("marked_s",), ("shots",), ("shots", 0), ("shots", 0, "effective_s"), ("summary",)]
PLACES += [("summary", key) for key in ("n", "effective_s", "error_ev", "error_u_ev", "error_df", "budget")]
PLACES += [("summary", "spread_ev"), ("summary", "first_firing_u_ev"), ("curtains",)]


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(PLACES), JSON)
def test_a_result_with_nonsense_in_it_is_read_or_refused_and_nothing_else(place, nonsense):
    (result,) = fired(Shutter({"1/8": 0.2}), np.random.default_rng(1))
    *way, last = place
    inside = result
    for key in way:
        inside = inside[key]
    inside[last] = nonsense
    try:
        readings = [SpeedReading.from_result(result)]
    except NoError:
        return
    json.dumps(what_the_pattern_says(readings).to_json(), allow_nan=False)
