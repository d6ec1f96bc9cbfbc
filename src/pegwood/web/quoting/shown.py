"""A reckoned price in words and sums."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse
from django.utils.http import urlencode

from pegwood.book.models import Job
from pegwood.book.quoting.lines import WHICH, Which, figure_of
from pegwood.book.quoting.quoted import Basis
from pegwood.book.quoting.worths import advice
from pegwood.pricing.money import Money
from pegwood.pricing.quote import Beyond, Quote
from pegwood.pricing.sensible import (
    Arrangement,
    Sensible,
    by_the_hour,
    fixed,
    fixed_with_margin,
)
from pegwood.trade.grounds import Ground
from pegwood.trade.numbers import per_cent

#: What each figure promises, for a telephone call.
PROMISES: dict[Which, tuple[str, str]] = {
    "usual": ("Usual", "half of such jobs cost no more"),
    "not_more_than": ("Not more than", "holds in 80 of 100"),
    "worst": ("At the worst", "holds in 95 of 100"),
}
MOST_DRIVERS = 6
#: What lies closer to nothing than so many standard uncertainties is not told.
APART = 2.0
#: A part that is less often needed is not worth a line, [1].
NEEDED_FROM = 0.05
#: A fault that is less likely is not asked about when some can stay, [1]; and so many are.
CAN_STAY_FROM, MOST_THAT_STAY = 0.2, 6


@dataclass(frozen=True, kw_only=True)
class FigureShown:
    """One of the three figures; `u` is how far off the draws may make it."""

    which: Which
    name: str
    says: str
    money: Money
    u: Money
    minutes: int


@dataclass(frozen=True, kw_only=True)
class ShareShown:
    """A share of the spread: what drives it, or what a look would take away."""

    name: str
    share: float
    more: str = ""
    mean: Money | None = None
    address: str = ""

    @property
    def says(self) -> str:
        """The share in words."""
        return per_cent(self.share) if self.share >= 0 else f"−{per_cent(-self.share)}"

    @property
    def width(self) -> float:
        """Of its bar, in percent."""
        return max(0.0, min(100.0, 100 * self.share))


@dataclass(frozen=True, kw_only=True)
class PartShown:
    """A part that may be needed: how often, what it costs, who says so; no sums where nobody knows."""

    part: str
    name: str
    chance: float
    source: str = ""
    low: Money | None = None
    high: Money | None = None
    waits: bool = False


@dataclass(frozen=True, kw_only=True)
class QuoteShown:
    """All of a reckoned price that its page shows."""

    figures: tuple[FigureShown, ...]
    covers: str
    covered: tuple[str, ...]
    beyond: Beyond
    #: What the rest would add on average; None where the draws cannot tell it from nothing.
    beyond_mean: Money | None
    drivers: tuple[ShareShown, ...]
    narrows: tuple[ShareShown, ...]
    parts: tuple[PartShown, ...]
    no_mend: tuple[tuple[str, float], ...]
    wait: str
    advice: Sensible | None
    arrangements: tuple[Arrangement, ...]
    margin: int
    assumptions: tuple[tuple[str, Ground], ...]
    shape: str
    draws: int
    seed: int


def figures(quoted: Quote) -> tuple[FigureShown, ...]:
    """The three figures."""
    price = quoted.price
    return tuple(
        FigureShown(
            which=which,
            name=PROMISES[which][0],
            says=PROMISES[which][1],
            money=figure_of(quoted, which).money,
            u=Money(round(figure_of(quoted, which).u), price.currency),
            minutes=round(minutes),
        )
        for which, minutes in zip(WHICH, price.minutes, strict=True)
    )


def shown(basis: Basis, quoted: Quote, whole: Quote) -> QuoteShown:
    """A price as its page shows it; what is sensible is weighed on the price of the `whole` camera."""
    price = quoted.price
    return QuoteShown(
        figures=figures(quoted),
        covers=per_cent(price.covers),
        covered=tuple(_covered(basis, quoted)),
        beyond=price.beyond,
        beyond_mean=beyond_mean(quoted),
        drivers=_drivers(basis.job, quoted),
        narrows=_narrows(basis, quoted),
        parts=tuple(parts(basis, quoted)),
        no_mend=tuple(
            (basis.causes.faults[fault].name, chance)
            for fault, chance in price.no_mend
            if chance >= NEEDED_FROM
        ),
        wait=_wait(quoted),
        advice=advice(basis, whole),
        arrangements=_arrangements(basis, quoted),
        margin=basis.shop.risk_margin,
        assumptions=(*price.assumptions, *basis.assumptions),
        shape=price.shape,
        draws=price.draws,
        seed=price.seed,
    )


def beyond_mean(quoted: Quote) -> Money | None:
    """What mending all that is not covered would add on average; None where that may be nothing."""
    beyond = quoted.price.beyond
    return Money(round(beyond.mean), quoted.price.currency) if beyond.mean > APART * beyond.u else None


def _covered(basis: Basis, quoted: Quote) -> Iterable[str]:
    """Names of the faults that a price of what is likely covers, the likeliest first; none of one of all."""
    least = quoted.price.covers
    if not least:
        return
    there = quoted.cameras.there.mean(axis=0).tolist()
    for chance, fault in sorted(
        zip(there, quoted.work.faults, strict=True), key=lambda one: (-one[0], one[1])
    ):
        if chance < least:
            return
        yield basis.causes.faults[fault].name


def _drivers(job: Job, quoted: Quote) -> tuple[ShareShown, ...]:
    price = quoted.price
    most = price.drivers[:MOST_DRIVERS]
    found = [
        ShareShown(
            name=one.name,
            share=one.share,
            mean=Money(round(one.mean), price.currency),
            address=reverse("causes_fault", args=[job.number, one.fault]) if one.fault else "",
        )
        for one in most
    ]
    if rest := price.drivers[MOST_DRIVERS:]:
        found.append(
            ShareShown(
                name="all others",
                share=sum(one.share for one in rest),
                mean=Money(round(sum(one.mean for one in rest)), price.currency),
            )
        )
    return tuple(found)


def _narrows(basis: Basis, quoted: Quote) -> tuple[ShareShown, ...]:
    number, parts = basis.job.number, basis.construction.parts
    return tuple(
        ShareShown(
            name=one.asks,
            share=1 - math.sqrt(1 - one.share),  # of the standard deviation, which is what one sees
            more=f"{one.minutes:g} min"
            + (f", once off: {', '.join(parts[part].name for part in one.off)}" if one.off else ""),
            address=f"{reverse('causes', args=[number])}?{urlencode({'look': one.sign})}",
        )
        for one in quoted.price.looks
    )


def parts(basis: Basis, quoted: Quote) -> Iterable[PartShown]:
    """Parts that may be needed, the likeliest first."""
    often = (quoted.jobs.shares.part_for >= 0).mean(axis=0).tolist()
    tax = 1 + basis.terms.tax
    for chance, part in sorted(zip(often, quoted.work.parts, strict=True), key=lambda one: (-one[0], one[1])):
        if chance < NEEDED_FROM:
            return
        priced, name = basis.parts.get(part), basis.construction.parts[part].name
        if priced is None:
            yield PartShown(part=part, name=name, chance=chance)
        else:
            yield PartShown(
                part=part,
                name=name,
                chance=chance,
                source=priced.source,
                low=priced.price.low.times(tax),
                high=priced.price.high.times(tax),
                waits=priced.price.wait_days is not None,
            )


def may_stay(basis: Basis, quoted: Quote) -> dict[str, str]:
    """Faults that are likely enough to be asked whether they can stay, by id, with their names."""
    there = quoted.cameras.there.mean(axis=0).tolist()
    likely = sorted(zip(there, quoted.work.faults, strict=True), key=lambda one: (-one[0], one[1]))
    return {
        fault: basis.causes.faults[fault].name
        for chance, fault in likely[:MOST_THAT_STAY]
        if chance >= CAN_STAY_FROM
    }


def _wait(quoted: Quote) -> str:
    wait = quoted.price.wait
    if not wait.chance:
        return ""
    usual = f"half of all wait no longer than {wait.usual_days:.0f} days" if wait.usual_days >= 0.5 else ""
    told = ", ".join(filter(None, (usual, f"95 of 100 no longer than {wait.worst_days:.0f} days")))
    return f"In {per_cent(wait.chance)} of such jobs a part must be waited for; {told}."


def _arrangements(basis: Basis, quoted: Quote) -> tuple[Arrangement, ...]:
    jobs, price = quoted.jobs, quoted.price
    return (
        fixed(jobs, fixed_with_margin(jobs, basis.shop.risk_margin / 100)),
        by_the_hour(jobs, cap=price.not_more_than.money),
        by_the_hour(jobs),
    )
