"""
What was paid: deposits, payments, money given back. A slip is undone by its counter-entry.

`Job.paid_minor` is their sum, kept beside them so that lists need not add up; it is written nowhere else.
"""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import F, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.billing.offers import latest
from pegwood.book.billing.owing import asked_for, live_bill
from pegwood.book.models import Job, Payment
from pegwood.book.refusal import Refused
from pegwood.book.states import OVER, Standing
from pegwood.pricing.money import Money

LONGEST_HOW = 60


@transaction.atomic
def take_deposit(
    job: Job, paid: Money, how: str, *, by: str, ticket: UUID | None = None, at: datetime | None = None
) -> Job:
    """
    Write down a deposit, paid before there is a bill.

    Raises
    ------
    Refused
        If no price was told, the job is over or billed, it is more than the price, or nothing says how.
    """
    job = _locked(job)
    if job.stands in OVER or live_bill(job) is not None:
        raise Refused("A deposit is paid before the bill. Write this down as a payment.")
    if job.stands is Standing.READY:
        raise Refused("It is ready. Issue the bill first, or write it down when the camera is handed back.")
    if job.price is None:
        raise Refused("No price was told yet, so there is nothing to pay a deposit on.")
    check_payment(job, paid, how)
    if _again(ticket):
        return job
    if paid + (job.paid or Money.zero(job.currency)) > max(job.price, job.agreed_up_to or job.price):
        raise Refused("That is more than the price. Write down what was paid, or tell the new price first.")
    return book(
        job,
        Payment.Kind.DEPOSIT,
        paid,
        how,
        what="took a deposit",
        by=by,
        at=at or timezone.now(),
        ticket=ticket,
    )


@transaction.atomic
def record_payment(
    job: Job, paid: Money, how: str, *, by: str, ticket: UUID | None = None, at: datetime | None = None
) -> Job:
    """
    Write down what was paid on a bill that is issued. Payments add up.

    Raises
    ------
    Refused
        If no bill is issued, nothing says how it was paid, or the sum cannot be.
    """
    job = _locked(job)
    if job.stands is not Standing.GONE_HOME and live_bill(job) is None:
        raise Refused(
            "A payment is written down on a bill that is issued, or when the camera is handed back. "
            "Before that it is a deposit."
        )
    check_payment(job, paid, how)
    if _again(ticket):
        return job
    return book(
        job,
        Payment.Kind.PAYMENT,
        paid,
        how,
        what="recorded a payment",
        by=by,
        at=at or timezone.now(),
        ticket=ticket,
    )


@transaction.atomic
def pay_back(
    job: Job,
    amount: Money,
    how: str,
    why: str,
    *,
    by: str,
    ticket: UUID | None = None,
    at: datetime | None = None,
) -> Job:
    """
    Write down money that was given back to the owner.

    Raises
    ------
    Refused
        If nothing says why or how, or it is more than the owner has paid beyond what is asked for.
    """
    job = _locked(job)
    if not why.strip():
        raise Refused("Why does money go back? Write it, such as 'credit note C-2031-0001'.")
    check_payment(job, amount, how)
    if _again(ticket):
        return job
    over = (job.paid or Money.zero(job.currency)) - (asked_for(job) or Money.zero(job.currency))
    if amount > over:
        raise Refused("That is more than the owner is owed. Issue a credit note first, or write less.")
    back, what, at = Payment.Kind.BACK, "paid money back", at or timezone.now()
    return book(job, back, -amount, how, what=what, why=why, by=by, at=at, ticket=ticket)


@transaction.atomic
def undo_payment(payment: Payment, why: str, *, by: str, at: datetime | None = None) -> Job:
    """
    Take an entry back that was a slip, by its counter-entry.

    Raises
    ------
    Refused
        If nothing says why, or it was taken back already.
    """
    job = _locked(payment.job)
    if not why.strip():
        raise Refused("What was the slip? Write it: the book keeps both.")
    if payment.kind == Payment.Kind.UNDONE or Payment.objects.filter(undoes=payment).exists():
        raise Refused("It was taken back already.")
    return _undo(job, payment, why, by=by, at=at or timezone.now())


def undo_since(
    job: Job, moment: datetime | None, why: str, *, by: str, at: datetime
) -> list[dict[str, object]]:
    """Take back what was booked on a job, already locked, since a moment; what it was, for the diary."""
    undone: list[dict[str, object]] = []
    if moment is None:
        return undone
    fresh = job.payments.filter(at__gte=moment, undone_by=None).exclude(kind=Payment.Kind.UNDONE)
    for payment in fresh:
        _undo(job, payment, why, by=by, at=at)
        undone.append({"paid_minor": payment.amount_minor, "how": payment.how})
    return undone


def check_payment(job: Job, paid: Money, how: str) -> None:
    """
    Refuse what cannot be paid.

    Raises
    ------
    Refused
        If it is nothing or below, in another money, or nothing says how.
    """
    if not how.strip():
        raise Refused("How was it paid? Write it, such as 'cash' or 'by transfer'.")
    check_amount(job, paid)
    if not paid:
        raise Refused("Nothing was paid, so there is nothing to write down.")


def check_amount(job: Job, paid: Money) -> None:
    """
    Refuse an amount below nothing or in another money.

    Raises
    ------
    Refused
        If it is one.
    """
    if paid.currency != job.currency:
        raise Refused(f"The bill is in {job.currency}, the payment in {paid.currency}.")
    if paid.minor < 0:
        raise Refused("A payment below nothing cannot be. Write what was paid, or leave it open.")


def book(
    job: Job,
    kind: str,
    amount: Money,
    how: str,
    *,
    what: str,
    by: str,
    at: datetime,
    why: str = "",
    undoes: Payment | None = None,
    ticket: UUID | None = None,
) -> Job:
    """Book an entry on a job that is locked, and keep the sum beside it."""
    old = {"paid_minor": job.paid_minor}
    Payment.objects.create(
        job=job,
        kind=kind,
        amount_minor=amount.minor,
        currency=amount.currency,
        how=how.strip()[:LONGEST_HOW],
        why=why.strip()[:240],
        undoes=undoes,
        ticket=ticket,
        at=at,
        by=by,
    )
    _keep_sum(job)
    job.save(update_fields=["paid_minor", "paid_how", "paid_at"])
    diary.write(
        job,
        by=by,
        at=at,
        what=what,
        text=why.strip() or how.strip(),
        old=old,
        new={"paid_minor": job.paid_minor, "currency": job.currency},
    )
    return job


def _keep_sum(job: Job) -> None:
    standing = list(job.payments.filter(undone_by=None).exclude(kind=Payment.Kind.UNDONE))
    job.paid_minor = sum(entry.amount_minor for entry in standing) if standing else None
    job.paid_how = "; ".join(dict.fromkeys(entry.how for entry in standing if entry.how))[:LONGEST_HOW]
    job.paid_at = standing[-1].at if standing else None


def _undo(job: Job, payment: Payment, why: str, *, by: str, at: datetime) -> Job:
    undone, what = Payment.Kind.UNDONE, "took a payment back"
    return book(job, undone, -payment.amount, payment.how, what=what, why=why, by=by, at=at, undoes=payment)


def _again(ticket: UUID | None) -> bool:
    """Whether that form was booked already: it was sent twice."""
    return ticket is not None and Payment.objects.filter(ticket=ticket).exists()


def _locked(job: Job) -> Job:
    return Job.objects.select_for_update().get(pk=job.pk)


def deposit_open(job: Job) -> Money | None:
    """What of the deposit that was asked is not paid yet; None where nothing is."""
    offer = latest(job)
    if offer is None or job.stands in OVER or live_bill(job) is not None:
        return None
    left = offer.deposit - (job.paid or Money.zero(job.currency))
    return left if left.minor > 0 else None


def not_adding_up() -> list[int]:
    """Numbers of jobs whose paid sum is not that of their payments; none in a sound book."""
    entries = Payment.objects.filter(job=OuterRef("pk")).order_by()
    sums = entries.values("job").annotate(sum=Sum("amount_minor")).values("sum")
    found = Job.objects.annotate(booked=Coalesce(Subquery(sums), 0), kept=Coalesce("paid_minor", 0))
    return list(found.exclude(booked=F("kept")).order_by("number").values_list("number", flat=True))
