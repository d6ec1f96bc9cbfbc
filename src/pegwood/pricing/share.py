"""A sum shared out over parts, to the last minor unit."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from pegwood.pricing.money import Money, MoneyError

__all__ = ["share_out"]


def share_out(total: Money, weights: Sequence[int | Fraction]) -> list[Money]:
    """
    Share a sum out in proportion to weights, so that the shares add up to it exactly.

    Every share is its exact part cut to the whole minor unit; the units that are left go, one each, to the
    shares that were cut most (the method of largest remainders), the earlier first where two were cut alike.

    Parameters
    ----------
    total : Money
        May be negative; then every share is the negative of what the positive sum would give.
    weights : sequence of int or Fraction, shape (n,)
        None below zero, and one at least above it.

    Returns
    -------
    shares : list of Money, shape (n,)
        None is off its exact part by a whole minor unit or more.

    Raises
    ------
    MoneyError
        When there is no weight above zero, or one below it.

    Examples
    --------
    >>> [share.minor for share in share_out(Money(100, "EUR"), [1, 1, 1])]
    [34, 33, 33]
    """
    exact = [Fraction(weight) for weight in weights]
    whole = sum(exact, Fraction(0))
    if any(weight < 0 for weight in exact) or whole <= 0:
        raise MoneyError("A sum is shared by weights of which none is below zero, and one at least above it.")
    size = abs(total.minor)
    due = [size * weight / whole for weight in exact]
    cut = [int(part) for part in due]
    most_cut = sorted(range(len(due)), key=lambda place: (cut[place] - due[place], place))
    for place in most_cut[: size - sum(cut)]:
        cut[place] += 1
    sign = -1 if total.minor < 0 else 1
    return [Money(sign * units, total.currency) for units in cut]
