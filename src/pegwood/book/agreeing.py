"""What the owner is told, and what the owner says to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import Job, PriceLine
from pegwood.book.moving import advance, locked
from pegwood.book.refusal import Refused
from pegwood.book.states import Move, Standing
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money, MoneyError

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
        What it costs.
    """

    what: str
    kind: str = "labour"
    minutes: int | None = None
    amount: Money | None = None


@transaction.atomic
def tell_price(
    job: Job,
    lines: Sequence[Line],
    *,
    by: str,
    note: str = "",
    at: datetime | None = None,
) -> Job:
    """
    Write down the price the owner was told.

    An earlier yes no longer holds, since it was to another price; nor does a bill written under it.

    Raises
    ------
    Refused
        If there is no line, a line has neither time nor amount, or the job is past being priced.
    """
    at = at or timezone.now()
    job = locked(job)
    total = _write_lines(job, PriceLine.Sheet.PRICE, lines)
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
        new={"price_minor": total.minor, "currency": job.currency, "before": old, "lines": _as_told(job)},
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
    if job.stands not in {Standing.PROVING, Standing.READY, Standing.ON_THE_BENCH}:
        raise Refused(f"A bill is written when the work is done; the job stands at '{job.standing}'.")
    before = job.lines.filter(sheet=PriceLine.Sheet.BILL)
    old = [[line.what, line.amount_minor] for line in before]
    total = _write_lines(job, PriceLine.Sheet.BILL, lines)
    if job.agreed_up_to is None or total > job.agreed_up_to:
        locale = workshop().locale
        limit = "nothing" if job.agreed_up_to is None else job.agreed_up_to.format(locale)
        raise Refused(
            f"The bill comes to {total.format(locale)}; the owner agreed up to {limit}. "
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
    """The sum of a sheet's lines; None if it has none."""
    amounts = [Money(line.amount_minor, job.currency) for line in job.lines.all() if line.sheet == sheet]
    return Money.total(amounts, job.currency) if amounts else None


def _write_lines(job: Job, sheet: str, lines: Sequence[Line]) -> Money:
    if not lines:
        raise Refused("There is no line. Write at least one: what it is for, and the time or the sum.")
    job.lines.filter(sheet=sheet).delete()
    rows = [
        PriceLine(
            job=job,
            sheet=sheet,
            position=place,
            what=line.what.strip(),
            kind=line.kind,
            minutes=line.minutes,
            amount_minor=_amount(job, line).minor,
        )
        for place, line in enumerate(lines, 1)
    ]
    PriceLine.objects.bulk_create(rows)
    try:
        total = Money.total([Money(row.amount_minor, job.currency) for row in rows], job.currency)
    except MoneyError as error:
        raise Refused(str(error)) from None
    if total.minor < 0:
        raise Refused("The lines come to less than nothing. Make what is taken off smaller.")
    return total


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
