"""A camera leaves: handed back, sent back unmended, or kept for its parts."""

from __future__ import annotations

import calendar
from datetime import date, datetime

from django.db import transaction
from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.agreeing import total_of
from pegwood.book.models import Job, PriceLine
from pegwood.book.moving import advance, locked
from pegwood.book.refusal import Refused
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
    if job.stands is Standing.READY:
        _check_bill(job)
    months = job.guarantee_months if guarantee_months is None else guarantee_months
    if not 0 <= months <= 120:
        raise Refused(f"A guarantee of {months} months cannot be. Expected 0 to 120.")
    if paid is not None:
        _check_payment(job, paid)
    job.gone_home_at = at
    job.guarantee_months = months
    job.guarantee_until = months_later(at.astimezone(workshop().zone).date(), months) if months else None
    job.paid_minor, job.paid_how, job.paid_at = None, "", None
    if paid is not None:
        job.paid_minor, job.paid_how, job.paid_at = paid.minor, paid_how.strip(), at
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


def still_to_pay(job: Job) -> Money | None:
    """What is open of the bill of a camera that has gone home; None where nothing is."""
    if job.stands is not Standing.GONE_HOME:
        return None
    bill = total_of(job, PriceLine.Sheet.BILL)
    left = bill and bill - (job.paid or Money.zero(job.currency))
    return left if left and left.minor > 0 else None


def billed() -> Subquery:
    """What a job's bill comes to, in minor units of its currency, as a column; null where there is none."""
    lines = PriceLine.objects.filter(job=OuterRef("pk"), sheet=PriceLine.Sheet.BILL).order_by()
    return Subquery(lines.values("job").annotate(sum=Sum("amount_minor")).values("sum"))


def not_paid() -> QuerySet[Job]:
    """Cameras that have gone home and whose bill is not paid in full."""
    gone = Job.objects.filter(standing=Standing.GONE_HOME).alias(asked=billed())
    return gone.filter(asked__gt=Coalesce("paid_minor", 0))


@transaction.atomic
def record_payment(job: Job, paid: Money, how: str, *, by: str, at: datetime | None = None) -> Job:
    """
    Write down what was paid after the camera had gone home. Payments add up.

    Raises
    ------
    Refused
        If the camera has not gone home, nothing says how it was paid, or the sum cannot be.
    """
    job = locked(job)
    if job.stands is not Standing.GONE_HOME:
        raise Refused("A payment is written down when the camera is handed back, or afterwards.")
    if not how.strip():
        raise Refused("How was it paid? Write it, such as 'cash' or 'by transfer'.")
    _check_payment(job, paid)
    if not paid:
        raise Refused("Nothing was paid, so there is nothing to write down.")
    old = {"paid_minor": job.paid_minor, "paid_how": job.paid_how}
    job.paid_minor = (job.paid_minor or 0) + paid.minor
    job.paid_how = "; ".join(filter(None, [job.paid_how, how.strip()]))[:60]
    job.paid_at = at = at or timezone.now()
    job.save()
    diary.write(
        job,
        by=by,
        at=at,
        what="recorded a payment",
        text=how.strip(),
        old=old,
        new={"paid_minor": job.paid_minor, "currency": job.currency},
    )
    return job


@transaction.atomic
def take_back(job: Job, reason: str, *, by: str, at: datetime | None = None) -> Job:
    """
    Undo the end of a job that was a slip of the thumb: it stands again where it stood before.

    Raises
    ------
    Refused
        If no reason is given, the job is not over, or the camera is here again under another job.
    """
    if not reason.strip():
        raise Refused("What was the slip? Write it: the diary keeps both.")
    job = locked(job)
    if other := job.camera.jobs.exclude(standing__in=OVER).exclude(pk=job.pk).first():
        raise Refused(f"The camera is here again under job {other.number}. Go on with that one.")
    before = diary.values(job, ("gone_home_at", "guarantee_until", "paid_minor", "paid_how", "paid_at"))
    job.gone_home_at = job.guarantee_until = job.paid_minor = job.paid_at = None
    job.paid_how = ""
    return advance(
        job,
        Move.TAKE_BACK,
        by=by,
        at=at or timezone.now(),
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


def _check_bill(job: Job) -> None:
    bill = total_of(job, PriceLine.Sheet.BILL)
    if bill is None:
        raise Refused("There is no bill yet. Write it first, even if it comes to nothing.")
    if job.agreed_up_to is None or bill > job.agreed_up_to:
        raise Refused("The bill is above what the owner agreed to. Write it anew, or ask the owner again.")


def _check_payment(job: Job, paid: Money) -> None:
    if paid.currency != job.currency:
        raise Refused(f"The bill is in {job.currency}, the payment in {paid.currency}.")
    if paid.minor < 0:
        raise Refused("A payment below nothing cannot be. Write what was paid, or leave it open.")
