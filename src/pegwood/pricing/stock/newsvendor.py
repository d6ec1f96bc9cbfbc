"""How many to keep when there is one chance to get them: the newsvendor's rule, and with it the last buy."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy import stats

from pegwood.pricing.stock.counts import Counts


@dataclass(frozen=True)
class Kept:
    """
    A stock, and what comes of it.

    Attributes
    ----------
    stock : float
        How many; whole where what is wanted comes in whole numbers.
    cost : float
        Expected cost of those that are missing and those that are left, in the unit of the costs.
    runs_out : float
        Chance that more are wanted, [1].
    """

    stock: float
    cost: float
    runs_out: float


def newsvendor(wanted: Counts, short: float, left: float) -> Kept:
    """
    The stock with the least expected cost: the smallest S with F(S) >= short / (short + left).

    For a part that nobody makes any more `wanted` is all that will ever be wanted: the last buy (final-phase
    inventory; Fortuin 1980, memory; Teunter and Klein Haneveld 2002, abstract seen).

    Parameters
    ----------
    wanted : Counts
    short, left : float
        What one too few and one too many costs, above 0.

    Raises
    ------
    ValueError
        If a cost is not above 0.
    """
    stock = wanted.smallest(_ratio(short, left))
    cost = short * wanted.missing(stock) + left * wanted.left(stock)
    return Kept(stock, cost, wanted.above(stock))


def newsvendor_normal(mean: float, sd: float, short: float, left: float) -> Kept:
    """
    The same for what is measured out and not counted: oil, foil, leather.

    Parameters
    ----------
    mean, sd : float
        Of what is wanted, normally distributed, in one unit.
    short, left : float
        What a unit too little and too much costs, above 0.
    """
    if not (math.isfinite(mean) and math.isfinite(sd) and sd > 0):
        raise ValueError(f"what is wanted is {mean:g} with {sd:g} about it. Expected a spread above 0.")
    ratio = _ratio(short, left)
    z = float(stats.norm.ppf(ratio))
    return Kept(mean + z * sd, (short + left) * sd * float(stats.norm.pdf(z)), 1 - ratio)


def _ratio(short: float, left: float) -> float:
    if not (math.isfinite(short) and math.isfinite(left) and short > 0 and left > 0):
        raise ValueError("what one too few and one too many costs is above 0.")
    return short / (short + left)
