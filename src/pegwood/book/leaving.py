"""A camera leaves: handed back, sent back unmended, or kept for its parts."""

from __future__ import annotations

import calendar
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.billing.issuing import issue_bill
from pegwood.book.billing.offers import must_be_whole, no_words
from pegwood.book.billing.owing import balance, live_bill
from pegwood.book.billing.payments import book, check_amount, undo_since
from pegwood.book.models import Job, Payment
from pegwood.book.moving import advance, locked
from pegwood.book.refusal import Refused
from pegwood.book.spares.donors import no_donor_after_all
from pegwood.book.states import OVER, Move, Standing
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
    Give the camera back to its owner; the guarantee begins. A bill that is written and not issued is issued.

    Parameters
    ----------
    paid, paid_how : Money, str
        What was paid now and how, beside what was before. None if nothing was: the bill stays open.
    guarantee_months : int, optional
        Months of guarantee; the job's own figure if None. 0 gives none.

    Raises
    ------
    Refused
        If the job is not ready, has no bill, or the guarantee cannot be.
    """
    at = at or timezone.now()
    job = locked(job)
    if job.stands is Standing.READY and live_bill(job) is None:
        issue_bill(job, by=by, at=at)
    months = job.guarantee_months if guarantee_months is None else guarantee_months
    if not 0 <= months <= 120:
        raise Refused(f"A guarantee of {months} months cannot be. Expected 0 to 120.")
    if paid is not None:
        check_amount(job, paid)
    job.gone_home_at = at
    job.guarantee_months = months
    job.guarantee_until = months_later(at.astimezone(workshop().zone).date(), months) if months else None
    if paid:
        what = "recorded a payment"
        book(job, Payment.Kind.PAYMENT, paid, paid_how, what=what, by=by, at=at)
    return advance(
        job,
        Move.HAND_BACK,
        by=by,
        at=at,
        what="handed it back",
        text=paid_how.strip() if paid else "",
        new={
            "paid_minor": job.paid_minor,
            "currency": job.currency,
            "guarantee_until": job.guarantee_until and job.guarantee_until.isoformat(),
        },
    )


def still_to_pay(job: Job) -> Money | None:
    """What is open of what a job was billed; None where nothing is."""
    left = balance(job)
    return left if left is not None and left.minor > 0 else None


@transaction.atomic
def take_back(job: Job, reason: str, *, by: str, at: datetime | None = None) -> Job:
    """
    Undo the end of a job that was a slip of the thumb: it stands again where it stood before.

    What was paid since is taken back by counter-entries; a bill that was issued stays issued. The camera is
    no donor any more.

    Raises
    ------
    Refused
        If no reason is given, the job is not over, the camera is here again under another job, or a part of
        it lies on the shelf.
    """
    if not reason.strip():
        raise Refused("What was the slip? Write it: the diary keeps both.")
    job = locked(job)
    if other := job.camera.jobs.exclude(standing__in=OVER).exclude(pk=job.pk).first():
        raise Refused(f"The camera is here again under job {other.number}. Go on with that one.")
    before = diary.values(job, ("gone_home_at", "guarantee_until", "paid_minor", "paid_how", "paid_at"))
    at = at or timezone.now()
    no_donor_after_all(job, by=by, at=at)
    undo_since(job, job.gone_home_at, reason, by=by, at=at)
    job.gone_home_at = job.guarantee_until = None
    return advance(
        job,
        Move.TAKE_BACK,
        by=by,
        at=at,
        what="took a slip back",
        text=reason.strip(),
        new={"undone": before},
    )


@transaction.atomic
def send_back_unmended(job: Job, reason: str, *, by: str, at: datetime | None = None) -> Job:
    """
    Give the camera back without having mended it.

    Raises
    ------
    Refused
        If no reason is given, the job is past that, or it was agreed to go back put together and is not yet.
    """
    at = at or timezone.now()
    job = locked(job)
    reason = reason.strip() or no_words(job)
    if not reason:
        raise Refused("Why does it go back unmended? The owner will ask. Write the reason.")
    if out := must_be_whole(job):
        raise Refused(
            f"It was agreed that it goes back put together. {out[0]} Put it in, or say why it stays out."
        )
    job.gone_home_at = at
    return advance(job, Move.SEND_BACK, by=by, at=at, what="sent it back unmended", text=reason)


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
