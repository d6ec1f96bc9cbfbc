"""What the lines of a price or a bill come to, with the tax the workshop has chosen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pegwood.book.models import Job, PriceLine
from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop, workshop
from pegwood.pricing.money import Money, MoneyError
from pegwood.pricing.tax import NO_TAX, Prices, Rounding, Sums, TaxRate, add_up


@dataclass(frozen=True)
class Chosen:
    """What is chosen of tax: what stands on a line, and where tax is rounded."""

    prices: Prices
    rounding: Rounding


def chosen_of(shop: Workshop) -> Chosen:
    """As the workshop has it now."""
    prices: Prices = "net" if shop.prices_are == "net" else "gross"
    rounding: Rounding = "line" if shop.tax_rounding == "line" else "bill"
    return Chosen(prices, rounding)


def rate_for(kind: str, shop: Workshop) -> TaxRate:
    """The workshop's rate of tax on a kind of line."""
    return TaxRate.parse({"labour": shop.tax_labour, "part": shop.tax_part}.get(kind, shop.tax_other))


def rate_of(percent: Decimal | None) -> TaxRate:
    """The rate of a stored percent; none is no tax."""
    return NO_TAX if percent is None else TaxRate(percent.normalize() + 0)


def sums_of(rows: Iterable[PriceLine], currency: str, chosen: Chosen) -> Sums:
    """
    What lines come to.

    Raises
    ------
    Refused
        When they come to more than can be written down.
    """
    lines = [(Money(row.amount_minor, currency), rate_of(row.tax_percent)) for row in rows]
    try:
        return add_up(lines, currency, prices=chosen.prices, rounding=chosen.rounding)
    except MoneyError as error:
        raise Refused(str(error)) from None


def sums_of_sheet(job: Job, sheet: str) -> Sums | None:
    """What a sheet of a job comes to by the workshop's choices of now; None where it has no line."""
    rows = [line for line in job.lines.all() if line.sheet == sheet]
    return sums_of(rows, job.currency, chosen_of(workshop())) if rows else None


def as_columns(sums: Sums, chosen: Chosen) -> dict[str, Any]:
    """The sums as `TaxedSums` keeps them."""
    return {
        "prices": chosen.prices,
        "rounding": chosen.rounding,
        "net_minor": sums.net.minor,
        "tax_minor": sums.tax.minor,
        "total_minor": sums.gross.minor,
        "taxes": [
            {"percent": one.rate.figure, "net_minor": one.net.minor, "tax_minor": one.tax.minor}
            for one in sums.of_rates
        ],
    }
