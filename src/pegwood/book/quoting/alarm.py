"""Seeing that work will pass the agreed sum before it does."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.book.billing.offers import asks_again, latest
from pegwood.book.models import Job, Offer
from pegwood.book.states import Standing
from pegwood.pricing.agreed import Ask, Reach
from pegwood.pricing.money import Money
from pegwood.pricing.quote import Figure, Quote

#: Work that was agreed to and is not done yet.
WATCHED = frozenset({Standing.AGREED, Standing.ON_THE_BENCH, Standing.WAITING})
#: A chance that the agreed sum is passed, from which it is worth a line on the card, [1] (practice).
WORTH_A_LINE = 0.2
#: Two figures that lie closer than so many standard uncertainties cannot be told apart.
TOLD_APART = 2.0
SQRT_2 = 2**0.5


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
    grown_to : Money or None
        The price that was told, and what has come on top since by that; None where nobody reckoned, or what
        came on top is no more than the draws may make it.
    ask : Ask
    """

    agreed: Money
    usual: Money
    not_more_than: Money
    chance: float
    was: Money | None
    grown_to: Money | None
    ask: Ask

    @property
    def rings(self) -> bool:
        """
        Whether the owner is to be asked before going on.

        The repairer who told another price than was reckoned knew better. So it rings once what has come on
        top since makes the told price pass the sum too, or the work itself has passed it.
        """
        if self.ask.reach is Reach.PASSED:
            return True
        return self.ask.now and self.grown_to is not None and self.grown_to > self.agreed

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
    was = _was(latest(job), price.currency)
    return Alarm(
        agreed=agreed,
        usual=price.usual.money,
        not_more_than=price.not_more_than.money,
        chance=quoted.chance_above(agreed),
        was=was,
        grown_to=_grown(job, was, price.usual),
        ask=ask,
    )


def _was(offer: Offer | None, currency: str) -> Money | None:
    reckoned = offer.reckoned if offer else {}
    if reckoned.get("currency") != currency:
        return None
    return Money(reckoned["usual_minor"], currency)


def _grown(job: Job, was: Money | None, usual: Figure) -> Money | None:
    # the same seed was drawn twice, each time as uncertain
    if was is None or job.price is None or usual.money.minor - was.minor <= TOLD_APART * SQRT_2 * usual.u:
        return None
    return job.price + (usual.money - was)
