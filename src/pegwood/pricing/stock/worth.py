"""What one more on the shelf is worth before anybody asks for it."""

from __future__ import annotations

import math

from pegwood.pricing.stock.counts import Counts


def worth_of_the_next(wanted: Counts, there: Counts, gain: float, left: float = 0.0) -> float:
    """
    The price at which one more part neither gains nor loses.

    Below it the part pays; it is the newsvendor's ratio read the other way round: one more pays exactly while
    P(wanted > there) > (price - left) / (gain - left).

    Parameters
    ----------
    wanted : Counts
        How many will be wanted.
    there : Counts
        How many are there and will still be good.
    gain : float
        What having one saves when it is wanted, in any unit of money.
    left : float
        What one is worth that nobody wants in the end, below `gain`.

    Raises
    ------
    ValueError
        If the gain is not above what one is worth that is left.
    """
    if not (math.isfinite(gain) and math.isfinite(left) and gain > left >= 0):
        raise ValueError("one that is wanted is worth more than one that is left, and neither less than 0.")
    return left + (gain - left) * runs_out(wanted, there)


def runs_out(wanted: Counts, there: Counts) -> float:
    """Chance that more are wanted than are there, [1]."""
    return math.fsum(float(chance) * wanted.above(n) for n, chance in enumerate(there.chances))
