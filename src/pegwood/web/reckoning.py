"""What a sheet of lines comes to while it is still being typed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.book.agreeing import Line, labour
from pegwood.pricing.money import Money, MoneyError


@dataclass(frozen=True)
class Reckoned:
    """
    A sum so far.

    Attributes
    ----------
    total : Money
        Of the lines that can be reckoned.
    minutes : int
        Of all lines together, [min].
    open : tuple of str
        What is still missing, line by line: empty when the total is the whole.
    beyond : Money or None
        How far the total lies beyond what was agreed, if it does.
    """

    total: Money
    minutes: int
    open: tuple[str, ...]
    beyond: Money | None


def reckon(lines: Iterable[Line], currency: str, rate: Money, agreed_up_to: Money | None = None) -> Reckoned:
    """
    What the lines come to, and what still keeps them from being a price.

    Parameters
    ----------
    lines : iterable of Line
        As typed; a sum goes before the time.
    currency : str
        ISO 4217 code the job is kept in.
    rate : Money
        The workshop's price of an hour; zero if none is set.
    agreed_up_to : Money, optional
        The sum beyond which the owner must be asked again.
    """
    amounts, missing, minutes = [], [], 0
    for place, line in enumerate(lines, 1):
        name = f"'{line.what}'" if line.what else f"line {place}"
        minutes += line.minutes or 0
        if not line.what:
            missing.append(f"line {place} does not say what it is for")
        if line.amount is not None:
            amounts.append(line.amount)
        elif line.minutes is None:
            missing.append(f"{name} has neither time nor sum")
        elif not rate.minor or rate.currency != currency:
            missing.append(f"{name} has a time, and no hourly rate is set")
        else:
            amounts.append(labour(line.minutes, rate))
    try:
        total = Money.total(amounts, currency)
    except MoneyError as error:
        return Reckoned(Money.zero(currency), minutes, (*missing, str(error)), None)
    over = agreed_up_to is not None and total > agreed_up_to
    beyond = total - agreed_up_to if over and agreed_up_to is not None else None
    return Reckoned(total, minutes, tuple(missing), beyond)
