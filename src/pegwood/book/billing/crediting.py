"""What may still come off a bill, and the last cent of it."""

from __future__ import annotations

from dataclasses import replace

from pegwood.book.models import Bill
from pegwood.book.refusal import Refused
from pegwood.pricing.money import Money
from pegwood.pricing.share import share_out
from pegwood.pricing.tax import Sums, TaxOfRate


def last_cent(bill: Bill, off: Sums) -> Sums:
    """
    The sums of a credit note, held against what is left of its bill.

    What comes off in parts is rounded part by part. Where a part takes the last of what stands on the lines,
    it takes net sum and tax as they are left, so that bill and credit notes together are nothing at all.

    Parameters
    ----------
    bill : Bill
    off : Sums
        Below zero.

    Returns
    -------
    sums : Sums

    Raises
    ------
    Refused
        If more would come off than stands on the bill at a rate of tax.
    """
    gross = bill.prices == "gross"
    left = _left(bill)
    for one in off.of_rates:
        net, tax = left.get(one.rate.figure, (0, 0))
        here, gone = (net + tax, one.gross.minor) if gross else (net, one.net.minor)
        if gone < 0 and here + gone < min(here, 0):
            rate = f"{one.rate.figure} % tax" if one.rate.figure else "no tax"
            raise Refused(f"That is more than stands on bill {bill.number} at {rate}. Take off less.")
        left[one.rate.figure] = (net + one.net.minor, tax + one.tax.minor)
    rest = {figure: (net + tax if gross else net) for figure, (net, tax) in left.items()}
    if any(rest.values()):
        return off
    return _as_left(off, left)


def _left(bill: Bill) -> dict[str, tuple[int, int]]:
    """Net sum and tax that stand at each rate, after the credit notes so far."""
    left: dict[str, tuple[int, int]] = {}
    for paper in (bill, *bill.credits.all()):
        for tax in paper.taxes:
            net, so_far = left.get(tax["percent"], (0, 0))
            left[tax["percent"]] = (net + tax["net_minor"], so_far + tax["tax_minor"])
    return left


def _as_left(off: Sums, over: dict[str, tuple[int, int]]) -> Sums:
    """The same credit with what would be over of net and tax taken into it."""
    currency = off.net.currency
    rates = {one.rate: over[one.rate.figure] for one in off.of_rates}
    of_rates = tuple(
        TaxOfRate(
            one.rate,
            one.net - Money(rates[one.rate][0], currency),
            one.tax - Money(rates[one.rate][1], currency),
        )
        for one in off.of_rates
    )
    net = Money.total([one.net for one in of_rates], currency)
    shift = net - off.net
    nets = off.line_nets
    if shift:
        more = share_out(shift, [max(1, abs(line.minor)) for line in nets])
        nets = tuple(line + bit for line, bit in zip(nets, more, strict=True))
    tax = Money.total([one.tax for one in of_rates], currency)
    return replace(off, of_rates=of_rates, line_nets=nets, net=net, tax=tax)
