"""
What is sensible with a camera: what each way of going on is worth, to the owner and to the bench.

Everything is weighed on the same drawn cameras. What the owner has of a mended camera is its worth less the
price; what the bench has is what comes in without tax, less what the job costs it. It is advice, with its
reasons; who knows the camera and its owner knows better.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from pegwood.pricing.money import Money
from pegwood.pricing.quote.jobs import Jobs, jobs_on
from pegwood.pricing.quote.price import Quote
from pegwood.pricing.quote.work import Floats
from pegwood.pricing.sensible.worths import Worths
from pegwood.pricing.spread import spread_of
from pegwood.trade.numbers import per_cent

Kind = Literal["mend", "mend in part", "clean and return", "keep for parts", "sell as found"]
#: Which faults can stay is looked for on so many draws; what comes of it is told of all.
FOR_SEARCH = 2_000
#: Options that lie closer than so many standard uncertainties cannot be told apart.
APART = 2.0


@dataclass(frozen=True, kw_only=True)
class Option:
    """
    A way of going on.

    Attributes
    ----------
    kind : str
    owner, bench : float
        What each has of it on average, in minor units.
    owner_u, bench_u : float
        Standard uncertainty for the number of draws.
    owner_worse : float
        Chance that the owner has less than by keeping the camera as it is, [1].
    left : tuple of str
        Faults that stay.
    reasons : tuple of str
        Whole sentences.
    """

    kind: Kind
    owner: float
    bench: float
    owner_u: float = 0.0
    bench_u: float = 0.0
    owner_worse: float = 0.0
    left: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Sensible:
    """
    What is sensible.

    Attributes
    ----------
    options : tuple of Option
        What the owner has most of first.
    best_for_owner, best_for_bench : Option
    says : str
        The advice, in a sentence or two.
    close : bool
        Whether the first two are too close for the owner to be told apart by these draws.
    currency : str
    """

    options: tuple[Option, ...]
    says: str
    close: bool
    currency: str

    @property
    def best_for_owner(self) -> Option:
        """What the owner has most of."""
        return self.options[0]

    @property
    def best_for_bench(self) -> Option:
        """What the bench has most of; of equals what the owner has more of."""
        return max(self.options, key=lambda one: one.bench)

    def to_json(self) -> dict[str, Any]:
        """For a script: money in whole minor units."""
        return {
            "says": self.says,
            "close": self.close,
            "currency": self.currency,
            "options": [
                {
                    "kind": one.kind,
                    "owner": round(one.owner),
                    "bench": round(one.bench),
                    "owner_worse": round(one.owner_worse, 4),
                    "left": list(one.left),
                    "reasons": list(one.reasons),
                }
                for one in self.options
            ],
        }


def sensible(quoted: Quote, worths: Worths) -> Sensible:
    """
    What is sensible with the camera of a quote.

    Parameters
    ----------
    quoted : Quote
    worths : Worths
        The repairer's own figures.

    Raises
    ------
    ValueError
        If they are of another currency, or speak of a fault that is none of the family.
    """
    currency = quoted.price.currency
    if worths.mended.currency != currency:
        raise ValueError(
            f"the worth is in {worths.mended.currency}, the price in {currency}. Expected one currency."
        )
    if strange := worths.stays.keys() - set(quoted.work.faults):
        raise ValueError(f"{min(strange)!r} is no fault here. Expected one of the family's.")
    found = [_mended("mend", quoted, quoted.jobs, worths, ())]
    if left := which_can_stay(quoted, worths):
        jobs = jobs_on(quoted.work, quoted.cameras, quoted.price.seed, {*_not_covered(quoted), *left})
        found.append(_mended("mend in part", quoted, jobs, worths, left))
    found += _without_mending(quoted, worths)
    options = tuple(sorted(found, key=lambda one: -one.owner))
    return Sensible(
        options=options,
        says=_says(options, worths),
        close=len(options) > 1 and _are_close(*options[:2]),
        currency=currency,
    )


def which_can_stay(quoted: Quote, worths: Worths) -> tuple[str, ...]:
    """
    The faults that had better stay for the owner; of those that can.

    Leaving one more, or mending one more, is tried as long as it gains, from nothing left and from all that
    can be; the better of both. Faults that share a way in often pay only together, which one way alone would
    miss.
    """
    cameras = quoted.cameras.first(FOR_SEARCH)
    at = {fault: n for n, fault in enumerate(quoted.work.faults)}
    not_covered = _not_covered(quoted)
    can = [
        fault for fault in sorted(worths.stays)
        if fault not in not_covered and cameras.there[:, at[fault]].any()
    ]  # fmt: skip
    known: dict[frozenset[str], float] = {}

    def worth(left: frozenset[str]) -> float:
        if left not in known:
            jobs = jobs_on(quoted.work, cameras, quoted.price.seed, not_covered | left)
            known[left] = float(_owner(cameras.there, jobs, worths, left).mean())
        return known[left]

    def climbed(left: frozenset[str]) -> frozenset[str]:
        while True:
            best = max((left ^ {fault} for fault in can), key=worth, default=left)
            if worth(best) <= worth(left):
                return left
            left = best

    best = max((climbed(frozenset()), climbed(frozenset(can))), key=worth)
    return tuple(sorted(best)) if worth(best) > worth(frozenset()) else ()


def _not_covered(quoted: Quote) -> frozenset[str]:
    return frozenset(fault for fault, _ in quoted.price.beyond.faults)


def _owner(there: Any, jobs: Jobs, worths: Worths, left: Iterable[str]) -> Floats:
    """What the owner has of each job, in minor units."""
    at = {fault: n for n, fault in enumerate(jobs.work.faults)}
    less = sum(worths.stays[fault].minor * there[:, at[fault]].astype(np.float64) for fault in left)
    return np.asarray(worths.mended.minor - less - jobs.gross)


def _mended(kind: Kind, quoted: Quote, jobs: Jobs, worths: Worths, left: tuple[str, ...]) -> Option:
    owner = _owner(quoted.cameras.there, jobs, worths, left)
    found = _option(kind, owner, jobs.net - jobs.own_cost, worths)
    currency = quoted.price.currency
    reasons = [
        f"Mended it is worth {_told(worths.mended.minor, currency)} to the owner, "
        f"as it lies there {_told(worths.unmended.minor, currency)}; "
        f"the price is {_told(jobs.gross.mean(), currency)} on average."
    ]
    if left:
        saved = float(quoted.jobs.gross.mean() - jobs.gross.mean())
        reasons.append(f"What stays saves {_told(saved, currency)} on average: {', '.join(left)}.")
    reasons.append(
        f"In {per_cent(found.owner_worse)} of such jobs the owner has less of it than of the camera as it is."
    )
    return replace(found, left=left, reasons=tuple(reasons))


def _without_mending(quoted: Quote, worths: Worths) -> Iterator[Option]:
    terms, currency = quoted.work.terms, quoted.price.currency
    if worths.cleaned is not None and worths.clean is not None:
        p = (np.arange(len(quoted.jobs)) + 0.5) / len(quoted.jobs)
        minutes = spread_of(worths.clean, terms.shape).quantile(p) + _besides(quoted)
        spent = terms.minor(terms.consumables) + terms.minor(quoted.work.done.parts)
        net = np.maximum(minutes * terms.per_minute + spent, terms.minor(terms.minimum))
        owner = worths.cleaned.minor - net * float(1 + terms.tax)
        fee = float(net.mean()) * float(1 + terms.tax)
        yield replace(
            _option("clean and return", owner, net - minutes * terms.own_per_minute - spent, worths),
            owner_u=0.0,
            bench_u=0.0,
            reasons=(f"Cleaning comes to {_told(fee, currency)}; nothing that is wrong is mended.",),
        )
    if worths.for_parts is not None and worths.paid_for_parts is not None:
        paid, parts = worths.paid_for_parts.minor, worths.for_parts.minor
        yield Option(
            kind="keep for parts",
            owner=paid,
            bench=parts - paid,
            owner_worse=float(paid < worths.unmended.minor),
            reasons=(
                f"The bench gives {_told(paid, currency)} for it; "
                f"its parts are worth {_told(parts, currency)} there.",
            ),
        )
    if worths.as_found is not None:
        yield Option(
            kind="sell as found",
            owner=worths.as_found.minor,
            bench=0.0,
            owner_worse=float(worths.as_found < worths.unmended),
            reasons=(f"As found it fetches {_told(worths.as_found.minor, currency)}.",),
        )


def _besides(quoted: Quote) -> float:
    """Minutes on the bill of a camera that is only cleaned, too: what every job takes, and what is done."""
    terms, done = quoted.work.terms, quoted.work.done
    return done.minutes + (spread_of(terms.every_job, terms.shape).mean if terms.every_job else 0.0)


def _option(kind: Kind, owner: Floats, bench: Floats, worths: Worths) -> Option:
    root = math.sqrt(len(owner))
    return Option(
        kind=kind,
        owner=float(owner.mean()),
        bench=float(bench.mean()),
        owner_u=float(owner.std() / root),
        bench_u=float(bench.std() / root),
        owner_worse=float((owner < worths.unmended.minor).mean()),
    )


def _are_close(one: Option, other: Option) -> bool:
    return abs(one.owner - other.owner) <= APART * math.hypot(one.owner_u, other.owner_u)


def _says(options: tuple[Option, ...], worths: Worths) -> str:
    best, currency = options[0], worths.mended.currency
    for_bench = max(options, key=lambda one: one.bench)
    kept = worths.unmended.minor
    speaks = (
        f"For the owner nothing beats keeping it as it is, {_told(kept, currency)}: the best else is"
        if best.owner < kept
        else "For the owner it speaks for"
    )
    said = f"{speaks} '{best.kind}', {_told(best.owner, currency)} on average"
    if len(options) > 1:
        said += f", '{options[1].kind}' {_told(options[1].owner, currency)}"
        if _are_close(best, options[1]):
            said += ", too close to tell apart"
    said += "."
    if for_bench.kind != best.kind:
        said += f" For the bench it speaks for '{for_bench.kind}': {_told(for_bench.bench, currency)}."
    return said


def _told(minor: float, currency: str) -> str:
    """An amount to the nearest whole minor unit, as in 12.50 EUR."""
    return f"{Money(round(minor), currency).decimal} {currency}"
