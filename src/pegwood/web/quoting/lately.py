"""Prices reckoned lately: the card, the price and its page ask for the same one."""

from __future__ import annotations

from typing import Any

from django.db.models import Max

from pegwood.book.models import Job, PartCost, SpareMove
from pegwood.book.quoting.quoted import Basis, basis_of, reckoned_with
from pegwood.book.quoting.terms import terms_of
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import causes_for
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
    asked = (
        job.pk,
        job.diary.aggregate(last=Max("pk"))["last"],  # whatever is done to a job stands in its diary
        SpareMove.objects.aggregate(last=Max("pk"))["last"],
        PartCost.objects.aggregate(last=Max("at"))["last"],
        (terms_of(job, shop), shop.part_markup, shop.tax_part, shop.prices_are),
        shop.price_covers / 100 if covers is None else covers,
    )

    def now() -> tuple[Basis, Quote]:
        basis = basis_of(job)
        return basis, basis.quoted(covers=covers)

    return _lately.get((causes_for(job),), asked, now)


def reckoned_lately(job: Job) -> dict[str, Any]:
    """What a job is reckoned to come to now, for an offer to keep; empty where nothing can be reckoned."""
    try:
        return reckoned_with(quoted(job)[1])
    except Refused:
        return {}
