"""The price of a job as a distribution: what it usually is, what it does not exceed, and what drives it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pegwood.anatomy.construction import Construction
from pegwood.causes.case import Case
from pegwood.causes.drawn import Cameras, cameras
from pegwood.causes.family_net import FamilyCauses
from pegwood.pricing.money import Money
from pegwood.pricing.quote.figures import ROUNDING, Figure, figures
from pegwood.pricing.quote.jobs import Jobs, jobs_on
from pegwood.pricing.quote.looks import Narrows, what_narrows
from pegwood.pricing.quote.terms import BACK_GROUND, HAND_GROUND, Done, PartPrice, Terms
from pegwood.pricing.quote.work import Work, work_of
from pegwood.pricing.spread import SHAPES, Shape
from pegwood.trade.grounds import Ground
from pegwood.trade.numbers import figure, per_cent

DRAWS = 10_000
#: What of the spread falls to no fault.
REST, MINIMUM = "what every job takes, and what is done already", "the minimum charge"
#: What is left out of a price is weighed on so many draws.
FOR_BEYOND = 2_000
COVARIANCE = Ground(
    "covariance of each part with the whole over the whole's variance: shares of a sum add up to 1", "memory"
)


@dataclass(frozen=True, kw_only=True)
class Driver:
    """
    What a fault does to the spread of the price.

    Attributes
    ----------
    fault : str
        Its id; empty for what falls to no fault.
    name : str
    share : float
        Of the price's variance, [1]: its covariance with the price. Below 0 where it evens others out.
    mean : float
        What it adds to the price on average, tax with it, in minor units.
    """

    fault: str
    name: str
    share: float
    mean: float


@dataclass(frozen=True, kw_only=True)
class Wait:
    """
    The wait for parts.

    Attributes
    ----------
    chance : float
        That any must be waited for, [1].
    usual_days, not_more_than_days, worst_days : float
        For the last of them, over all jobs: 0 where most need none, [day].
    """

    chance: float
    usual_days: float
    not_more_than_days: float
    worst_days: float


@dataclass(frozen=True, kw_only=True)
class Beyond:
    """
    What a price does not cover.

    Attributes
    ----------
    faults : tuple of (str, float)
        Faults that are not covered, with their chance, [1]; the likeliest first.
    chance : float
        That any of them is there, [1].
    mean, u : float
        What mending them too would add on average, tax with it, and its standard uncertainty for the number
        of draws, in minor units.
    """

    faults: tuple[tuple[str, float], ...]
    chance: float
    mean: float
    u: float


@dataclass(frozen=True, kw_only=True)
class Price:
    """
    What to tell the owner.

    Attributes
    ----------
    usual, not_more_than, worst : Figure
        What half, 80 and 95 of 100 such jobs come to at most, tax with it.
    mean : float
        In minor units.
    minutes : (float, float, float)
        At the bench, at the same three points, [min].
    drivers : tuple of Driver
        What moves the price most first; all shares together are 1, or there are none.
    looks : tuple of Narrows
        What would narrow it most first.
    wait : Wait
    shape : str
        How low, likely and high minutes were read; another would give another price.
    assumptions : tuple of (str, Ground)
        What it rests on besides, each in a sentence.
    unpriced : tuple of (str, float)
        Parts that nobody gave a price for and how often one is needed, [1]; they count as nothing.
    no_mend : tuple of (str, float)
        Faults that no mend is known of, and their chance, [1]; they count as nothing.
    covers : float
        Faults at least so likely are covered, [1]; 0: all.
    beyond : Beyond
    draws, seed : int
    currency : str
    """

    usual: Figure
    not_more_than: Figure
    worst: Figure
    mean: float
    minutes: tuple[float, float, float]
    drivers: tuple[Driver, ...]
    looks: tuple[Narrows, ...]
    wait: Wait
    shape: Shape
    assumptions: tuple[tuple[str, Ground], ...]
    unpriced: tuple[tuple[str, float], ...]
    no_mend: tuple[tuple[str, float], ...]
    covers: float
    beyond: Beyond
    draws: int
    seed: int
    currency: str

    def to_json(self, most: int = 10) -> dict[str, Any]:
        """
        For a script: money in whole minor units of `currency`.

        So many drivers are told by themselves, all others as one, so that the shares still come to 1.
        """
        rest = self.drivers[most:]
        drivers = [(one.fault or one.name, one.share) for one in self.drivers[:most]]
        drivers += [("all others", sum(one.share for one in rest))] if rest else []
        three = {"usual": self.usual, "not_more_than": self.not_more_than, "worst": self.worst}
        return {
            **{name: one.money.minor for name, one in three.items()},
            "currency": self.currency,
            "drivers": [{"fault": fault, "share": round(share, 4)} for fault, share in drivers],
            "draws": self.draws,
            "seed": self.seed,
            "u": {name: round(one.u, 1) for name, one in three.items()},
            "minutes": dict(zip(three, (round(one, 1) for one in self.minutes), strict=True)),
            "narrows": [
                {"sign": one.sign, "share": round(one.share, 4), "minutes": one.minutes} for one in self.looks
            ],
            "wait_days": {
                "chance": round(self.wait.chance, 4),
                "usual": round(self.wait.usual_days, 1),
                "not_more_than": round(self.wait.not_more_than_days, 1),
                "worst": round(self.wait.worst_days, 1),
            },
            "shape": self.shape,
            "covers_from": self.covers,
            "beyond": {
                "chance": round(self.beyond.chance, 4),
                "mean": round(self.beyond.mean),
                "u": round(self.beyond.u),
            },
            "unpriced": [{"part": part, "needed": round(chance, 4)} for part, chance in self.unpriced],
            "no_mend": [{"fault": fault, "chance": round(chance, 4)} for fault, chance in self.no_mend],
            "assumptions": [
                {"says": says, "source": ground.source, "mark": ground.mark}
                for says, ground in self.assumptions
            ],
        }


@dataclass(frozen=True, kw_only=True, eq=False)
class Quote:
    """A price with the draws it rests on: what else is asked of it is asked of the same draws."""

    price: Price
    work: Work
    cameras: Cameras
    jobs: Jobs

    def chance_above(self, agreed: Money) -> float:
        """
        Chance that the price passes a sum, tax with it, [1].

        Raises
        ------
        ValueError
            If it is of another currency.
        """
        if agreed.currency != self.price.currency:
            raise ValueError(
                f"{agreed.currency} was agreed, the price is in {self.price.currency}. Expected one currency."
            )
        return float((self.jobs.gross > agreed.minor + ROUNDING).mean())

    def points(self, count: int = 101) -> tuple[tuple[float, float], ...]:
        """For a chart: shares from 0 to 1, and what the price does not exceed in so many jobs."""
        shares = np.linspace(0, 1, count)
        prices = np.quantile(self.jobs.gross, shares, method="inverted_cdf")
        return tuple(zip(shares.tolist(), prices.tolist(), strict=True))


def quote(
    causes: FamilyCauses,
    construction: Construction,
    case: Case,
    terms: Terms,
    *,
    parts: Mapping[str, PartPrice] | None = None,
    done: Done | None = None,
    draws: int = DRAWS,
    seed: int = 0,
    most_looks: int = 5,
    covers: float = 0.0,
) -> Quote:
    """
    The price of a job: the same for the same seed.

    Parameters
    ----------
    causes : FamilyCauses
    construction : Construction
        Of the same family.
    case : Case
        What was told, seen and ruled.
    terms : Terms
    parts : mapping of str to PartPrice, optional
        By the part's id in the family.
    done : Done, optional
        What of the job is done already.
    draws, seed : int
    most_looks : int
        How many looks are told that would narrow it; 0 leaves them out.
    covers : float
        Faults less likely than this are not covered, [1]: the price is that of mending the others, and what
        is left out is told. What is found later is certain, and covered then. 0 covers all.

    Raises
    ------
    CannotDraw
        If nothing can be drawn from what was seen.
    ValueError
        If a figure cannot be, or something is none of the family.
    """
    if not 0 <= covers <= 1:
        raise ValueError(f"what a price covers is {covers:g}. Expected a chance from 0 to 1.")
    work = work_of(causes, construction, terms, parts, done)
    drawn = cameras(causes, case, draws, seed)
    left = _left(work, drawn, covers)
    jobs = jobs_on(work, drawn, seed, left)
    gross = jobs.gross
    usual, not_more, worst = figures(gross, terms.currency, terms.round_to)
    asked = case.answers.keys() | case.unanswered
    price = Price(
        usual=usual,
        not_more_than=not_more,
        worst=worst,
        mean=float(gross.mean()),
        minutes=_three(jobs.minutes),
        drivers=drivers_of(jobs, causes),
        looks=what_narrows(causes, drawn, gross, asked, most_looks) if most_looks else (),
        wait=Wait(
            **dict(
                zip(("usual_days", "not_more_than_days", "worst_days"), _three(jobs.wait_days), strict=True)
            ),
            chance=float((jobs.wait_days > 0).mean()),
        ),
        shape=terms.shape,
        assumptions=_assumptions(terms, covers),
        unpriced=_needed(work, jobs),
        no_mend=_no_mend(work, drawn),
        covers=covers,
        beyond=_beyond(work, drawn, seed, left),
        draws=draws,
        seed=seed,
        currency=terms.currency,
    )
    return Quote(price=price, work=work, cameras=drawn, jobs=jobs)


def drivers_of(jobs: Jobs, causes: FamilyCauses) -> tuple[Driver, ...]:
    """
    What each fault, and the rest, does to the spread of the price.

    The price is a sum; the covariance of each of its parts with it, over its variance, is a share, and all
    shares come to 1.
    """
    terms, shares, size = jobs.work.terms, jobs.shares, len(jobs.work.faults)
    tax = float(1 + terms.tax)
    off_mean = jobs.gross - jobs.gross.mean()
    total = float(off_mean @ off_mean)
    if total <= 1e-9 * len(jobs):
        return ()
    by_fault = np.bincount(shares.fault, shares.money * off_mean[shares.draw], size)
    means = np.bincount(shares.fault, shares.money, size) / len(jobs)
    rest = {REST: shares.rest, MINIMUM: jobs.net - jobs.raw}
    found = [
        Driver(fault=fault, name=causes.faults[fault].name, share=tax * cov / total, mean=tax * mean)
        for fault, cov, mean in zip(jobs.work.faults, by_fault.tolist(), means.tolist(), strict=True)
        if mean
    ]
    found += [
        Driver(fault="", name=name, share=tax * float(what @ off_mean) / total, mean=tax * float(what.mean()))
        for name, what in rest.items()
        if np.ptp(what) > 0
    ]
    return tuple(sorted(found, key=lambda one: (-one.share, one.fault, one.name)))


def _three(what: Any) -> tuple[float, float, float]:
    usual, not_more, worst = np.quantile(what, (0.5, 0.8, 0.95), method="inverted_cdf").tolist()
    return usual, not_more, worst


def _needed(work: Work, jobs: Jobs) -> tuple[tuple[str, float], ...]:
    often = (jobs.shares.part_for >= 0).mean(axis=0)
    found = [(part, float(often[n])) for n, part in enumerate(work.parts) if part in work.unpriced]
    return tuple(sorted((one for one in found if one[1] > 0), key=lambda one: (-one[1], one[0])))


def _no_mend(work: Work, drawn: Cameras) -> tuple[tuple[str, float], ...]:
    found = [
        (fault, float(drawn.there[:, n].mean()))
        for n, fault in enumerate(work.faults)
        if not work.count[n] and drawn.there[:, n].any()
    ]
    return tuple(sorted(found, key=lambda one: (-one[1], one[0])))


def _left(work: Work, drawn: Cameras, covers: float) -> dict[str, float]:
    """Faults that a price does not cover, with their chance; the likeliest first."""
    chances = drawn.there.mean(axis=0).tolist()
    found = [(-one, fault) for fault, one in zip(work.faults, chances, strict=True) if 0 < one < covers]
    return {fault: -one for one, fault in sorted(found)}


def _beyond(work: Work, drawn: Cameras, seed: int, left: Mapping[str, float]) -> Beyond:
    if not left:
        return Beyond(faults=(), chance=0.0, mean=0.0, u=0.0)
    few = drawn.first(FOR_BEYOND)
    more = jobs_on(work, few, seed).gross - jobs_on(work, few, seed, left).gross
    any_left = drawn.there[:, [fault in left for fault in work.faults]].any(axis=1)
    return Beyond(
        faults=tuple(left.items()),
        chance=float(any_left.mean()),
        mean=float(more.mean()),
        u=float(more.std() / math.sqrt(len(few))),
    )


def _times(back: float) -> str:
    return "as long as" if back == 1 else f"{figure(back)} times as long as"


def _assumptions(terms: Terms, covers: float) -> tuple[tuple[str, Ground], ...]:
    shape = SHAPES[terms.shape]
    which = f"likely from {per_cent(covers)} on" if covers else "that is there"
    return (
        (
            f"Minutes are read as {shape.name}: {shape.reads}. Another shape gives another price.",
            shape.ground,
        ),
        (
            f"Of what a step's minutes spread by, {per_cent(terms.hand)} is common to all steps of a job.",
            HAND_GROUND,
        ),
        (f"Putting a part back takes {_times(terms.back)} taking it off.", BACK_GROUND),
        (
            f"Every fault {which} is mended, the cheapest mend first, till one holds; what is opened or "
            "looked at in vain is only in what every job takes.",
            Ground("Pegwood's own rule", "practice"),
        ),
        ("Shares by fault are covariances with the price.", COVARIANCE),
    )
