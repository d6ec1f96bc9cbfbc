"""Seeing that work will pass the agreed sum before it does."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.book.billing.offers import asks_again, latest
from pegwood.book.models import Job, Offer
from pegwood.book.states import Standing
from pegwood.pricing.agreed import Ask, Reach
from pegwood.pricing.money import Money
from pegwood.pricing.quote import Quote

#: Work that was agreed to and is not done yet.
WATCHED = frozenset({Standing.AGREED, Standing.ON_THE_BENCH, Standing.WAITING})
#: A chance that the agreed sum is passed, from which it is worth a line on the card, [1] (practice).
WORTH_A_LINE = 0.2


@dataclass(frozen=True, kw_only=True)
class Alarm:
    """
    How what is expected now stands to what was agreed.

    Attributes
    ----------
    agreed, usual, not_more_than : Money
        The sum agreed to; what the job is reckoned to come to now.
    chance : float
        That it passes what was agreed, [1].
    was : Money or None
        What it was usually reckoned to come to when the price was told; None where nobody reckoned.
    ask : Ask
    """

    agreed: Money
    usual: Money
    not_more_than: Money
    chance: float
    was: Money | None
    ask: Ask

    @property
    def rings(self) -> bool:
        """
        Whether the owner is to be asked before going on.

        Where the price was told lower than it was reckoned, the repairer knew better: then it rings only
        once what is reckoned has grown, or the work itself has passed the sum.
        """
        return self.ask.reach is Reach.PASSED or (self.ask.now and self.has_grown)

    @property
    def has_grown(self) -> bool:
        """Whether more is expected than when the price was told, as far as that is known."""
        return self.was is None or self.usual > self.was

    @property
    def is_quiet(self) -> bool:
        """Whether there is nothing to say."""
        return self.chance < WORTH_A_LINE and self.ask.reach is not Reach.PASSED


def is_watched(job: Job) -> bool:
    """Whether there is an agreed sum that work still to be done could pass."""
    return job.agreed_up_to is not None and job.stands in WATCHED


def alarm_of(job: Job, quoted: Quote) -> Alarm | None:
    """How a job stands to its agreed sum; None where none is watched."""
    agreed = job.agreed_up_to
    if agreed is None or not is_watched(job):
        return None
    price = quoted.price
    ask = asks_again(job, price.usual.money, not_more_than=price.not_more_than.money)
    if ask is None:
        return None
    return Alarm(
        agreed=agreed,
        usual=price.usual.money,
        not_more_than=price.not_more_than.money,
        chance=quoted.chance_above(agreed),
        was=_was(latest(job), price.currency),
        ask=ask,
    )


def _was(offer: Offer | None, currency: str) -> Money | None:
    reckoned = offer.reckoned if offer else {}
    if reckoned.get("currency") != currency:
        return None
    return Money(reckoned["usual_minor"], currency)
