"""Offers: what the owner was told, until when it stands, and what was answered. Older ones are kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from pegwood.book.billing.minutes import minutes_done
from pegwood.book.billing.sums import as_columns, chosen_of, rate_for, rate_of
from pegwood.book.models import Job, Offer, PriceLine
from pegwood.book.refusal import Refused
from pegwood.book.spares.used import charged_for, spares_used
from pegwood.book.stripping.whole import lacks
from pegwood.book.workshop import Workshop, workshop
from pegwood.pricing.agreed import Ask, deposit_of, reach
from pegwood.pricing.money import Money, exponent
from pegwood.pricing.tax import Sums


@dataclass(frozen=True, kw_only=True)
class OfferTerms:
    """
    What goes with a price; what is None is as the workshop usually has it.

    Attributes
    ----------
    valid_until : date, optional
    deposit : Money, optional
        Asked before the work begins.
    if_no : str, optional
        ``"together"`` or ``"as it is"``: how the camera goes back after a no.
    no_costs : Money, optional
        What looking and putting together cost after a no.
    """

    valid_until: date | None = None
    deposit: Money | None = None
    if_no: str | None = None
    no_costs: Money | None = None


def keep_offer(
    job: Job,
    rows: Sequence[PriceLine],
    sums: Sums,
    terms: OfferTerms,
    *,
    note: str,
    by: str,
    at: datetime,
    reckoned: Mapping[str, Any] | None = None,
) -> Offer:
    """
    Keep a price as it was told, below those told before. The job is locked.

    Raises
    ------
    Refused
        If its terms cannot be.
    """
    shop = workshop()
    today = at.astimezone(shop.zone).date()
    until = terms.valid_until or today + timedelta(days=shop.price_valid_days)
    if until < today:
        raise Refused(f"A price told today cannot stand until {until}. Choose today or a later day.")
    if_no = terms.if_no or shop.if_no
    if if_no not in Offer.IfNo.values:
        raise Refused(f"After a no it goes back 'together' or 'as it is', not {if_no!r}.")
    usual_fee = shop.no_costs if shop.currency == job.currency else 0
    no_costs = Money(usual_fee, job.currency) if terms.no_costs is None else terms.no_costs
    deposit = _usual_deposit(sums.gross, shop) if terms.deposit is None else terms.deposit
    for amount, called in ((deposit, "The deposit"), (no_costs, "What a no costs")):
        if amount.currency != job.currency:
            raise Refused(f"{called} is in {amount.currency}; the job is kept in {job.currency}.")
        if amount.minor < 0:
            raise Refused(f"{called} is below nothing.")
    if deposit > sums.gross:
        raise Refused("The deposit is above the price. Ask the price at most.")
    return Offer.objects.create(
        job=job,
        place=job.offers.count() + 1,
        at=at,
        by=by,
        currency=job.currency,
        lines=[as_told(row) for row in rows],
        note=note[:400],
        valid_until=until,
        deposit_minor=deposit.minor,
        if_no=if_no,
        no_costs_minor=no_costs.minor,
        reckoned=dict(reckoned or {}),
        **as_columns(sums, chosen_of(shop)),
    )


def as_told(row: PriceLine) -> dict[str, object]:
    """A line as an offer keeps it."""
    return {
        "what": row.what,
        "kind": row.kind,
        "minutes": row.minutes,
        "amount_minor": row.amount_minor,
        "percent": rate_of(row.tax_percent).figure,
    }


def latest(job: Job) -> Offer | None:
    """What the owner was told last; None before that, and for a job of an earlier version."""
    return job.offers.order_by("place").last()


def note_answer(job: Job, answer: str, how: str, up_to: Money | None, at: datetime) -> Offer | None:
    """Write the answer on the latest offer."""
    offer = latest(job)
    if offer is None:
        return None
    offer.answer, offer.answered_at, offer.answered_how = answer, at, how[:400]
    offer.up_to_minor = None if up_to is None else up_to.minor
    offer.save(update_fields=["answer", "answered_at", "answered_how", "up_to_minor"])
    return offer


def must_be_whole(job: Job) -> tuple[str, ...]:
    """What is still out of a camera that was agreed to go back put together after a no; none: it may go."""
    offer = latest(job)
    if offer is None or offer.answer != Offer.Answer.NO or offer.if_no != Offer.IfNo.TOGETHER:
        return ()
    return lacks(job)


def no_words(job: Job) -> str:
    """The owner's no in the owner's words; empty where the last answer was none."""
    offer = latest(job)
    if offer is None or offer.answer != Offer.Answer.NO:
        return ""
    return f"The owner said no: {offer.answered_how}"


def limit_of(job: Job) -> Money | None:
    """What a bill may come to: what was agreed to, or after a no what that costs; None where nothing is."""
    if job.agreed_up_to is not None:
        return job.agreed_up_to
    offer = latest(job)
    if offer is not None and offer.answer == Offer.Answer.NO and offer.no_costs_minor:
        return offer.no_costs
    return None


def asks_again(
    job: Job, expected: Money, *, not_more_than: Money | None = None, done: Money | None = None
) -> Ask | None:
    """
    Whether the owner is to be asked before the agreed sum is passed; None where nothing is agreed.

    Parameters
    ----------
    job : Job
    expected : Money
        What the whole job is expected to cost by now, with tax.
    not_more_than : Money, optional
        What it will hardly pass.
    done : Money, optional
        What was done so far comes to; as `so_far` says if None.
    """
    if job.agreed_up_to is None:
        return None
    return reach(
        job.agreed_up_to,
        expected,
        not_more_than=not_more_than,
        done=so_far(job, workshop()) if done is None else done,
    )


def so_far(job: Job, shop: Workshop) -> Money | None:
    """What is done and used comes to by the workshop's rates, with tax; None where that is nothing."""
    if shop.currency != job.currency:
        return None
    minutes, _ = minutes_done(job)
    hour = Money(shop.hourly_rate + shop.bench_per_hour, shop.currency)
    sums: list[tuple[str, Money | None]] = [("labour", hour.times(Fraction(minutes, 60)))]
    sums += [("part", charged_for(spare, count, job.currency, shop)) for spare, count in spares_used(job)]
    gross = [
        one if shop.prices_are == "gross" else one + rate_for(kind, shop).of(one, "net")
        for kind, one in sums
        if one
    ]
    return Money.total(gross, shop.currency) if gross else None


def terms_as_told(job: Job) -> OfferTerms:
    """The terms of the price that was told last, for another; without one as the workshop has them."""
    offer = latest(job)
    if offer is None:
        return OfferTerms()
    return OfferTerms(deposit=offer.deposit, if_no=offer.if_no, no_costs=offer.no_costs)


def _usual_deposit(price: Money, shop: Workshop) -> Money:
    return deposit_of(price, shop.deposit_percent, 10 ** exponent(price.currency))
