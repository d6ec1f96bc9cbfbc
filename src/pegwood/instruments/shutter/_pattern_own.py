"""Signs of a shutter that have a measure of their own: scatter, first firing, bounce, taper, capping."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaln, chdtr, expit, gammaln, logsumexp

from pegwood.instruments.shutter._pattern_data import Practice
from pegwood.instruments.uncertainty import Measured

__all__ = ["Firings", "Own", "Taper", "counted", "first_firing", "pooled_variance", "scatter", "taper"]


@dataclass(frozen=True)
class Firings:
    """
    How the firings of one recording differ.

    Parameters
    ----------
    marked : str
        The marked speed.
    spread_ev : float
        Sample standard deviation of the firings, [EV].
    df : float
        Its degrees of freedom, [-].
    noise_ev : float
        What the recording's own noise adds to a firing, one standard deviation, [EV].
    """

    marked: str
    spread_ev: float
    df: float
    noise_ev: float


@dataclass(frozen=True)
class Taper:
    """Taper at one speed: the marking, the mean exposure time there, [s], and the taper, [EV]."""

    marked: str
    time_s: float
    taper: Measured


@dataclass(frozen=True)
class Own:
    """
    What is said of such a sign.

    Parameters
    ----------
    probability, prior : float
        With and without the readings, [-].
    figure : Measured or None
        Its size, where there is one.
    speeds : tuple of str
        Markings it shows at.
    """

    probability: float
    prior: float
    figure: Measured | None
    speeds: tuple[str, ...]


def pooled_variance(firings: Sequence[Firings], practice: Practice) -> tuple[float, float]:
    """
    Variance of a firing over all speeds, with what is known of sound shutters as if it were firings too.

    Parameters
    ----------
    firings : sequence of Firings
        One for each recording.
    practice : Practice
        `firing_ev` and how many degrees of freedom that is worth.

    Returns
    -------
    variance, df : float
        Scale, [EV^2], and degrees of freedom, [-], of the scaled inverse chi-square distribution that the
        conjugate prior gives (Gelman and others, Bayesian Data Analysis, 2.6, from memory).
    """
    df = practice.firing_df + sum(one.df for one in firings)
    known = practice.firing_df * practice.firing_ev**2
    return (known + sum(one.df * one.spread_ev**2 for one in firings)) / df, df


def scatter(firings: Sequence[Firings], practice: Practice) -> Own:
    """
    Whether the firings of one speed differ by more than the bound.

    Parameters
    ----------
    firings : sequence of Firings
        One for each recording with at least two firings.
    practice : Practice
        The bound and the prior.

    Returns
    -------
    said : Own
        Chance that the standard deviation, the recording's noise taken out, exceeds the bound: the sum of
        squares over the variance is chi-square, with the conjugate prior's degrees of freedom added.
    """
    bound = practice.scatter_bound_ev**2
    known = practice.firing_df * practice.firing_ev**2 / bound
    seen = sum(one.df * one.spread_ev**2 / (bound + one.noise_ev**2) for one in firings)
    df = sum(one.df for one in firings)
    prior = float(chdtr(practice.firing_df, known))
    p = float(chdtr(practice.firing_df + df, known + seen))
    if not firings:
        return Own(p, prior, None, ())
    total, df = pooled_variance(firings, practice)
    noise = sum(one.df * one.noise_ev**2 for one in firings) / sum(one.df for one in firings)
    sigma = math.sqrt(max(total - noise, 0.0))
    # that of a standard deviation is s / sqrt(2 df) (GUM E.4.3); carried through the noise's subtraction
    u = total / math.sqrt(2 * df) / max(sigma, math.sqrt(total / math.sqrt(2 * df)))
    worst = [one.marked for one in firings if one.spread_ev**2 > bound + one.noise_ev**2]
    return Own(p, prior, Measured(sigma, u, df), tuple(dict.fromkeys(worst)))


def first_firing(
    effects: Sequence[tuple[str, Measured, int]], firings: Sequence[Firings], practice: Practice, prior: float
) -> Own:
    """
    Whether the first firing after a rest is slow, as stiff oil makes it.

    Parameters
    ----------
    effects : sequence of (str, Measured, int)
        Marking, first firing against the mean of the others, [EV], and how many others.
    firings : sequence of Firings
        Scatter of the firings that follow; the same recordings in the same order.
    practice : Practice
        How large it is, and how many recordings began rested.
    prior : float
        Share of shutters with it, [-].

    Returns
    -------
    said : Own
        Two states of the shutter: sound, or every recording that began rested shows one and the same effect.
        The error of an effect is Student's t, its scale from the scatter of that recording and, as prior, of
        all others.
    """
    size = practice.first_ev + practice.first_sd_ev * np.linspace(-5, 5, 1201)
    log_weight = _log_normal(size, practice.first_ev, practice.first_sd_ev) + math.log(size[1] - size[0])
    log_rested, log_not = math.log(practice.first_rested), math.log1p(-practice.first_rested)
    sound, shows = 0.0, []
    for i, (_, effect, others) in enumerate(effects):
        variance, df = _with_the_others(firings, i, practice)
        firing = max(variance, firings[i].noise_ev ** 2)
        scale = math.sqrt((1 + 1 / others) * firing + practice.first_sound_ev**2)
        none = float(_log_t(effect.value / scale, df))
        rested = log_rested + _log_t((effect.value - size) / scale, df)
        either = np.logaddexp(rested, log_not + none)
        sound += none
        log_weight = log_weight + either
        shows.append(np.exp(rested - either))
    stiff = float(logsumexp(log_weight))
    weight = np.exp(log_weight - stiff)
    mean = float(weight @ size)
    sd = math.sqrt(float(weight @ (size - mean) ** 2))
    where = [marked for (marked, _, _), one in zip(effects, shows, strict=True) if weight @ one > 0.5]
    p = float(expit(math.log(prior / (1 - prior)) + stiff - sound))
    return Own(p, prior, Measured(mean, sd), tuple(dict.fromkeys(where)))


def _with_the_others(firings: Sequence[Firings], i: int, practice: Practice) -> tuple[float, float]:
    """Variance and degrees of freedom of one recording's firings, with the others' scatter as prior."""
    others, _ = pooled_variance([one for j, one in enumerate(firings) if j != i], practice)
    df = practice.firing_df + firings[i].df
    return (practice.firing_df * others + firings[i].df * firings[i].spread_ev ** 2) / df, df


def counted(found: int, n: int, practice: Practice, prior: float) -> float:
    """
    Chance that a shutter does something of which `found` of `n` firings showed it.

    Parameters
    ----------
    found, n : int
        Firings that showed it, and all firings.
    practice : Practice
        Beta distribution of the share of such firings, and the chance of a false alarm.
    prior : float
        Share of shutters that do it, [-].

    Returns
    -------
    probability : float
        Beta-binomial against binomial, by Bayes' rule (Gelman and others, 2.4, from memory), [-].
    """
    a, b = practice.share_a, practice.share_b
    ways = gammaln(n + 1) - gammaln(found + 1) - gammaln(n - found + 1)
    does = ways + betaln(found + a, n - found + b) - betaln(a, b)
    sound = ways + found * math.log(practice.false_alarm) + (n - found) * math.log1p(-practice.false_alarm)
    return float(expit(math.log(prior / (1 - prior)) + does - sound))


def taper(tapers: Sequence[Taper], practice: Practice) -> tuple[Own, Own]:
    """
    Whether the exposure changes along the travel by more than the bound, at the fastest speed measured so.

    Parameters
    ----------
    tapers : sequence of Taper
        At least one.
    practice : Practice
        How far the travel times of both curtains differ, and the bound.

    Returns
    -------
    late, early : Own
        More and less light where the curtains arrive. One figure, the second curtain's travel time less the
        first's, D, makes the taper at every speed: log2((t + D/2) / (t - D/2)), plain geometry. Its posterior
        is summed on a grid, errors Student's t.
    """
    fastest = min(one.time_s for one in tapers)
    widest = min(5 * practice.travel_unequal_s, 1.9 * fastest)
    # close together about zero, where a sound pair is
    d = widest * np.sinh(np.linspace(-6, 6, 1201)) / math.sinh(6)
    unequal = practice.travel_unequal_share
    prior = unequal * np.exp(_log_normal(d, 0.0, practice.travel_unequal_s))
    prior = (prior + (1 - unequal) * np.exp(_log_normal(d, 0.0, practice.travel_sound_s))) * np.gradient(d)
    prior /= prior.sum()
    log_fit = np.zeros_like(d)
    for one in tapers:
        expected = np.log2((one.time_s + d / 2) / (one.time_s - d / 2))
        scale = math.hypot(one.taper.u, practice.taper_between_ev)
        log_fit += _log_t((one.taper.value - expected) / scale, one.taper.df)
    weight = prior * np.exp(log_fit - log_fit.max())
    weight /= weight.sum()
    at_fastest = np.log2((fastest + d / 2) / (fastest - d / 2))
    where = tuple(dict.fromkeys(one.marked for one in tapers if one.time_s == fastest))
    said = []
    for beyond in (at_fastest > practice.taper_bound_ev, at_fastest < -practice.taper_bound_ev):
        p, share = min(float(weight[beyond].sum()), 1.0), float(prior[beyond].sum())
        figure = None
        if p > 1e-6:
            mean = float(weight @ at_fastest)
            sd = math.sqrt(float(weight @ (at_fastest - mean) ** 2))
            figure = Measured(mean, sd)
        said.append(Own(p, share, figure, where))
    return said[0], said[1]


# written out: scipy.stats takes longer to import than all of this takes to run


def _log_normal(x: np.ndarray, mean: float, sd: float) -> np.ndarray:
    """Logarithm of the normal density."""
    return np.asarray(-0.5 * ((x - mean) / sd) ** 2 - math.log(sd * math.sqrt(2 * math.pi)))


def _log_t(x: np.ndarray | float, df: float) -> np.ndarray:
    """Logarithm of the density of Student's t; the normal one for any number of degrees of freedom."""
    if df > 1e9:
        return _log_normal(np.asarray(x), 0.0, 1.0)
    scale = gammaln(0.5 * (df + 1)) - gammaln(0.5 * df) - 0.5 * math.log(df * math.pi)
    return np.asarray(scale - 0.5 * (df + 1) * np.log1p(np.square(x) / df))
