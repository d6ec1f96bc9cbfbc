"""
Tax on the lines of a price or a bill: by rate, exact, with the rounding said.

Two choices are the workshop's own, since countries and bookkeepers differ; local law comes first:

- what stands on a line is `net` (tax is put on top) or `gross` (tax is in it already);
- tax is rounded once for each rate of the whole `bill`, or on every `line` and then added up.

Halves go away from zero. Whatever is chosen, net and tax together are the gross sum, to the minor unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from pegwood.pricing.money import Money, MoneyError
from pegwood.pricing.share import share_out

__all__ = ["NO_TAX", "PRICES", "ROUNDINGS", "Sums", "TaxOfRate", "TaxRate", "add_up"]

Prices = Literal["gross", "net"]
Rounding = Literal["bill", "line"]
PRICES: tuple[Prices, ...] = ("gross", "net")
ROUNDINGS: tuple[Rounding, ...] = ("bill", "line")
_MOST = Decimal(100)
_DECIMALS = 4


@dataclass(frozen=True, slots=True)
class TaxRate:
    """
    A rate of tax.

    Parameters
    ----------
    percent : Decimal or None
        0 to 100 with at most four decimals; None where no tax is charged at all.

    Raises
    ------
    MoneyError
        When it cannot be.
    """

    percent: Decimal | None

    def __post_init__(self) -> None:
        if self.percent is None:
            return
        if not isinstance(self.percent, Decimal) or not self.percent.is_finite():
            raise MoneyError(f"Invalid rate of tax: {self.percent!r}. Expected a Decimal such as 21.")
        if not 0 <= self.percent <= _MOST or self.percent != round(self.percent, _DECIMALS):
            raise MoneyError(f"Invalid rate of tax: {self.percent}. Expected 0 to 100, up to 4 decimals.")

    @classmethod
    def parse(cls, text: str) -> TaxRate:
        """
        The rate from a plain decimal number; an empty text is no tax at all.

        Raises
        ------
        MoneyError
            When it is none.
        """
        figure = text.strip()
        if not figure:
            return NO_TAX
        if not (figure.isascii() and figure.replace(".", "", 1).isdigit() and len(figure) <= 12):
            raise MoneyError(f"Not a rate of tax: {figure[:20]!r}. Expected one such as 21 or 5.5.")
        return cls(Decimal(figure).normalize() + 0)

    @property
    def share(self) -> Fraction:
        """The rate as a part of one: 21/100 for 21 %."""
        return Fraction(self.percent or 0) / 100

    @property
    def figure(self) -> str:
        """The rate as a plain number such as `5.5`; empty where no tax is charged."""
        return "" if self.percent is None else f"{self.percent.normalize():f}"

    def of(self, amount: Money, prices: Prices) -> Money:
        """The tax on an amount, or in it where prices are gross; halves away from zero."""
        share = self.share if prices == "net" else self.share / (1 + self.share)
        return amount.times(share)


NO_TAX = TaxRate(None)


@dataclass(frozen=True, slots=True)
class TaxOfRate:
    """What one rate comes to: on which net sum, and how much; and the net sum of each of its lines."""

    rate: TaxRate
    net: Money
    tax: Money

    @property
    def gross(self) -> Money:
        return self.net + self.tax


@dataclass(frozen=True, slots=True)
class Sums:
    """
    What lines come to.

    Attributes
    ----------
    of_rates : tuple of TaxOfRate
        The highest rate first, no tax at all last.
    line_nets : tuple of Money
        The net sum of each line in the order given; they add up to `net`.
    """

    of_rates: tuple[TaxOfRate, ...]
    line_nets: tuple[Money, ...]
    net: Money
    tax: Money

    @property
    def gross(self) -> Money:
        """What is paid."""
        return self.net + self.tax


def add_up(
    lines: Sequence[tuple[Money, TaxRate]],
    currency: str,
    *,
    prices: Prices = "gross",
    rounding: Rounding = "bill",
) -> Sums:
    """
    Add lines up with their tax.

    Parameters
    ----------
    lines : sequence of (Money, TaxRate), shape (n,)
        What stands on each line, and its rate. A line below zero (something taken off) counts at its rate.
    currency : str
        ISO 4217 code; that of every line.
    prices : {'gross', 'net'}
        Whether tax is in what stands on a line or comes on top of it.
    rounding : {'bill', 'line'}
        Tax rounded once for each rate, or on each line.

    Returns
    -------
    sums : Sums
        With gross prices `sums.gross`, with net prices `sums.net` is the plain sum of the lines.

    Raises
    ------
    MoneyError
        When a line is of another currency, or a choice is unknown.
    """
    if prices not in PRICES or rounding not in ROUNDINGS:
        raise MoneyError(f"Unknown choice: {prices!r}, {rounding!r}. Expected gross or net; bill or line.")
    Money.total([amount for amount, _ in lines], currency)
    nets: dict[int, Money] = {}
    of_rates = []
    for rate in sorted({rate for _, rate in lines}, key=_highest_first):
        places = [place for place, (_, own) in enumerate(lines) if own == rate]
        amounts = [lines[place][0] for place in places]
        taxes = [rate.of(amount, prices) for amount in amounts]
        stated = Money.total(amounts, currency)
        tax = Money.total(taxes, currency) if rounding == "line" else rate.of(stated, prices)
        net = stated if prices == "net" else stated - tax
        of_rates.append(TaxOfRate(rate, net, tax))
        nets |= dict(zip(places, _line_nets(amounts, taxes, net, prices), strict=True))
    return Sums(
        of_rates=tuple(of_rates),
        line_nets=tuple(nets[place] for place in range(len(lines))),
        net=Money.total([one.net for one in of_rates], currency),
        tax=Money.total([one.tax for one in of_rates], currency),
    )


def _highest_first(rate: TaxRate) -> tuple[int, Decimal]:
    return (1, Decimal(0)) if rate.percent is None else (0, -rate.percent)


def _line_nets(amounts: list[Money], taxes: list[Money], net: Money, prices: Prices) -> list[Money]:
    """Each line's net sum, cut so that together they are the rate's: what is over is shared out by size."""
    if prices == "net":
        return amounts
    own = [amount - tax for amount, tax in zip(amounts, taxes, strict=True)]
    over = net - Money.total(own, net.currency)
    if not over:
        return own
    more = share_out(over, [abs(amount.minor) for amount in amounts])
    return [line + bit for line, bit in zip(own, more, strict=True)]
