"""A stock that is made up again as soon as one is taken, where what is ordered takes days to come."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pegwood.pricing.stock.counts import Counts


@dataclass(frozen=True)
class Service:
    """
    What a stock of so many does, on the shelf and on order together.

    Two figures are both called its service, and they differ; the names here keep them apart.

    Attributes
    ----------
    stock : int
    served_at_once : float
        Share of what is wanted that is handed over the same period, [1]: what is newly missing in a period is
        E(D(lead + 1) - S)+ - E(D(lead) - S)+.
    by_backorders : float
        The textbook short cut, [1]: 1 less the back-orders at a period's end per period's demand. It counts
        one that waits for two periods twice, and so is never more.
    short_in_period : float
        Chance that somebody waits at the end of a period, [1].
    backorders : float
        How many wait at the end of a period, on average.
    on_order : float
        How many are under way, on average.
    """

    stock: int
    served_at_once: float
    by_backorders: float
    short_in_period: float
    backorders: float
    on_order: float


def base_stock(stock: int, per_period: float, lead: float) -> Service:
    """
    What a base stock does where demand is Poisson and is looked at once a period.

    Parameters
    ----------
    stock : int
        On the shelf and on order.
    per_period : float
        Wanted in a period on average, above 0.
    lead : float
        How long what is ordered takes, [periods].
    """
    if not (math.isfinite(per_period) and per_period > 0 and math.isfinite(lead) and lead >= 0):
        raise ValueError("what is wanted in a period is above 0, and nothing comes before it is ordered.")
    on_order, with_period = Counts.poisson(per_period * lead), Counts.poisson(per_period * (lead + 1))
    waiting = with_period.missing(stock)
    return Service(
        stock=stock,
        served_at_once=1 - (waiting - on_order.missing(stock)) / per_period,
        by_backorders=1 - waiting / per_period,
        short_in_period=with_period.above(stock),
        backorders=waiting,
        on_order=per_period * lead,
    )
