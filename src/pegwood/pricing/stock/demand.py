"""
How many of a part will be wanted, where a few times a year is often.

Three uses in four years say little of the rate, and a stock reckoned as if it were known is too small. So the
rate has a Gamma distribution: what was known before, brought up to date by what was counted. The count to
come is then negative binomial (Gelman et al., Bayesian Data Analysis, section 2.6; memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import stats

from pegwood.pricing.stock.counts import MOST, Counts

#: A number of visits, and of parts, that is rarer is left out of the mixture, [1].
NEGLIGIBLE = 1e-9


@dataclass(frozen=True)
class Rate:
    """
    How often something is wanted, as far as that is known.

    Parameters
    ----------
    shape : float
        Of the Gamma distribution; about so many events are known, [1].
    over : float
        Over so much: years, or cameras that came, in the unit that is asked for later.

    Raises
    ------
    ValueError
        If one of both is not above 0.
    """

    shape: float
    over: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.shape) and math.isfinite(self.over) and self.shape > 0 and self.over > 0):
            raise ValueError("a rate rests on something: its shape and what it is over are above 0.")

    @classmethod
    def about(cls, mean: float, counts_as: float = 0.5) -> Rate:
        """
        A rate that is thought to be about `mean`, as much as `counts_as` events seen would tell.

        Half an event is what Jeffreys' prior for a Poisson rate counts for (memory): a few real ones
        outweigh it.
        """
        if not (math.isfinite(mean) and mean > 0):
            raise ValueError(f"the rate is thought to be {mean:g}. Expected above 0.")
        return cls(counts_as, counts_as / mean)

    def seen(self, count: int, over: float) -> Rate:
        """The same after `count` events over so much more."""
        if count < 0 or not (math.isfinite(over) and over >= 0):
            raise ValueError(f"{count} events over {over:g} cannot be counted.")
        return Rate(self.shape + count, self.over + over)

    @property
    def mean(self) -> float:
        return self.shape / self.over


def demanded(rate: Rate, ahead: float) -> Counts:
    """
    How many will be wanted.

    Parameters
    ----------
    rate : Rate
    ahead : float
        Over so much, in the unit of the rate; 0 for nothing to come.
    """
    if not (math.isfinite(ahead) and ahead >= 0):
        raise ValueError(f"{ahead:g} ahead cannot be. Expected 0 or more.")
    if ahead == 0:
        return Counts.exactly(0)
    return Counts.of(stats.nbinom(rate.shape, rate.over / (rate.over + ahead)))


def demanded_by_visits(visits: Counts, each: Rate) -> Counts:
    """
    How many will be wanted by cameras of which nobody knows how many come.

    Parameters
    ----------
    visits : Counts
        How many come.
    each : Rate
        How many each of them wants.

    Returns
    -------
    Counts
        Over all numbers of visits, each with its chance (the law of total probability).
    """
    coming = np.flatnonzero(visits.chances > NEGLIGIBLE)
    coming = coming[coming > 0]
    if not len(coming):
        return Counts.exactly(0)
    busiest = stats.nbinom(each.shape, each.over / (each.over + coming[-1]))
    wanted = np.arange(int(min(busiest.isf(NEGLIGIBLE), MOST)) + 2)
    share = each.over / (each.over + coming[:, np.newaxis])
    found = visits.chances[coming] @ stats.nbinom.pmf(wanted, each.shape, share)
    found[0] += visits.chances[0]
    return Counts(found / found.sum())
