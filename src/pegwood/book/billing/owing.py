"""What is asked for and what is still open: of one job, and of all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from pegwood.book.models import Bill, Job, PriceLine
from pegwood.book.states import Standing
from pegwood.book.workshop import Workshop
from pegwood.pricing.agreed import storage_due
from pegwood.pricing.money import Money


def live_bill(job: Job) -> Bill | None:
    """The bill that stands: the latest that no credit note has taken back whole. None where there is none."""
    for bill in job.bills.filter(kind=Bill.Kind.BILL).order_by("-issued_at", "-pk"):
        return None if taken_back(bill) else bill
    return None


def taken_back(bill: Bill) -> bool:
    """Whether credit notes have taken a bill back whole. One that came to nothing is taken back by any."""
    credits = list(bill.credits.all())
    return bool(credits) and left_of(bill).minor == 0


def left_of(bill: Bill) -> Money:
    """What is left of a bill after its credit notes."""
    return Money.total([bill.total, *(credit.total for credit in bill.credits.all())], bill.currency)


def asked_for(job: Job) -> Money | None:
    """
    What is asked for on a job: its bills less its credit notes; None where none is issued.

    Of a camera that went home before bills were numbered, it is what was written as its bill.
    """
    minors = list(job.bills.values_list("total_minor", flat=True))
    if minors:
        return Money(sum(minors), job.currency)
    if job.stands is not Standing.GONE_HOME:
        return None
    lines = list(job.lines.filter(sheet=PriceLine.Sheet.BILL).values_list("amount_minor", flat=True))
    return Money(sum(lines), job.currency) if lines else None


def balance(job: Job) -> Money | None:
    """
    What the owner still owes, below zero what is owed back; None where nothing was asked for or paid.

    A deposit is no debt of anybody's while the work goes on.
    """
    asked = asked_for(job)
    if asked is None and (job.paid is None or not job.is_over):
        return None
    nothing = Money.zero(job.currency)
    return (asked or nothing) - (job.paid or nothing)


def billed() -> Coalesce:
    """What is asked for on a job, in minor units of its currency, as a column; null where nothing is."""
    mine = OuterRef("pk")
    bills = Bill.objects.filter(job=mine).order_by()
    lines = PriceLine.objects.filter(job=mine, sheet=PriceLine.Sheet.BILL).order_by()
    return Coalesce(
        Subquery(bills.values("job").annotate(sum=Sum("total_minor")).values("sum")),
        Subquery(lines.values("job").annotate(sum=Sum("amount_minor")).values("sum")),
    )


def not_paid() -> QuerySet[Job]:
    """Jobs on which something is still to be paid: a bill is issued, or the camera has gone home."""
    issued = Job.objects.filter(standing=Standing.GONE_HOME) | Job.objects.filter(
        pk__in=Bill.objects.values("job")
    )
    return issued.alias(asked=billed()).filter(asked__gt=Coalesce("paid_minor", 0))


def to_give_back() -> QuerySet[Job]:
    """Jobs on which the owner paid more than is asked for, and the camera is gone or a bill was issued."""
    paid = Job.objects.filter(paid_minor__gt=0).alias(asked=billed())
    over = paid.filter(paid_minor__gt=Coalesce("asked", 0))
    done = over.filter(standing__in=[Standing.GONE_HOME, Standing.SENT_BACK, Standing.KEPT])
    return (done | over.filter(pk__in=Bill.objects.values("job"))).distinct()


@dataclass(frozen=True)
class Unfetched:
    """A finished camera that nobody fetched: how many days, and what keeping it comes to by own terms."""

    job: Job
    days: int
    due: Money


def unfetched(shop: Workshop, now: datetime) -> list[Unfetched]:
    """
    Finished cameras beyond the days they are kept for nothing, the longest first; none without such terms.

    The terms are the workshop's own, and what a workshop may ask for or do with a camera is the law's to say.
    """
    if not shop.unfetched_days:
        return []
    today = now.astimezone(shop.zone).date()
    found = []
    for job in Job.objects.filter(standing=Standing.READY).select_related("owner", "camera"):
        ready: date = job.stands_since.astimezone(shop.zone).date()
        days = (today - ready).days
        if days > shop.unfetched_days:
            per_week = Money(shop.unfetched_per_week if shop.currency == job.currency else 0, job.currency)
            due = storage_due(ready, today, shop.unfetched_days, per_week)
            found.append(Unfetched(job, days, due))
    return sorted(found, key=lambda one: -one.days)


def overdue(today: date) -> QuerySet[Bill]:
    """Bills past the day they were due on whose job is not paid."""
    return Bill.objects.filter(kind=Bill.Kind.BILL, due_on__lt=today, job__in=not_paid()).order_by(
        F("due_on")
    )
