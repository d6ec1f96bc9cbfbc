"""What the owner is told, and what the owner says to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.billing.issuing import check_open
from pegwood.book.billing.offers import OfferTerms, keep_offer, latest, limit_of, note_answer
from pegwood.book.billing.owing import live_bill
from pegwood.book.billing.sums import chosen_of, rate_for, sums_of, sums_of_sheet
from pegwood.book.models import Job, Offer, PriceLine
from pegwood.book.moving import advance, locked
from pegwood.book.refusal import Refused
from pegwood.book.states import Move, Standing
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.pricing.tax import Sums, TaxRate

LONGEST_LINE = 160


@dataclass(frozen=True, kw_only=True)
class Line:
    """
    A line of a price or a bill.

    Attributes
    ----------
    what : str
        What it is for.
    kind : str
        ``"labour"``, ``"part"`` or ``"other"``.
    minutes : int, optional
        Time, for labour. Without an `amount` the workshop's hourly rate makes one of it.
    amount : Money, optional
        What it costs, with or without tax as the workshop's prices are.
    tax : TaxRate, optional
        The rate it stands at; the workshop's for its kind if None.
    """

    what: str
    kind: str = "labour"
    minutes: int | None = None
    amount: Money | None = None
    tax: TaxRate | None = None


@transaction.atomic
def tell_price(
    job: Job,
    lines: Sequence[Line],
    *,
    by: str,
    note: str = "",
    terms: OfferTerms | None = None,
    at: datetime | None = None,
    reckoned: Mapping[str, Any] | None = None,
) -> Job:
    """
    Write down the price the owner was told.

    An earlier yes no longer holds, since it was to another price; nor does a bill written under it. What was
    told before is kept as it was told; so is what the job was reckoned to come to, if that was `reckoned`.

    Raises
    ------
    Refused
        If there is no line, a line has neither time nor amount, the terms cannot be, or the job is past it.
    """
    at = at or timezone.now()
    job = locked(job)
    check_open(job)
    rows, sums = _write_lines(job, PriceLine.Sheet.PRICE, lines)
    total = sums.gross
    offer = keep_offer(
        job, rows, sums, terms or OfferTerms(), note=note.strip(), by=by, at=at, reckoned=reckoned
    )
    old = {"price_minor": job.price_minor, "agreed_up_to_minor": job.agreed_up_to_minor}
    job.price_minor, job.price_told_at = total.minor, at
    job.agreed_up_to_minor, job.agreed_at, job.agreed_how = None, None, ""
    old["bill_lines"], _ = job.lines.filter(sheet=PriceLine.Sheet.BILL).delete()
    return advance(
        job,
        Move.TELL_PRICE,
        by=by,
        at=at,
        what="told the price",
        text=note.strip(),
        new={
            "price_minor": total.minor,
            "currency": job.currency,
            "valid_until": offer.valid_until.isoformat(),
            **({"deposit_minor": offer.deposit_minor} if offer.deposit_minor else {}),
            "before": old,
            "lines": _as_told(job),
        },
    )


@transaction.atomic
def record_yes(
    job: Job,
    *,
    how: str,
    by: str,
    up_to: Money | None = None,
    at: datetime | None = None,
) -> Job:
    """
    Write down that the owner said yes, how, and up to what sum.

    Raises
    ------
    Refused
        If no price stands, the sum is below it or in another money, or nothing says how the yes was given.
    """
    at = at or timezone.now()
    job = locked(job)
    price = job.price
    if price is None or job.stands is not Standing.PRICED:
        return advance(job, Move.AGREE, by=by, at=at)  # refuses, with the reason
    if not how.strip():
        raise Refused("How did the owner say yes? Write it, such as 'by telephone' or 'at the counter'.")
    up_to = price if up_to is None else up_to
    if up_to.currency != job.currency:
        raise Refused(f"The price is in {job.currency}; the agreed sum is in {up_to.currency}.")
    if up_to < price:
        locale = workshop().locale
        raise Refused(
            f"Agreed up to {up_to.format(locale)} is below the price, {price.format(locale)}. "
            "Tell a lower price, or record the sum the owner agreed to."
        )
    job.agreed_up_to_minor, job.agreed_at, job.agreed_how = up_to.minor, at, how.strip()
    note_answer(job, Offer.Answer.YES, how.strip(), up_to, at)
    return advance(
        job,
        Move.AGREE,
        by=by,
        at=at,
        what="recorded the yes",
        text=how.strip(),
        new={"agreed_up_to_minor": up_to.minor, "currency": up_to.currency},
    )


@transaction.atomic
def write_bill(job: Job, lines: Sequence[Line], *, by: str, at: datetime | None = None) -> Money:
    """
    Write down what is asked for. It may be written anew until the camera is handed back.

    Raises
    ------
    Refused
        If the sum is beyond what the owner agreed to, or the job is not one that is billed now.
    """
    job = locked(job)
    check_open(job)
    if reason := why_no_bill(job):
        raise Refused(reason)
    before = job.lines.filter(sheet=PriceLine.Sheet.BILL)
    old = [[line.what, line.amount_minor] for line in before]
    _, sums = _write_lines(job, PriceLine.Sheet.BILL, lines)
    total, limit = sums.gross, limit_of(job)
    if limit is None or total > limit:
        locale = workshop().locale
        agreed = "nothing" if limit is None else limit.format(locale)
        raise Refused(
            f"The bill comes to {total.format(locale)}; the owner agreed up to {agreed}. "
            "Ask the owner again before you write it."
        )
    new = [[line.what, line.amount_minor] for line in job.lines.filter(sheet=PriceLine.Sheet.BILL)]
    diary.write(
        job,
        by=by,
        at=at or timezone.now(),
        what="wrote the bill",
        old={"lines": old},
        new={"lines": new, "total_minor": total.minor, "currency": job.currency},
    )
    return total


def labour(minutes: int, rate: Money) -> Money:
    """The price of some minutes' work at an hourly rate, rounded to the whole minor unit."""
    return rate.times(Fraction(minutes, 60))


def total_of(job: Job, sheet: str) -> Money | None:
    """What a sheet's lines come to, tax and all; None if it has none."""
    sums = sums_of_sheet(job, sheet)
    return None if sums is None else sums.gross


#: Standings at which a bill is written.
BILLED_AT = frozenset({Standing.ON_THE_BENCH, Standing.PROVING, Standing.READY})


def why_no_bill(job: Job) -> str:
    """Why no bill can be written now, in one line; empty if one can."""
    offer = latest(job)
    said_no = offer is not None and offer.answer == Offer.Answer.NO and bool(offer.no_costs_minor)
    anew = job.is_over and job.bills.exists() and live_bill(job) is None
    if job.stands in BILLED_AT or anew or (said_no and job.stands in {Standing.PRICED, Standing.SENT_BACK}):
        return ""
    return f"A bill is written when the work is done; the job stands at '{job.standing}'."


def _write_lines(job: Job, sheet: str, lines: Sequence[Line]) -> tuple[list[PriceLine], Sums]:
    if not lines:
        raise Refused("There is no line. Write at least one: what it is for, and the time or the sum.")
    job.lines.filter(sheet=sheet).delete()
    shop = workshop()
    rows = [
        PriceLine(
            job=job,
            sheet=sheet,
            position=place,
            what=line.what.strip(),
            kind=line.kind,
            minutes=line.minutes,
            amount_minor=_amount(job, line).minor,
            tax_percent=(line.tax or rate_for(line.kind, shop)).percent,
        )
        for place, line in enumerate(lines, 1)
    ]
    PriceLine.objects.bulk_create(rows)
    sums = sums_of(rows, job.currency, chosen_of(shop))
    if sums.gross.minor < 0:
        raise Refused("The lines come to less than nothing. Make what is taken off smaller.")
    return rows, sums


def _amount(job: Job, line: Line) -> Money:
    if not line.what.strip():
        raise Refused("A line does not say what it is for.")
    if len(line.what.strip()) > LONGEST_LINE:
        raise Refused(
            f"'{line.what[:30]}...' is longer than {LONGEST_LINE} characters. Make two lines of it."
        )
    if line.kind not in PriceLine.Kind.values:
        raise Refused(f"'{line.what}' is {line.kind!r}. Expected labour, part or other.")
    if line.minutes is not None and not 0 <= line.minutes <= 100_000:
        raise Refused(f"'{line.what}' has {line.minutes} minutes. Expected 0 to 100000.")
    if line.amount is not None:
        if line.amount.currency != job.currency:
            raise Refused(f"'{line.what}' is in {line.amount.currency}; the job is kept in {job.currency}.")
        return line.amount
    if line.minutes is None:
        raise Refused(f"'{line.what}' has neither time nor sum. Write one of them.")
    rate = workshop().rate
    if rate.currency != job.currency or not rate.minor:
        raise Refused(f"'{line.what}' has a time but no sum, and the workshop has no hourly rate set.")
    return labour(line.minutes, rate)


def _as_told(job: Job) -> list[list[object]]:
    told = job.lines.filter(sheet=PriceLine.Sheet.PRICE)
    return [[line.what, line.kind, line.minutes, line.amount_minor] for line in told]
