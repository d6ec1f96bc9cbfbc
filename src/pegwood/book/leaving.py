"""A camera leaves: handed back, sent back unmended, or kept for its parts."""

from __future__ import annotations

import calendar
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book.agreeing import total_of
from pegwood.book.models import Job, PriceLine
from pegwood.book.moving import advance, locked
from pegwood.book.refusal import Refused
from pegwood.book.states import Move, Standing
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money


@transaction.atomic
def hand_back(
    job: Job,
    *,
    by: str,
    paid: Money | None = None,
    paid_how: str = "",
    guarantee_months: int | None = None,
    at: datetime | None = None,
) -> Job:
    """
    Give the camera back to its owner; the guarantee begins.

    Parameters
    ----------
    paid, paid_how : Money, str
        What was paid and how. None if nothing was: the bill stays open.
    guarantee_months : int, optional
        Months of guarantee; the job's own figure if None. 0 gives none.

    Raises
    ------
    Refused
        If the job is not ready, has no bill, or the guarantee cannot be.
    """
    at = at or timezone.now()
    job = locked(job)
    if job.stands is Standing.READY and total_of(job, PriceLine.Sheet.BILL) is None:
        raise Refused("There is no bill yet. Write it first, even if it comes to nothing.")
    months = job.guarantee_months if guarantee_months is None else guarantee_months
    if not 0 <= months <= 120:
        raise Refused(f"A guarantee of {months} months cannot be. Expected 0 to 120.")
    if paid is not None and paid.currency != job.currency:
        raise Refused(f"The bill is in {job.currency}, the payment in {paid.currency}.")
    job.gone_home_at = at
    job.guarantee_months = months
    job.guarantee_until = months_later(at.astimezone(workshop().zone).date(), months) if months else None
    job.paid_minor, job.paid_how = (paid.minor, paid_how.strip()) if paid is not None else (None, "")
    return advance(
        job,
        Move.HAND_BACK,
        by=by,
        at=at,
        what="handed it back",
        text=job.paid_how,
        new={
            "paid_minor": job.paid_minor,
            "currency": job.currency,
            "guarantee_until": job.guarantee_until and job.guarantee_until.isoformat(),
        },
    )


@transaction.atomic
def send_back_unmended(job: Job, reason: str, *, by: str, at: datetime | None = None) -> Job:
    """
    Give the camera back without having mended it.

    Raises
    ------
    Refused
        If no reason is given, or the job is past that.
    """
    at = at or timezone.now()
    if not reason.strip():
        raise Refused("Why does it go back unmended? The owner will ask. Write the reason.")
    job = locked(job)
    job.gone_home_at = at
    return advance(job, Move.SEND_BACK, by=by, at=at, what="sent it back unmended", text=reason.strip())


@transaction.atomic
def keep_for_parts(job: Job, consent: str, *, by: str, at: datetime | None = None) -> Job:
    """
    Keep the camera for its parts, with the owner's consent.

    Raises
    ------
    Refused
        If nothing says how the owner consented, or the job is past that.
    """
    if not consent.strip():
        raise Refused("How did the owner leave it to you? Write it, such as 'by letter of 3 May'.")
    return advance(
        locked(job), Move.KEEP, by=by, at=at or timezone.now(), what="kept it for parts", text=consent.strip()
    )


def months_later(day: date, months: int) -> date:
    """The same day so many months later; the month's last day where it has no such day."""
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
