"""A bill is issued: it gets its number, and stands. What is wrong on it is put right by a credit note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.billing.crediting import last_cent
from pegwood.book.billing.numbers import next_number
from pegwood.book.billing.offers import limit_of
from pegwood.book.billing.owing import live_bill, taken_back
from pegwood.book.billing.sums import Chosen, as_columns, chosen_of, rate_for, rate_of, sums_of
from pegwood.book.models import Bill, BillLine, Job, PriceLine
from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop, workshop
from pegwood.pricing.money import Money
from pegwood.pricing.tax import Sums


@dataclass(frozen=True, kw_only=True)
class Off:
    """
    Something a credit note takes off a bill.

    Attributes
    ----------
    what : str
    amount : Money
        Above zero, with or without tax as the bill's own lines are.
    kind : str
        ``"labour"``, ``"part"`` or ``"other"``: which rate of tax it stands at.
    """

    what: str
    amount: Money
    kind: str = "labour"


@transaction.atomic
def issue_bill(job: Job, *, by: str, at: datetime | None = None) -> Bill:
    """
    Issue the bill that is written: it gets the next number, and is never changed again.

    Raises
    ------
    Refused
        If none is written, one stands already, or it is above what was agreed to.
    """
    at = at or timezone.now()
    job = Job.objects.select_for_update().get(pk=job.pk)
    if (stands := live_bill(job)) is not None:
        raise Refused(f"Bill {stands.number} is issued. Take it back by a credit note before another.")
    rows = list(job.lines.filter(sheet=PriceLine.Sheet.BILL))
    if not rows:
        raise Refused("There is no bill yet. Write it first, even if it comes to nothing.")
    shop = workshop()
    chosen = chosen_of(shop)
    sums = sums_of(rows, job.currency, chosen)
    limit = limit_of(job)
    if limit is None or sums.gross > limit:
        raise Refused("The bill is above what the owner agreed to. Write it anew, or ask the owner again.")
    today = at.astimezone(shop.zone).date()
    series, n, number = next_number(Bill.Kind.BILL, today, shop)
    bill = Bill.objects.create(
        kind=Bill.Kind.BILL,
        series=series,
        n=n,
        number=number,
        job=job,
        issued_at=at,
        issued_on=today,
        due_on=today + timedelta(days=shop.payment_days),
        by=by,
        seller=_seller(shop),
        buyer=_buyer(job),
        tax_name=shop.tax_name,
        no_tax_reason=shop.no_tax_reason,
        currency=job.currency,
        agreed_up_to_minor=limit.minor,
        agreed_on=job.agreed_at and job.agreed_at.astimezone(shop.zone).date(),
        agreed_how=job.agreed_how,
        done=[f"{piece.part}: {piece.done}" if piece.part else piece.done for piece in job.work.all()],
        terms=shop.terms,
        **as_columns(sums, chosen),
    )
    _write_lines(bill, rows, sums)
    _tell_diary(bill, "issued the bill", by=by, at=at)
    return bill


@transaction.atomic
def credit(bill: Bill, reason: str, *, off: Sequence[Off] = (), by: str, at: datetime | None = None) -> Bill:
    """
    Issue a credit note on a bill: on the whole of it, or on what is taken `off`.

    Raises
    ------
    Refused
        If no reason is given, it is taken back already, or more would come off than stands on it.
    """
    at = at or timezone.now()
    job = Job.objects.select_for_update().get(pk=bill.job_id)
    bill = Bill.objects.get(pk=bill.pk)
    if bill.kind != Bill.Kind.BILL:
        raise Refused(f"{bill.number} is a credit note itself. Issue a new bill instead.")
    if not reason.strip():
        raise Refused("What is wrong with the bill? Write it: it stands on the credit note.")
    if taken_back(bill):
        raise Refused(f"Bill {bill.number} is taken back already.")
    rows = _lines_off(bill, off) if off else _whole(bill)
    chosen = Chosen(prices=bill.prices, rounding=bill.rounding)  # type: ignore[arg-type]
    sums = sums_of(rows, bill.currency, chosen)
    sums = last_cent(bill, sums)
    shop = workshop()
    today = at.astimezone(shop.zone).date()
    series, n, number = next_number(Bill.Kind.CREDIT, today, shop)
    note = Bill.objects.create(
        kind=Bill.Kind.CREDIT,
        series=series,
        n=n,
        number=number,
        job=job,
        corrects=bill,
        reason=reason.strip()[:400],
        issued_at=at,
        issued_on=today,
        due_on=today,
        by=by,
        seller=bill.seller,
        buyer=bill.buyer,
        tax_name=bill.tax_name,
        no_tax_reason=bill.no_tax_reason,
        currency=bill.currency,
        terms=bill.terms,
        **as_columns(sums, chosen),
    )
    _write_lines(note, rows, sums)
    if taken_back(bill):
        # what was written stands on the bill; the next one is written anew
        job.lines.filter(sheet=PriceLine.Sheet.BILL).delete()
    _tell_diary(note, "issued a credit note", by=by, at=at, text=reason.strip())
    return note


def check_open(job: Job) -> None:
    """
    Refuse to write anew what is issued.

    Raises
    ------
    Refused
        If a bill stands.
    """
    if (stands := live_bill(job)) is not None:
        raise Refused(f"Bill {stands.number} is issued and stays as it is. Issue a credit note on it first.")


def _whole(bill: Bill) -> list[PriceLine]:
    if bill.credits.exists():
        raise Refused("Part of it is taken off already. Say line by line what else comes off.")
    return [
        PriceLine(
            what=line.what,
            kind=line.kind,
            minutes=line.minutes,
            amount_minor=-line.amount_minor,
            tax_percent=line.tax_percent,
        )
        for line in bill.lines.all()
    ]


def _lines_off(bill: Bill, off: Sequence[Off]) -> list[PriceLine]:
    rows = []
    for one in off:
        if not one.what.strip():
            raise Refused("A line does not say what it is for.")
        if one.kind not in PriceLine.Kind.values:
            raise Refused(f"'{one.what}' is {one.kind!r}. Expected labour, part or other.")
        if one.amount.currency != bill.currency:
            raise Refused(f"'{one.what}' is in {one.amount.currency}; the bill is in {bill.currency}.")
        if one.amount.minor <= 0:
            raise Refused(f"'{one.what}': write what comes off above zero.")
        percent = _percent_on(bill, one.kind)
        rows.append(
            PriceLine(
                what=one.what.strip()[:160],
                kind=one.kind,
                amount_minor=-one.amount.minor,
                tax_percent=percent,
            )
        )
    return rows


def _percent_on(bill: Bill, kind: str) -> Decimal | None:
    """The rate a kind of line stands at on a bill; the workshop's where the bill has no such line."""
    line = bill.lines.filter(kind=kind).first()
    return line.tax_percent if line is not None else rate_for(kind, workshop()).percent


def _write_lines(bill: Bill, rows: Sequence[PriceLine], sums: Sums) -> None:
    BillLine.objects.bulk_create(
        BillLine(
            bill=bill,
            position=place,
            what=row.what,
            kind=row.kind,
            minutes=row.minutes,
            amount_minor=row.amount_minor,
            net_minor=net.minor,
            tax_percent=rate_of(row.tax_percent).percent,
        )
        for place, (row, net) in enumerate(zip(rows, sums.line_nets, strict=True), 1)
    )


def _tell_diary(bill: Bill, what: str, *, by: str, at: datetime, text: str = "") -> None:
    diary.write(
        bill.job,
        by=by,
        at=at,
        what=what,
        text=text or bill.number,
        new={"number": bill.number, "total_minor": bill.total_minor, "currency": bill.currency},
    )


def _seller(shop: Workshop) -> dict[str, Any]:
    return {
        "name": shop.name,
        "address": shop.address,
        "phone": shop.phone,
        "email": shop.email,
        "registration": shop.registration,
        "pay_to": shop.pay_to,
        "tax_number": shop.tax_number,
        "register_number": shop.register_number,
        "country": shop.country,
    }


def _buyer(job: Job) -> dict[str, Any]:
    owner = job.owner
    return {"name": owner.name, "address": owner.address, "phone": owner.phone, "email": owner.email}
