"""A stock of parts of which some go bad on the shelf, each by itself, while others are wanted."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy import stats
from scipy.linalg import expm
from scipy.special import roots_genlaguerre, roots_legendre

from pegwood.pricing.stock.demand import Rate

#: Rates that the Gamma distribution is taken at: its mean values to far more digits than are shown.
RATES = 24
#: Beyond this shape the quadrature's weights leave the range of a number; the rate is all but known then.
MOST_SHAPE = 100.0
#: A chain of so many states is worked out in milliseconds.
MOST_SPOILING = 200


def missing_while_spoiling(stock: int, rate: Rate, years: float, spoils: float) -> float:
    """
    How many are wanted and not there, on average, where those on the shelf also go bad.

    Parameters
    ----------
    stock : int
        On the shelf today, up to 200.
    rate : Rate
        How many are wanted, in a year.
    years : float
        How long, [years].
    spoils : float
        How many of one part go bad in a year, [1/year]: each lasts 1 / that on average (exponential).

    Returns
    -------
    missing : float
        By the chain of the stock (a pure death process with the rate of demand added), for each rate that may
        be (Gauss-Laguerre quadrature over the Gamma distribution).
    """
    if not 0 <= stock <= MOST_SPOILING:
        raise ValueError(f"a stock of {stock} cannot be reckoned. Expected 0 to {MOST_SPOILING}.")
    if not (math.isfinite(years) and years > 0 and math.isfinite(spoils) and spoils >= 0):
        raise ValueError("years are above 0, and what goes bad in one is 0 or more.")
    rates, weights = _rates(rate)
    return float(weights @ np.array([_missing(stock, float(one), years, spoils) for one in rates]))


def _rates(rate: Rate) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rates that may be, and the weight of each."""
    if rate.shape <= MOST_SHAPE:
        nodes, weights = roots_genlaguerre(RATES, rate.shape - 1)
        return nodes / rate.over, weights / weights.sum()
    nodes, weights = roots_legendre(RATES)
    return stats.gamma.ppf((nodes + 1) / 2, rate.shape) / rate.over, weights / 2


def _missing(stock: int, per_year: float, years: float, spoils: float) -> float:
    """With a known rate: what is wanted while the shelf is empty."""
    leave = per_year + spoils * np.arange(1, stock + 1)
    # States stock ... 0, and one that counts what is wanted at 0.
    moves = np.zeros((stock + 2, stock + 2))
    for n in range(1, stock + 1):
        moves[n, n], moves[n, n - 1] = -leave[n - 1], leave[n - 1]
    moves[0, stock + 1] = per_year  # adds up, and takes nothing from the state
    return float(expm(moves * years)[stock, stock + 1])
