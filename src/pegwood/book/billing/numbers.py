"""
Numbers of bills: one after the other, none left out and none given twice.

A series is a row. Who takes a number holds that row until the bill is stored; if that fails, both go back.
On PostgreSQL the row's lock does it, on SQLite a transaction that writes is the only one anyway.
"""

from __future__ import annotations

from datetime import date

from pegwood.book.models import Bill, NumberSeries
from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop


def next_number(kind: str, on: date, shop: Workshop) -> tuple[NumberSeries, int, str]:
    """
    Take the next number of a kind of bill. Only inside the transaction that stores the bill.

    Parameters
    ----------
    kind : str
        Of `Bill.Kind`.
    on : date
        The bill's own day, which says the year.
    shop : Workshop

    Returns
    -------
    series, n, number : NumberSeries, int, str
        `number` is how it stands on the paper.

    Raises
    ------
    Refused
        If numbers of bills and credit notes would look the same.
    """
    if shop.bill_prefix == shop.credit_prefix:
        raise Refused("Bills and credit notes need different letters before their numbers. Set them first.")
    yearly = shop.numbers_run == "by year"
    key = f"{kind} {on.year}" if yearly else kind
    begun = NumberSeries(key=key, last=shop.first_number - 1, first=shop.first_number)
    # Two that begin a series at once: the second finds it begun.
    NumberSeries.objects.bulk_create([begun], ignore_conflicts=True)
    series = NumberSeries.objects.select_for_update().get(key=key)
    series.last += 1
    series.save(update_fields=["last"])
    prefix = shop.credit_prefix if kind == Bill.Kind.CREDIT else shop.bill_prefix
    number = f"{prefix}{on.year}-{series.last:04d}" if yearly else f"{prefix}{series.last:05d}"
    return series, series.last, number


def gaps() -> list[str]:
    """Numbers that are missing, or given beyond what a series says, in words; none in a sound book."""
    wrong = []
    for series in NumberSeries.objects.all():
        given = sorted(series.bills.values_list("n", flat=True))
        due = list(range(series.first, series.last + 1))
        if given != due:
            lost = sorted(set(due) ^ set(given))
            wrong.append(f"series '{series.key}': number {lost[0] if lost else given[0]} does not add up")
    return wrong
