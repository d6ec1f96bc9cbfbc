"""The figures of a distribution of money by draws: what is not exceeded, and how far off that may be."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pegwood.pricing.money import Money
from pegwood.pricing.quote.work import Floats

#: What is told: the middle, and what is not exceeded in 80 and in 95 of 100 jobs.
USUAL, NOT_MORE_THAN, WORST = 0.5, 0.8, 0.95
#: Draws are single floats: what exceeds a step by less than this, in minor units, is their rounding.
ROUNDING = 0.05
#: Terms are kept in whole minor units without tax: with it on top they are off by nearly one, which is no
#: reason to promise a whole step more. Steps under this many minor units are as fine as that themselves.
COARSE, OF_TERMS = 10, 1.0


@dataclass(frozen=True, kw_only=True)
class Figure:
    """
    A figure of the price.

    Attributes
    ----------
    p : float
        The chance that the price is this at most, [1].
    money : Money
        Rounded to the workshop's step: the usual one to the nearest, the others up, so that they hold.
    exact : float
        Before rounding, in minor units.
    u : float
        Standard uncertainty for the number of draws, in minor units; 0 where nothing was drawn.
    """

    p: float
    money: Money
    exact: float
    u: float


def at_most(ordered: Floats, p: float) -> float:
    """The smallest draw that at least a share p of all do not exceed; draws in order."""
    return float(ordered[max(0, math.ceil(p * len(ordered) - 1e-9) - 1)])


def drawn_figure(ordered: Floats, p: float, currency: str, step: int) -> Figure:
    """
    One figure, and its standard uncertainty.

    That is half of what lies between the draws one standard deviation of a binomial count before and behind
    it, which holds whatever the distribution (order statistics; David and Nagaraja; memory).
    """
    draws = len(ordered)
    by = math.sqrt(p * (1 - p) / draws)
    low, high = (at_most(ordered, min(1.0, max(0.0, p + sign * by))) for sign in (-1, 1))
    return figure_of(at_most(ordered, p), p, currency, step, u=(high - low) / 2)


def figure_of(exact: float, p: float, currency: str, step: int, u: float = 0.0) -> Figure:
    """A figure rounded as it is told."""
    return Figure(p=p, money=rounded(exact, currency, step, up=p > USUAL), exact=exact, u=u)


def rounded(minor: float, currency: str, step: int, *, up: bool) -> Money:
    """Minor units to a multiple of the step: up, or to the nearest, halves up."""
    slack = OF_TERMS if step >= COARSE else ROUNDING
    steps = math.ceil((minor - slack) / step) if up else math.floor(minor / step + 0.5)
    return Money(steps * step, currency)


def figures(minor: Floats, currency: str, step: int) -> tuple[Figure, Figure, Figure]:
    """
    Usual, not more than, worst.

    Parameters
    ----------
    minor : array, shape (n_draws,)
        In minor units.
    """
    ordered = np.sort(minor)
    usual, not_more, worst = (drawn_figure(ordered, p, currency, step) for p in (USUAL, NOT_MORE_THAN, WORST))
    return usual, not_more, worst
