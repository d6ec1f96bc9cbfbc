"""
What the owner agreed to, and what holds beyond it: when to ask again, what a deposit is, what keeping costs.

Rules only, with every figure handed in. What law says of deposits, of work beyond what was agreed and of
cameras that nobody fetches differs from country to country and comes before any of this.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from pegwood.pricing.money import Money, MoneyError

__all__ = ["Ask", "Reach", "deposit_of", "reach", "storage_due"]


class Reach(StrEnum):
    """How an expected sum stands to the agreed one."""

    WITHIN = "within"
    MAY_PASS = "may pass"
    WILL_PASS = "will pass"
    PASSED = "passed"


@dataclass(frozen=True, kw_only=True, slots=True)
class Ask:
    """
    Whether the owner is to be asked again, before the agreed sum is passed.

    Attributes
    ----------
    reach : Reach
    over : Money
        How far beyond what was agreed: of what was done where it is passed already, else of what is expected,
        else of what it may come to; zero within.
    """

    reach: Reach
    over: Money

    @property
    def now(self) -> bool:
        """Whether to ask before going on."""
        return self.reach in {Reach.WILL_PASS, Reach.PASSED}


def reach(
    agreed_up_to: Money, expected: Money, *, not_more_than: Money | None = None, done: Money | None = None
) -> Ask:
    """
    How the sum that is expected now stands to the one the owner agreed to.

    Parameters
    ----------
    agreed_up_to : Money
        The sum beyond which the owner must be asked.
    expected : Money
        What the whole job is expected to cost by now.
    not_more_than : Money, optional
        What it will hardly pass, such as the price's 80 % figure.
    done : Money, optional
        What was done so far comes to.

    Returns
    -------
    ask : Ask

    Raises
    ------
    MoneyError
        When two currencies meet.
    """
    nothing = Money.zero(agreed_up_to.currency)
    for state, amount in ((Reach.PASSED, done), (Reach.WILL_PASS, expected), (Reach.MAY_PASS, not_more_than)):
        if amount is not None and amount > agreed_up_to:
            return Ask(reach=state, over=amount - agreed_up_to)
    return Ask(reach=Reach.WITHIN, over=nothing)


def deposit_of(price: Money, percent: int, step: int = 1) -> Money:
    """
    The deposit asked on a price: so many hundredths of it, rounded to a step, never above the price.

    Raises
    ------
    MoneyError
        When the part is not 0 to 100.
    """
    if not 0 <= percent <= 100:
        raise MoneyError(f"A deposit of {percent} % cannot be. Expected 0 to 100.")
    return min(price, price.times(Fraction(percent, 100)).rounded_to(step))


def storage_due(ready_on: date, today: date, free_days: int, per_week: Money) -> Money:
    """
    What keeping a camera that nobody fetches comes to, by the workshop's own terms.

    Parameters
    ----------
    ready_on : date
        When the owner was told that it can be fetched.
    today : date
    free_days : int
        Days it is kept for nothing.
    per_week : Money
        For every week begun after that.

    Returns
    -------
    due : Money
        Zero within the free days.

    Examples
    --------
    >>> storage_due(date(2031, 1, 1), date(2031, 2, 9), 30, Money(500, "EUR")).minor
    1000
    """
    if free_days < 0:
        raise MoneyError(f"{free_days} free days cannot be. Expected 0 or more.")
    over = (today - (ready_on + timedelta(days=free_days))).days
    weeks = -(-over // 7) if over > 0 else 0
    return per_week * weeks
