"""Seeing that work will pass the agreed sum before it does."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pegwood.book.billing.offers import asks_again, latest, so_far
from pegwood.book.models import Job
from pegwood.book.quoting.quoted import Basis, told_terms
from pegwood.book.states import Standing
from pegwood.book.workshop import workshop
from pegwood.pricing.agreed import Reach
from pegwood.pricing.money import Money
from pegwood.pricing.quote import Figure, Quote

#: Work that was agreed to and is not done yet.
WATCHED = frozenset({Standing.AGREED, Standing.ON_THE_BENCH, Standing.WAITING})
#: A chance that the agreed sum is passed, from which it is worth a line on the card, [1] (practice).
WORTH_A_LINE = 0.2
#: Two figures that lie closer than so many standard uncertainties cannot be told apart.
TOLD_APART = 2.0


@dataclass(frozen=True, kw_only=True)
class Alarm:
    """
    How a job stands to the sum that was agreed.

    Attributes
    ----------
    agreed : Money
    reach : Reach
    done : Money or None
        What is done and used already comes to, where that has passed the sum.
    usual, not_more_than : Money or None
        What the job is reckoned to come to now; None where nothing can be reckoned.
    chance : float
        That it passes what was agreed, [1].
    was : Money or None
        What it was usually reckoned to come to when the price was told; None where nobody reckoned.
    rings : bool
        Whether the owner is to be asked before going on.
    """

    agreed: Money
    reach: Reach
    done: Money | None = None
    usual: Money | None = None
    not_more_than: Money | None = None
    chance: float = 1.0
    was: Money | None = None
    rings: bool = False

    @property
    def is_quiet(self) -> bool:
        """Whether there is nothing to say."""
        return not self.rings and self.chance < WORTH_A_LINE


def is_watched(job: Job) -> bool:
    """Whether there is an agreed sum that work still to be done could pass."""
    return job.agreed_up_to is not None and job.stands in WATCHED


def covers_of(job: Job) -> float | None:
    """From which chance on faults are covered by the price that was told last; None where nobody reckoned."""
    offer = latest(job)
    found: float | None = offer.reckoned.get("covers") if offer else None
    return found


def passed(job: Job) -> Alarm | None:
    """That what is done and used has passed the agreed sum; None where it has not, or none is watched."""
    agreed, done = job.agreed_up_to, so_far(job, workshop())
    if agreed is None or not is_watched(job) or done is None or done <= agreed:
        return None
    return Alarm(agreed=agreed, reach=Reach.PASSED, done=done, rings=True)


def alarm_of(job: Job, basis: Basis, quoted: Quote) -> Alarm | None:
    """
    How a job stands to its agreed sum; None where none is watched.

    It rings where the work has passed the sum, or usually will *and* that is news: where the repairer told
    less than was reckoned, only what has come on top since counts, by the same terms; what other rates make
    dearer nobody found.

    Parameters
    ----------
    quoted : Quote
        Of what the price covered that was told: see `covers_of`.
    """
    agreed = job.agreed_up_to
    if agreed is None or not is_watched(job):
        return None
    usual = quoted.price.usual
    ask = asks_again(
        job, Money(math.floor(usual.exact), agreed.currency), not_more_than=quoted.price.not_more_than.money
    )
    assert ask is not None
    over = passed(job)
    return Alarm(
        agreed=agreed,
        reach=ask.reach,
        done=over.done if over else None,
        usual=usual.money,
        not_more_than=quoted.price.not_more_than.money,
        chance=quoted.chance_above(agreed),
        was=_was(job),
        rings=ask.reach is Reach.PASSED or (ask.now and _is_news(job, basis, usual, agreed)),
    )


def _was(job: Job) -> Money | None:
    offer = latest(job)
    if offer is None or "usual_minor" not in offer.reckoned:
        return None
    return Money(offer.reckoned["usual_minor"], offer.reckoned["currency"])


def _is_news(job: Job, basis: Basis, usual: Figure, agreed: Money) -> bool:
    was, offer = _was(job), latest(job)
    if was is None or offer is None or job.price is None:
        return True
    if offer.reckoned.get("terms") != told_terms(basis.shop):
        return False
    more = usual.money - was
    # both were drawn, each as uncertain
    return more.minor > TOLD_APART * math.sqrt(2) * usual.u and job.price + more > agreed
