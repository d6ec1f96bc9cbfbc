"""From the job book to the content of a price, a bill or a credit note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from pegwood.book.billing.offers import latest
from pegwood.book.billing.sums import as_columns, chosen_of, sums_of
from pegwood.book.models import Bill as BookBill
from pegwood.book.models import BillLine, Job, PriceLine
from pegwood.papers.content import Agreed, Bill, Head, Line, Owner, Price, Tax
from pegwood.papers.desk import Desk, RefusedPaper, camera_of, head_of, lines_of, owner_of
from pegwood.pricing.money import Money

TAX = "Tax"  # where the workshop has no name for it


def price(job: Job, desk: Desk) -> Price:
    """
    The price as the owner was told it last.

    Raises
    ------
    RefusedPaper
        When none was told.
    """
    rows = list(job.lines.filter(sheet=PriceLine.Sheet.PRICE))
    if job.price is None or not rows:
        raise RefusedPaper("No price has been told yet. Write its lines first, then print it.")
    told = job.price_told_at or desk.at
    stands_until = date.fromisoformat(desk.day(told) or "") + timedelta(days=desk.shop.price_valid_days)
    offer = latest(job)
    chosen = chosen_of(desk.shop)
    if offer is None:
        columns = as_columns(sums_of(rows, job.currency, chosen), chosen)
    else:
        columns = {"taxes": offer.taxes, "prices": offer.prices}
    return Price(
        head=head_of(job, desk),
        owner=owner_of(job),
        camera=camera_of(job, desk),
        lines=_lines(rows, job.currency),
        taxes=_taxes(columns["taxes"], columns["prices"], desk.shop.tax_name, job.currency),
        total=job.price,
        up_to=job.agreed_up_to,
        valid_until=(offer.valid_until if offer else stands_until).isoformat(),
        deposit=offer.deposit if offer and offer.deposit else None,
        if_no=offer.if_no if offer else "",  # type: ignore[arg-type]
        no_costs=offer.no_costs if offer and offer.no_costs else None,
        terms=lines_of(desk.shop.terms),
    )


def bill(job: Job, desk: Desk, *, of: str = "") -> Bill:
    """
    A bill or credit note as it was issued, with what was paid since; before that the draft of it.

    Raises
    ------
    RefusedPaper
        When nothing is written, or no bill of that number belongs to the job.
    """
    issued = job.bills.filter(number=of).first() if of else job.bills.last()
    if of and issued is None:
        raise RefusedPaper(f"Job {job.number} has no bill {of}.")
    rows = list(job.lines.filter(sheet=PriceLine.Sheet.BILL))
    standing = issued is not None and (of or not rows or issued.kind == BookBill.Kind.BILL)
    if issued is not None and standing:
        return _note(job, issued, desk) if issued.kind == BookBill.Kind.CREDIT else _issued(job, issued, desk)
    if not rows:
        raise RefusedPaper(
            "No bill has been written yet. Write its lines first, even if it comes to nothing."
        )
    chosen = chosen_of(desk.shop)
    sums = sums_of(rows, job.currency, chosen)
    taxes = as_columns(sums, chosen)["taxes"]
    agreed = job.agreed_up_to
    return Bill(
        head=head_of(job, desk),
        owner=owner_of(job),
        camera=camera_of(job, desk),
        lines=_lines(rows, job.currency),
        taxes=_taxes(taxes, chosen.prices, desk.shop.tax_name, job.currency),
        total=sums.gross,
        agreed=None
        if agreed is None
        else Agreed(up_to=agreed, on=desk.day(job.agreed_at), how=job.agreed_how),
        draft=job.gone_home_at is None,
        no_tax="" if sums.tax else desk.shop.no_tax_reason,
        terms=lines_of(desk.shop.terms),
        **_paid(job, desk),
    )


def _issued(job: Job, issued: BookBill, desk: Desk) -> Bill:
    agreed = issued.agreed_up_to_minor
    credited = Money.total([-note.total for note in issued.credits.all()], issued.currency)
    on = issued.agreed_on
    return Bill(
        **_of_bill(job, issued, desk, sign=1),
        agreed=None
        if agreed is None
        else Agreed(
            up_to=Money(agreed, issued.currency), on=on.isoformat() if on else None, how=issued.agreed_how
        ),
        due_on=issued.due_on.isoformat(),
        credited=credited if credited else None,
        done=tuple(issued.done),
        **_paid(job, desk),
    )


def _note(job: Job, note: BookBill, desk: Desk) -> Bill:
    corrected = note.corrects
    assert corrected is not None
    return Bill(**_of_bill(job, note, desk, sign=-1), corrects=corrected.number, reason=note.reason)


def _of_bill(job: Job, issued: BookBill, desk: Desk, *, sign: int) -> dict[str, Any]:
    """What bill and credit note have in common; a credit note's sums are told above zero."""
    return {
        "head": _head(job, issued, desk),
        "owner": _buyer(issued),
        "camera": camera_of(job, desk),
        "lines": _lines(list(issued.lines.all()), issued.currency, sign),
        "taxes": _taxes(issued.taxes, issued.prices, issued.tax_name, issued.currency, sign),
        "total": issued.total * sign,
        "no_tax": "" if issued.tax_minor else issued.no_tax_reason,
        "terms": lines_of(issued.terms),
    }


def _head(job: Job, issued: BookBill, desk: Desk) -> Head:
    """The top of the paper: the workshop as it stood when the bill was issued, the bill's number and day."""
    head, seller = head_of(job, desk), issued.seller
    workshop = replace(
        head.workshop,
        name=seller["name"] or head.workshop.name,
        address=lines_of(seller["address"]),
        registration=lines_of(seller["registration"]),
        pay_to=lines_of(seller["pay_to"]),
        contact=tuple(text for text in (seller["phone"], seller["email"]) if text),
    )
    made_at = issued.issued_at.astimezone(desk.shop.zone).replace(microsecond=0).isoformat()
    return replace(head, workshop=workshop, made_at=made_at, number=issued.number, made_by=issued.by)


def _buyer(issued: BookBill) -> Owner:
    buyer = issued.buyer
    contact = tuple(text for text in (buyer["phone"], buyer["email"]) if text)
    return Owner(name=buyer["name"], address=lines_of(buyer["address"]), contact=contact)


def _paid(job: Job, desk: Desk) -> dict[str, Any]:
    return {
        "paid": job.paid,
        "paid_how": job.paid_how,
        "paid_on": desk.day(job.paid_at) if job.paid else None,
    }


def _lines(rows: Sequence[PriceLine] | Sequence[BillLine], currency: str, sign: int = 1) -> tuple[Line, ...]:
    return tuple(
        Line(
            kind=row.kind,  # type: ignore[arg-type]
            what=row.what,
            quantity=str(row.minutes) if row.minutes else "",
            unit="min" if row.minutes else "",
            amount=Money(sign * row.amount_minor, currency),
        )
        for row in rows
    )


def _taxes(
    taxes: list[dict[str, Any]], prices: str, name: str, currency: str, sign: int = 1
) -> tuple[Tax, ...]:
    return tuple(
        Tax(
            name=name or TAX,
            rate_percent=tax["percent"],
            base=Money(sign * tax["net_minor"], currency),
            amount=Money(sign * tax["tax_minor"], currency),
            included=prices == "gross",
        )
        for tax in taxes
        if tax["percent"]
    )
