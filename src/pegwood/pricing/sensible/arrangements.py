"""A fixed price with a margin for the risk, or the hours with a cap: what each may lose, and whom."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from pegwood.pricing.money import Money
from pegwood.pricing.quote.figures import ROUNDING, at_most, rounded
from pegwood.pricing.quote.jobs import Jobs
from pegwood.pricing.quote.work import Floats

Kind = Literal["fixed", "by the hour", "by the hour, capped"]


@dataclass(frozen=True, kw_only=True)
class Loss:
    """
    What one side may lose.

    Attributes
    ----------
    chance : float
        That it loses at all, [1].
    expected : float
        Over all jobs, in minor units; jobs without loss count as nothing.
    when : float
        On average where it does lose, in minor units.
    u : float
        Standard uncertainty of `expected` for the number of draws, in minor units.
    """

    chance: float
    expected: float
    when: float
    u: float


@dataclass(frozen=True, kw_only=True)
class Arrangement:
    """
    A way of being paid.

    Attributes
    ----------
    kind : str
    sum : Money, optional
        The price or the cap, tax with it; None without one.
    owner_pays : float
        On average, tax with it, in minor units.
    bench_keeps : float
        On average, of what comes in without tax, beyond what the job costs the bench, in minor units.
    bench : Loss
        Where the job costs the bench more than comes in.
    owner : Loss
        Where the owner pays more than the hours would have come to.
    """

    kind: Kind
    sum: Money | None
    owner_pays: float
    bench_keeps: float
    bench: Loss
    owner: Loss

    def to_json(self) -> dict[str, Any]:
        """For a script: money in whole minor units."""
        return {
            "kind": self.kind,
            "sum": self.sum.minor if self.sum else None,
            "owner_pays": round(self.owner_pays),
            "bench_keeps": round(self.bench_keeps),
            **{
                side: {
                    "chance": round(loss.chance, 4),
                    "expected": round(loss.expected),
                    "when": round(loss.when),
                }
                for side, loss in (("bench_loses", self.bench), ("owner_loses", self.owner))
            },
        }


def fixed(jobs: Jobs, price: Money) -> Arrangement:
    """
    A fixed price, whatever the job takes.

    Parameters
    ----------
    jobs : Jobs
    price : Money
        Tax with it.

    Raises
    ------
    ValueError
        If it is of another currency.
    """
    return _arranged(jobs, "fixed", price, np.full(len(jobs), float(_minor(jobs, price))))


def by_the_hour(jobs: Jobs, cap: Money | None = None) -> Arrangement:
    """
    By the rates, with a cap or without.

    Parameters
    ----------
    jobs : Jobs
    cap : Money, optional
        The owner pays no more, tax with it.

    Raises
    ------
    ValueError
        If it is of another currency.
    """
    if cap is None:
        return _arranged(jobs, "by the hour", None, jobs.gross)
    return _arranged(jobs, "by the hour, capped", cap, np.minimum(jobs.gross, _minor(jobs, cap)))


def fixed_with_margin(jobs: Jobs, margin: float) -> Money:
    """
    The price of the average job, and so much of it more for the risk; rounded up to the workshop's step.

    Parameters
    ----------
    margin : float
        [1]; 0.15 for 15 % more.

    Raises
    ------
    ValueError
        If the margin is below 0 or no plain number.
    """
    if not (math.isfinite(margin) and margin >= 0):
        raise ValueError(f"a margin of {margin:g} cannot be. Expected 0 or more.")
    terms = jobs.work.terms
    return rounded(float(jobs.gross.mean()) * (1 + margin), terms.currency, terms.round_to, up=True)


def fixed_for_chance(jobs: Jobs, chance: float) -> Money:
    """
    The lowest fixed price at which the bench loses with no more than this chance; rounded up.

    Parameters
    ----------
    chance : float
        Above 0, below 1.

    Raises
    ------
    ValueError
        If it is no such chance.
    """
    if not 0 < chance < 1:
        raise ValueError(f"a chance of {chance:g} cannot be. Expected between 0 and 1.")
    terms = jobs.work.terms
    cost = np.sort(jobs.own_cost) * float(1 + terms.tax)
    return rounded(at_most(cost, 1 - chance), terms.currency, terms.round_to, up=True)


def _minor(jobs: Jobs, amount: Money) -> int:
    currency = jobs.work.terms.currency
    if amount.currency != currency:
        raise ValueError(f"{amount.currency} was given, the rates are in {currency}. Expected one currency.")
    return amount.minor


def _arranged(jobs: Jobs, kind: Kind, amount: Money | None, paid: Floats) -> Arrangement:
    kept = paid / float(1 + jobs.work.terms.tax) - jobs.own_cost
    return Arrangement(
        kind=kind,
        sum=amount,
        owner_pays=float(paid.mean()),
        bench_keeps=float(kept.mean()),
        bench=_loss(-kept),
        owner=_loss(paid - jobs.gross),
    )


def _loss(lost: Floats) -> Loss:
    """Of what is lost in each draw."""
    lost = np.where(lost > ROUNDING, lost, 0.0)
    chance = float((lost > 0).mean())
    expected = float(lost.mean())
    return Loss(
        chance=chance,
        expected=expected,
        when=expected / chance if chance else 0.0,
        u=float(lost.std() / math.sqrt(len(lost))),
    )
