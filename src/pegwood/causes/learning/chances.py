"""
A chance from jobs that tell of it directly, by halves, or after something that shifts its odds.

A job says: with odds `shift` times the base odds it was so, and what was seen is `bearing` times as likely if
it was so. A ruling bears infinitely, or not at all (0); a fault that only signs speak of bears by what they
moved its odds; a mend that has held over a share u of its guarantee so far bears 1 / (1 - u), if failures
spread evenly over the guarantee.

The starting knowledge is Beta(a, b). Found is the base log-odds of greatest posterior density on that scale
(MAP; the start pulls by a - (a + b) p, so that jobs without shift, ruled one way or the other, give exactly
the mean of the Beta distribution after them: (a + s) / (a + b + n); Gelman et al., Bayesian Data Analysis,
3rd ed., section 2.4: memory). Halves under stories may leave the density with several tops: each that a grid
of log-odds shows is climbed, and the greatest taken. With q the chance a job began with and t the one after
what bore on it, the slope of its log likelihood is t - q and its curvature -(q (1 - q) - t (1 - t)): a job
under a story that makes the fault all but certain weighs next to nothing, and one with no bearing nothing.
What is known afterwards is told as the Beta distribution of the same mean and the same curvature: its weight
is the curvature over p (1 - p), in jobs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import expit, logit

from pegwood.causes.intervals import Interval, beta_interval

Floats = NDArray[np.float64]
#: Log-odds are looked for between minus this and this.
FAR = 60.0
#: Where tops of the density are told apart: log-odds, in steps in which no single job's slope changes much.
GRID = np.concatenate(([-FAR], np.linspace(-12, 12, 49), [FAR]))


@dataclass(frozen=True, kw_only=True)
class Told:
    """
    What jobs say of a chance.

    Attributes
    ----------
    bearing : array, shape (n_jobs,)
        Natural logarithm of how many times likelier what was seen is if it was so; infinite for a ruling.
    shift : array, shape (n_jobs,)
        Natural logarithm of the odds that its story multiplies the base odds with.
    weight : array, shape (n_jobs,)
        How many such jobs it counts for.
    """

    bearing: Floats
    shift: Floats
    weight: Floats

    @classmethod
    def of(cls, rows: Sequence[float]) -> Told:
        """Of rows laid end to end: the chance before what bore on it and after, and how many jobs it is."""
        before, after, weight = np.array(rows, dtype=float).reshape(-1, 3).T
        return cls(bearing=logit(after) - logit(before), shift=np.zeros_like(weight), weight=weight)

    @classmethod
    def together(cls, several: Sequence[tuple[Told, float]]) -> Told:
        """Several, each with what one of its jobs counts for."""
        return cls(
            bearing=np.concatenate([one.bearing for one, _ in several]),
            shift=np.concatenate([one.shift for one, _ in several]),
            weight=np.concatenate([share * one.weight for one, share in several]),
        )


@dataclass(frozen=True)
class Estimate:
    """A chance, [1], and how many jobs without a story it is known as well as."""

    chance: float
    weight: float

    @property
    def interval(self) -> Interval:
        """The 90 % interval of the Beta distribution."""
        return beta_interval(self.chance * self.weight, (1 - self.chance) * self.weight)


def estimate(start: float, weight: float, told: Told) -> Estimate:
    """
    A chance from starting knowledge and what jobs tell.

    Parameters
    ----------
    start, weight : float
        What is held beforehand, [1], and how many jobs that counts for.
    told : Told

    Raises
    ------
    ValueError
        If the start is not from 0 to 1, or its weight not above nought.
    """
    if not 0 <= start <= 1 or not (math.isfinite(weight) and weight > 0):
        raise ValueError(f"starting from {start:g} with a weight of {weight:g} cannot be.")

    def slope(at: float) -> float:
        begins = expit(at + told.shift)
        ends = expit(at + told.shift + told.bearing)
        return float(weight * (start - expit(at)) + told.weight @ (ends - begins))

    if slope(FAR) >= 0 or slope(-FAR) <= 0:  # starting from 0 or 1, and no job speaks against it
        return Estimate(start, weight)
    halves = np.isfinite(told.bearing) & (told.bearing != 0)
    grid = GRID if halves.any() else GRID[[0, -1]]  # rulings alone have one top
    rises = np.array([slope(at) > 0 for at in grid])
    tops = [brentq(slope, grid[n], grid[n + 1], xtol=1e-12) for n in np.flatnonzero(rises[:-1] & ~rises[1:])]
    at = max(tops, key=lambda top: _log_density(top, start, weight, told)) if len(tops) > 1 else tops[0]
    return Estimate(float(expit(at)), max(weight + _size(at, told), weight))


def _log_density(at: float, start: float, weight: float, told: Told) -> float:
    """Natural logarithm of the density of the log-odds, but for what is the same at all of them."""
    begins = at + told.shift
    ends = np.where(np.isposinf(told.bearing), begins, np.logaddexp(0, begins + told.bearing))
    says = told.weight @ (ends - np.logaddexp(0, begins))
    return float(weight * (start * at - np.logaddexp(0, at)) + says)


def size(start: float, told: Told) -> float:
    """How many jobs without a story those would be, about a chance of `start`."""
    return max(0.0, _size(math.log(start / (1 - start)) if 0 < start < 1 else 0.0, told))


def _size(at: float, told: Told) -> float:
    base = float(expit(at))
    begins, ends = expit(at + told.shift), expit(at + told.shift + told.bearing)
    curved = begins * (1 - begins) - ends * (1 - ends)
    return float(told.weight @ curved) / (base * (1 - base))
