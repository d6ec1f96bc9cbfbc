"""Bills as a table for the bookkeeper: CSV (RFC 4180), one row for each rate of tax of a bill."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import date

from pegwood.book.models import Bill
from pegwood.pricing.money import Money

COLUMNS = (
    "number", "kind", "issued_on", "due_on", "job", "owner", "corrects", "currency", "tax_percent",
    "net", "tax", "gross", "total", "agreed_up_to",
)  # fmt: skip
#: A spreadsheet takes a cell that begins so for a formula; a leading apostrophe keeps it a text.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def bills_csv(first: date | None = None, last: date | None = None) -> str:
    """
    Bills and credit notes of some days, the earliest first.

    Sums are plain decimals with a point, not grouped; those of a credit note are below zero. A text that a
    spreadsheet would take for a formula begins with an apostrophe.

    Parameters
    ----------
    first, last : date, optional
        Both days count.
    """
    bills = Bill.objects.select_related("job", "corrects").order_by("issued_on", "pk")
    if first is not None:
        bills = bills.filter(issued_on__gte=first)
    if last is not None:
        bills = bills.filter(issued_on__lte=last)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for bill in bills.iterator():
        writer.writerows(_rows(bill))
    return out.getvalue()


def _rows(bill: Bill) -> Iterable[list[str]]:
    for tax in bill.taxes:
        net, due = Money(tax["net_minor"], bill.currency), Money(tax["tax_minor"], bill.currency)
        yield [
            _text(bill.number),
            bill.kind,
            bill.issued_on.isoformat(),
            bill.due_on.isoformat(),
            str(bill.job.number),
            _text(bill.buyer["name"]),
            _text(bill.corrects.number) if bill.corrects else "",
            bill.currency,
            tax["percent"],
            _figure(net),
            _figure(due),
            _figure(net + due),
            _figure(bill.total),
            "" if bill.agreed_up_to_minor is None else _figure(Money(bill.agreed_up_to_minor, bill.currency)),
        ]


def _figure(amount: Money) -> str:
    return f"{amount.decimal:f}"


def _text(text: str) -> str:
    line = " ".join(text.split())
    return f"'{line}" if line.startswith(_FORMULA) else line
