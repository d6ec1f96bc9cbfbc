"""The owner's no, and a new offer where the work grows."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.agreeing import LONGEST_LINE, Line, tell_price
from pegwood.book.billing.offers import latest, must_be_whole, no_words, note_answer, terms_as_told
from pegwood.book.billing.sums import chosen_of, rate_for
from pegwood.book.leaving import send_back_unmended
from pegwood.book.models import Job, Offer
from pegwood.book.moving import advance, locked
from pegwood.book.refusal import Refused
from pegwood.book.states import Move, Standing
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.pricing.tax import TaxRate


@transaction.atomic
def record_no(job: Job, words: str, *, by: str, as_it_is: bool = False, at: datetime | None = None) -> Job:
    """
    Write down that the owner said no, and what was said.

    The camera goes back as it was agreed: what is apart is put together first, or it goes as it lies. One
    that is whole is sent back at once. `as_it_is`: the owner wants it as it lies, whatever was agreed.

    Raises
    ------
    Refused
        If no price stands, or nothing says what the owner said.
    """
    at = at or timezone.now()
    job = locked(job)
    if job.price is None or job.stands is not Standing.PRICED:
        return advance(job, Move.AGREE, by=by, at=at)  # refuses, with the reason
    if not words.strip():
        raise Refused("How and what did the owner answer? Write it: it stands in the diary.")
    offer = note_answer(job, Offer.Answer.NO, words.strip(), None, at)
    if offer is not None and as_it_is:
        offer.if_no = Offer.IfNo.AS_IT_IS
        offer.save(update_fields=["if_no"])
    diary.write(
        job,
        by=by,
        at=at,
        what="recorded the no",
        text=words.strip(),
        new={"goes_back": offer.get_if_no_display()} if offer else None,
    )
    if must_be_whole(job):
        return job
    return send_back_unmended(job, no_words(job), by=by, at=at)


@transaction.atomic
def offer_again(
    job: Job,
    expected: Money,
    why: str,
    *,
    by: str,
    at: datetime | None = None,
    reckoned: Mapping[str, Any] | None = None,
) -> Job:
    """
    Tell the owner a new price where the work grows: what was told last, and a line for what comes on top.

    Raises
    ------
    Refused
        If nothing says why, no price was told, the sum does not grow, or the job is past being priced.
    """
    job = locked(job)
    offer = latest(job)
    if offer is None or job.price is None:
        raise Refused("No price was told yet. Write one, line by line.")
    if not why.strip():
        raise Refused("What makes it dearer? Write it: the owner will ask.")
    if expected.currency != job.currency:
        raise Refused(f"The price is in {job.currency}; the new sum is in {expected.currency}.")
    if expected <= job.price:
        raise Refused("The new sum is not above the price. Tell a lower price line by line.")
    told = [
        Line(
            what=line["what"],
            kind=line["kind"],
            minutes=line["minutes"],
            amount=Money(line["amount_minor"], job.currency),
            tax=TaxRate.parse(line["percent"]),
        )
        for line in offer.lines
    ]
    more = stated(expected - job.price, rate_for("labour", workshop()), chosen_of(workshop()).prices)
    return tell_price(
        job,
        [*told, Line(what=why.strip()[:LONGEST_LINE], amount=more)],
        note=why,
        terms=terms_as_told(job),
        by=by,
        at=at,
        reckoned=reckoned,
    )


def stated(gross: Money, rate: TaxRate, prices: str) -> Money:
    """What has to stand on a line so that it comes to a gross sum, as near as rounding lets it."""
    return gross if prices == "gross" else gross - rate.of(gross, "gross")
