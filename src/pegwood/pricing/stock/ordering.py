"""When to order and how many, where every order costs something by itself."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pegwood.pricing.stock.counts import Counts


@dataclass(frozen=True)
class Ordering:
    """
    Order once no more than `at` are left.

    Attributes
    ----------
    at : int
        How many are left, on the shelf and on order, when an order is written.
    up_to : int
        How many there are then, with what was ordered.
    cost : float
        Of a period, or of a unit of time, in the long run.
    """

    at: int
    up_to: int
    cost: float


def order_up_to(wanted: Counts, keep: float, short: float, order: float) -> Ordering:
    """
    The best (s, S): looked at every period, ordered up to S once no more than s are left.

    Parameters
    ----------
    wanted : Counts
        In a period; what is ordered comes at once.
    keep, short : float
        What one on the shelf, and one that is owed, costs at a period's end, above 0.
    order : float
        What an order costs by itself, above 0.

    Returns
    -------
    Ordering
        By Zheng and Federgruen's search (Operations Research 39, 1991; memory): the cost of a pair by the
        renewal of the stock, bounds that close in on the best.
    """
    _above_0(keep, short, order)
    cost_at = _CostAt(wanted, keep, short)
    renewals = _Renewals(wanted, cost_at, order)
    best_alone = cost_at.least()
    s, top = best_alone - 1, best_alone
    while renewals.cost(s, top) > cost_at(s):
        s -= 1
    best = renewals.cost(s, top)
    up_to = top + 1
    while cost_at(up_to) <= best:
        if renewals.cost(s, up_to) < best:
            top = up_to
            while renewals.cost(s, top) <= cost_at(s + 1):
                s += 1
            best = renewals.cost(s, top)
        up_to += 1
    return Ordering(s, top, best)


def order_in_lots(rate: float, lead: float, keep: float, short: float, order: float) -> Ordering:
    """
    The best (r, Q): a lot of Q is ordered as soon as r are left, and comes after a while.

    Parameters
    ----------
    rate : float
        Wanted in a unit of time, one at a time (Poisson), above 0.
    lead : float
        How long an order takes, in the same unit.
    keep, short : float
        What one on the shelf, and one that is owed, costs in a unit of time, above 0.
    order : float
        What an order costs by itself, above 0.

    Returns
    -------
    Ordering
        `at` is r, `up_to` is r + Q. The stock's position is evenly spread over r + 1 to r + Q, so the best
        lot is the Q cheapest positions side by side (Federgruen and Zheng, Operations Research 40, 1992;
        memory).
    """
    _above_0(rate, keep, short, order)
    cost_at = _CostAt(Counts.poisson(rate * lead), keep, short)
    low = high = cost_at.least()
    total = order * rate + cost_at(low)
    best = total
    while True:
        below, above = cost_at(low - 1), cost_at(high + 1)
        if min(below, above) >= best:
            return Ordering(low - 1, high, best)
        if below < above:
            low, total = low - 1, total + below
        else:
            high, total = high + 1, total + above
        best = total / (high - low + 1)


class _CostAt:
    """What a stock of so many costs: those left and those owed."""

    def __init__(self, wanted: Counts, keep: float, short: float) -> None:
        self.wanted, self.keep, self.short = wanted, keep, short

    def __call__(self, stock: int) -> float:
        missing = self.wanted.missing(stock)
        return self.keep * (stock - self.wanted.mean + missing) + self.short * missing

    def least(self) -> int:
        """The cheapest stock: the newsvendor's."""
        return self.wanted.smallest(self.short / (self.short + self.keep))


class _Renewals:
    """
    How many periods a stock stays at each place on its way from S down to s, on average.

    m(0) = 1 / (1 - p0), and m(j) follows from those before it.
    """

    def __init__(self, wanted: Counts, cost_at: _CostAt, order: float) -> None:
        chances = wanted.chances
        if chances[0] >= 1:
            raise ValueError("nothing is ever wanted, so nothing is ever ordered.")
        self.chances, self.cost_at, self.order = chances, cost_at, order
        self.stays = [1 / (1 - float(chances[0]))]

    def _stay(self, j: int) -> float:
        while len(self.stays) <= j:
            n = len(self.stays)
            most = min(n, len(self.chances) - 1)
            come = float(np.dot(self.chances[1 : most + 1], self.stays[n - 1 :: -1][:most]))
            self.stays.append(come * self.stays[0])
        return self.stays[j]

    def cost(self, s: int, top: int) -> float:
        stays = [self._stay(j) for j in range(top - s)]
        kept = math.fsum(stay * self.cost_at(top - j) for j, stay in enumerate(stays))
        return (self.order + kept) / math.fsum(stays)


def _above_0(*figures: float) -> None:
    if not all(math.isfinite(one) and one > 0 for one in figures):
        raise ValueError("rates and costs are above 0.")
