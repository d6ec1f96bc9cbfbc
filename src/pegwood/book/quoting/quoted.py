"""The price of a job of the book, as a distribution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Sum

from pegwood.anatomy.construction import Construction
from pegwood.book.billing.done import charged, spares_used
from pegwood.book.families import construction_of
from pegwood.book.models import Job, TakenOff
from pegwood.book.quoting.parts import Priced, part_prices
from pegwood.book.quoting.terms import reckoned, terms_of
from pegwood.book.refusal import Refused
from pegwood.book.stripping.record import off_now
from pegwood.book.weighing.about import NO_FAMILY, causes_of, construction_for
from pegwood.book.weighing.case import case_of
from pegwood.book.workshop import Workshop, workshop
from pegwood.causes.case import Case
from pegwood.causes.drawn import CannotDraw
from pegwood.causes.family_net import FamilyCauses
from pegwood.pricing.money import Money
from pegwood.pricing.quote import DRAWS, Done, Quote, Terms, quote

NOTHING_KNOWN = (
    "Nothing is told or seen of this camera yet: the price would be that of any of its kind. "
    "Tell its story, or answer a look or two, first."
)


@dataclass(frozen=True, kw_only=True)
class Basis:
    """
    All that a job's price is reckoned from, read from the book once.

    Attributes
    ----------
    shop : Workshop
    terms : Terms
    parts : dict of str to Priced
        By the part's id; parts nobody gave a price for are not in it.
    done : Done
        By the bench's clock, or the work written down where that never ran; spares in it; parts off.
    """

    job: Job
    shop: Workshop
    construction: Construction
    causes: FamilyCauses
    case: Case
    terms: Terms
    parts: dict[str, Priced]
    done: Done

    def quoted(self, *, draws: int = DRAWS, seed: int | None = None, covers: float | None = None) -> Quote:
        """
        The price; the same for the same seed, which is the job's number if none is given.

        It covers what is likely from `covers` on, [1]: as the workshop has it if None.

        Raises
        ------
        Refused
            If nothing is told or seen yet, or nothing can be drawn from what was seen.
        """
        if self.case == Case(unanswered=self.case.unanswered):
            raise Refused(NOTHING_KNOWN)
        prices = {part: one.price for part, one in self.parts.items()}
        seed = self.job.number if seed is None else seed
        try:
            return quote(
                self.causes, self.construction, self.case, self.terms,
                parts=prices, done=self.done, draws=draws, seed=seed,
                covers=self.shop.price_covers / 100 if covers is None else covers,
            )  # fmt: skip
        except CannotDraw as reason:
            raise Refused(str(reason)) from None


def basis_of(job: Job) -> Basis:
    """
    What a job's price is reckoned from.

    Raises
    ------
    Refused
        If nobody described such cameras, no rate is set, or the job is kept in another money.
    """
    shop = workshop()
    construction = construction_for(job)
    if construction is None:
        raise Refused(NO_FAMILY.replace("weighed", "reckoned"))
    terms = terms_of(job, shop)
    causes = causes_of(construction)
    return Basis(
        job=job,
        shop=shop,
        construction=construction,
        causes=causes,
        case=case_of(job, causes),
        terms=terms,
        parts=part_prices(job, construction, causes, shop),
        done=_done(job, construction, shop),
    )


def can_be_reckoned(job: Job, shop: Workshop) -> bool:
    """Whether there is a price to be reckoned at all, in a glance: without weighing anything."""
    has_rate = bool(shop.hourly_rate) and shop.currency == job.currency
    return has_rate and construction_of(job.camera.family) is not None


def reckoned_with(quoted: Quote) -> dict[str, Any]:
    """What an offer keeps of the price that was reckoned when it was told."""
    price = quoted.price
    return {
        "usual_minor": price.usual.money.minor,
        "not_more_than_minor": price.not_more_than.money.minor,
        "worst_minor": price.worst.money.minor,
        "currency": price.currency,
        "minutes": [round(one, 1) for one in price.minutes],
        "draws": price.draws,
        "seed": price.seed,
        "shape": price.shape,
        "covers": price.covers,
    }


def _done(job: Job, construction: Construction, shop: Workshop) -> Done:
    clock = job.clock_entries.aggregate(sum=Sum("minutes"))["sum"]
    minutes = clock or job.work.aggregate(sum=Sum("minutes"))["sum"] or 0
    parts = Money.total(
        (
            reckoned(charged(cost, shop), "part", shop) * count
            for spare, count in spares_used(job)
            if (cost := spare.cost) is not None and cost.currency == shop.currency
        ),
        shop.currency,
    )
    off = off_now(TakenOff.objects.filter(job=job)) & construction.parts.keys()
    return Done(minutes=float(minutes), parts=parts if parts else None, off=off)
