"""The price of a job of the book, as a distribution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pegwood.anatomy.construction import Construction
from pegwood.book.billing.minutes import minutes_done
from pegwood.book.families import construction_of
from pegwood.book.models import Job, TakenOff
from pegwood.book.quoting.parts import Priced, part_prices
from pegwood.book.quoting.terms import BEFORE_GROUND, BEFORE_THE_WORK, reckoned, terms_of
from pegwood.book.refusal import Refused
from pegwood.book.spares.used import charged_for, spares_used
from pegwood.book.stripping.record import off_now
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.book.weighing.about import NO_FAMILY, causes_of, construction_for
from pegwood.book.weighing.case import case_of
from pegwood.book.workshop import Workshop, workshop
from pegwood.causes.case import Case
from pegwood.causes.drawn import CannotDraw
from pegwood.causes.family_net import FamilyCauses
from pegwood.pricing.money import Money, MoneyError
from pegwood.pricing.quote import DRAWS, Done, Quote, Terms, quote
from pegwood.trade.grounds import Ground
from pegwood.trade.numbers import per_cent

#: A fault is called likely from here on, [1].
LIKELY = 0.5
_OF_A_PRICE = (
    *("hourly_rate", "bench_per_hour", "minimum_charge", "consumables", "consumables_per_mend"),
    *("part_markup", "tax_labour", "tax_part", "tax_other", "prices_are", "price_shape", "currency"),
    *("job_minutes_low", "job_minutes_likely", "job_minutes_high"),
)
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

    @property
    def assumptions(self) -> tuple[tuple[str, Ground], ...]:
        """What the price rests on besides what it tells itself."""
        if not self.done.minutes:
            return ()
        says = (
            f"Work has begun: of what every job takes, {per_cent(1 - BEFORE_THE_WORK)} is still to come. "
            "A mend counts as to do until it is written down as done."
        )
        return ((says, BEFORE_GROUND),)

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
        except (CannotDraw, MoneyError) as reason:
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
    done = _done(job, construction, shop)
    terms = terms_of(job, shop, is_begun=done.minutes > 0)
    causes = causes_of(construction)
    return Basis(
        job=job,
        shop=shop,
        construction=construction,
        causes=causes,
        case=case_of(job, causes),
        terms=terms,
        parts=part_prices(job, construction, causes, shop),
        done=done,
    )


def can_be_reckoned(job: Job, shop: Workshop) -> bool:
    """Whether there is a price to be reckoned at all, in a glance: without weighing anything."""
    has_rate = bool(shop.hourly_rate) and shop.currency == job.currency
    return has_rate and construction_of(strip_down_of(job).family) is not None


def reckoned_with(basis: Basis, quoted: Quote) -> dict[str, Any]:
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
        "covers": price.covers,
        "terms": told_terms(basis.shop),
        "likely": likely_faults(quoted),
    }


def told_terms(shop: Workshop) -> dict[str, Any]:
    """The settings a price rests on: by others, what it was before says nothing of what was found."""
    return {name: getattr(shop, name) for name in _OF_A_PRICE}


def likely_faults(quoted: Quote) -> list[str]:
    """Faults that are there in most of the draws, by id, the likeliest first."""
    there = quoted.cameras.there.mean(axis=0).tolist()
    likely = [(-one, fault) for fault, one in zip(quoted.work.faults, there, strict=True) if one >= LIKELY]
    return [fault for _, fault in sorted(likely)]


def _done(job: Job, construction: Construction, shop: Workshop) -> Done:
    minutes, _ = minutes_done(job)
    used = [
        reckoned(sum_, "part", shop)
        for spare, count in spares_used(job)
        if (sum_ := charged_for(spare, count, shop.currency, shop)) is not None
    ]
    rows = list(TakenOff.objects.filter(job=job))
    off = off_now(rows) & construction.parts.keys()
    return Done(
        minutes=float(minutes),
        parts=Money.total(used, shop.currency) if used else None,
        off=off,
        back=off & {row.part for row in rows if row.is_out},
    )
