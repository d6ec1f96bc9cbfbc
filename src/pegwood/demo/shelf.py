"""The demo's shelf: spares put in, kept for jobs and measured; a camera kept for its parts."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from pegwood.book.models import Job, Spare
from pegwood.book.spares.donors import donor_from, not_in_it, take_out
from pegwood.book.spares.putting import SpareDetails, measure_spare, put_on_shelf, say_worth
from pegwood.book.workshop import workshop
from pegwood.demo.world import DonorEntry, ReadingEntry, SpareEntry
from pegwood.pricing.money import Money


def put_in(entry: SpareEntry, *, by: str, at: datetime) -> Spare:
    """Put a spare on the shelf, and say what having one is worth."""
    currency = workshop().currency
    details = SpareDetails(
        name=entry.name,
        family=entry.family,
        maker=entry.maker,
        model=entry.model,
        grade=entry.grade,
        place=entry.place,
        note=entry.note,
        cost=None if entry.cost is None else Money(entry.cost, currency),
        good_from=entry.good_from,
    )
    spare = put_on_shelf(details, entry.count, by=by, at=at)
    if entry.worth is not None and spare.part:
        say_worth(spare.family, spare.part, Money(entry.worth, currency), by=by, at=at)
    return spare


def measure(spare: Spare, entry: ReadingEntry, *, by: str, at: datetime) -> None:
    """Write down what was measured of a spare that day."""
    measure_spare(spare, entry.what, entry.value, entry.u, entry.unit, note=entry.note, by=by, at=at)


def keep(entry: DonorEntry, jobs: Mapping[str, Job], *, by: str, at: datetime) -> None:
    """Put a camera that was kept for its parts among the donors, and take some out."""
    donor = donor_from(jobs[entry.job], place=entry.place, by=by, at=at)
    for name in entry.out:
        take_out(donor, SpareDetails(name=name, place=entry.parts_in, grade=entry.grade), by=by, at=at)
    for name in entry.spoiled:
        not_in_it(donor, "", name=name, reason=entry.spoiled_by, by=by, at=at)
