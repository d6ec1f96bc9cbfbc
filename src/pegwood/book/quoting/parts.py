"""What parts cost a job: what lies on the shelf for it, or what the repairer says it costs to get."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.construction import Construction
from pegwood.book import diary
from pegwood.book.families import construction_of
from pegwood.book.models import Job, PartCost
from pegwood.book.quoting.terms import reckoned
from pegwood.book.refusal import Refused
from pegwood.book.spares.fitting import Fits, fitting, on_the_shelf, rows
from pegwood.book.spares.needs import has_new, held_by
from pegwood.book.spares.used import charged
from pegwood.book.workshop import Workshop
from pegwood.causes.family_net import FamilyCauses
from pegwood.pricing.money import Money
from pegwood.pricing.quote import PartPrice

LONGEST_SOURCE = 240
LONGEST_WAIT = 3650.0
#: Ten million in money of two decimals: a slip of the keyboard, not a part.
DEAREST_MINOR = 10**9
_KEPT = (
    "low_minor",
    "likely_minor",
    "high_minor",
    "currency",
    "wait_low",
    "wait_likely",
    "wait_high",
    "source",
)


@dataclass(frozen=True)
class Priced:
    """A part's price, and where it is from, in words."""

    price: PartPrice
    source: str


def part_prices(
    job: Job, construction: Construction, causes: FamilyCauses, shop: Workshop
) -> dict[str, Priced]:
    """
    Prices of the parts that mends of such a camera take, by the part's id; one nobody knows is left out.

    What lies on the shelf, kept for this job or free, need not be waited for. Its own cost counts, or where
    nobody wrote that down what the repairer says such a part costs. What is in the camera new already stands
    among what is done, and costs nothing more.
    """
    family = construction.id
    told = {row.part: row for row in PartCost.objects.filter(family=family, currency=shop.currency)}
    table = rows()
    alike = {row.part for row in table} | {row.to_part for row in table}
    by_part: dict[str, list[Any]] = defaultdict(list)
    for spare in on_the_shelf():
        by_part[spare.part].append(spare)
    by_table = [spare for part in alike for spare in by_part.get(part, ())]
    held, fitted = held_by(job), has_new(job)
    found = {}
    for part in sorted(_parts_of_mends(causes) & construction.parts.keys()):
        if part in fitted:
            found[part] = Priced(PartPrice.known(Money.zero(shop.currency)), "in the camera already")
            continue
        here = by_table if part in alike else by_part.get(part, [])
        fits = fitting(here, table, family, part, maker=job.camera.maker, model=job.camera.model)
        there = [one for one in fits if one.spare.free > 0 or one.spare.pk in held]
        there.sort(key=lambda one: one.spare.pk not in held)  # what is kept for this job is what goes in
        if (price := _price(there, told.get(part), shop)) is not None:
            found[part] = price
    return found


def _parts_of_mends(causes: FamilyCauses) -> set[str]:
    return {part for fault in causes.faults.values() for mend in fault.mends for part in mend.parts}


def _price(there: Iterable[Fits], told: PartCost | None, shop: Workshop) -> Priced | None:
    there = list(there)
    for one in there:
        cost = one.spare.cost
        if cost is not None and cost.currency == shop.currency:
            where = f", {one.spare.place}" if one.spare.place else ""
            price = PartPrice.known(reckoned(charged(cost, shop), "part", shop))
            return Priced(price, f"on the shelf{where}; {one.how}")
    if told is None:
        return None
    low, likely, high = (
        reckoned(charged(Money(minor, told.currency), shop), "part", shop)
        for minor in (told.low_minor, told.likely_minor, told.high_minor)
    )
    wait = None if there else told.wait_days
    return Priced(PartPrice(low=low, likely=likely, high=high, wait_days=wait), told.source)


@dataclass(frozen=True, kw_only=True)
class Cost:
    """
    What a part costs where it must be got.

    Attributes
    ----------
    low, likely, high : Money
        Of one, as the workshop states its sums.
    source : str
        Who says so: "the wholesaler's list of May".
    wait_days : (float, float, float), optional
        Low, likely and high, [day]; None where it need not be waited for.
    """

    low: Money
    likely: Money
    high: Money
    source: str
    wait_days: tuple[float, float, float] | None = None


@transaction.atomic
def say_cost(family: str, part: str, cost: Cost, *, by: str, at: datetime | None = None) -> PartCost:
    """
    Say what a part costs to get, and how long that takes. What was said before stays in the diary.

    Raises
    ------
    Refused
        If the family has no such part, the figures are in no order, or nobody is named who says so.
    """
    at = at or timezone.now()
    construction = construction_of(family)
    if construction is None or part not in construction.parts:
        raise Refused(f"{part!r} is no part of such a camera. Choose it from the list.")
    sums = cost.low, cost.likely, cost.high
    if len({one.currency for one in sums}) > 1:
        raise Refused("The least, the usual and the most are in one money.")
    if not 0 <= cost.low.minor <= cost.likely.minor <= cost.high.minor:
        raise Refused("What does it cost at the least, usually, at the most? Write the sums in this order.")
    if cost.high.minor > DEAREST_MINOR:
        raise Refused("No part costs that much. Look at the sum again.")
    _check_wait(cost.wait_days)
    source = cost.source.strip()[:LONGEST_SOURCE]
    if not source:
        raise Refused("Who says what it costs? Write it, such as 'the maker's list' or 'paid for job 41'.")
    before = PartCost.objects.filter(family=family, part=part).first()
    wait = cost.wait_days or (None, None, None)
    row, _ = PartCost.objects.update_or_create(
        family=family,
        part=part,
        defaults={
            "low_minor": cost.low.minor,
            "likely_minor": cost.likely.minor,
            "high_minor": cost.high.minor,
            "currency": cost.low.currency,
            "wait_low": wait[0],
            "wait_likely": wait[1],
            "wait_high": wait[2],
            "source": source,
            "at": at,
            "by": by,
        },
    )
    diary.write(
        None,
        by=by,
        at=at,
        what="said what a part costs",
        text=construction.parts[part].name,
        old=diary.values(before, _KEPT) if before else None,
        new={"family": family, "family_part": part, **diary.values(row, _KEPT)},
    )
    return row


def _check_wait(days: tuple[float, float, float] | None) -> None:
    if days is None:
        return
    low, likely, high = days
    if not (all(map(math.isfinite, days)) and 0 <= low <= likely <= high <= LONGEST_WAIT):
        raise Refused(
            "How many days does it take to come at the least, usually, at the most? "
            f"Write them in this order, up to {LONGEST_WAIT:.0f}."
        )
