"""Prices reckoned lately: the card, the lines of a price and its page ask for the same one."""

from __future__ import annotations

from typing import Any

from django.db.models import Max

from pegwood.book.models import DiaryEntry, Job
from pegwood.book.quoting.quoted import Basis, basis_of, reckoned_with
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import causes_for, construction_for
from pegwood.book.workshop import workshop
from pegwood.pricing.quote import Quote
from pegwood.web.causes.kept import Kept

#: A quote holds all its draws, some megabytes.
MOST_QUOTES = 4
_lately: Kept[tuple[Basis, Quote]] = Kept(MOST_QUOTES)


def quoted(job: Job, covers: float | None = None) -> tuple[Basis, Quote]:
    """
    The price of a job and what it is reckoned from; `covers` as for `Basis.quoted`.

    Raises
    ------
    Refused
        As `basis_of` and `Basis.quoted`.
    """
    shop = workshop()
    # whatever is done to a job, a spare, a part's cost or a setting stands in the diary
    last = DiaryEntry.objects.aggregate(last=Max("pk"))["last"]
    asked = (job.pk, last, repr(shop), shop.price_covers / 100 if covers is None else covers)

    def now() -> tuple[Basis, Quote]:
        basis = basis_of(job)
        return basis, basis.quoted(covers=covers)

    return _lately.get((construction_for(job), causes_for(job)), asked, now)


def reckoned_lately(job: Job) -> dict[str, Any]:
    """What a job is reckoned to come to now, for an offer to keep; empty where nothing can be reckoned."""
    try:
        return reckoned_with(*quoted(job))
    except Refused:
        return {}
