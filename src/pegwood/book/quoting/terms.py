"""The workshop's settings as the terms a price is reckoned with."""

from __future__ import annotations

from fractions import Fraction
from typing import cast

from pegwood.anatomy.parts import Minutes
from pegwood.book.billing.sums import rate_for
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop
from pegwood.pricing.money import Money
from pegwood.pricing.quote import Terms
from pegwood.pricing.spread import Shape
from pegwood.trade.grounds import Ground

#: Of what every job takes, how much comes before the work: looking over. The rest is proving and papers.
BEFORE_THE_WORK = 0.5
BEFORE_GROUND = Ground("Pegwood's own start: half of it is looking over", "practice")


def terms_of(job: Job, shop: Workshop, *, is_begun: bool = False) -> Terms:
    """
    The terms a job's price is reckoned with: without tax, which the terms put on top at the rate of labour.

    Once work has begun (`is_begun`) the looking over is among the minutes that are done already.

    Raises
    ------
    Refused
        If no hourly rate is set, or the job is kept in another money.
    """
    if not shop.hourly_rate:
        raise Refused("No hourly rate is set, so minutes make no price. Set it under Workshop.")
    if shop.currency != job.currency:
        raise Refused(f"The job is kept in {job.currency}, the workshop's rates are in {shop.currency}.")

    def amount(minor: int, kind: str = "labour") -> Money | None:
        return reckoned(Money(minor, shop.currency), kind, shop) if minor else None

    left = 1 - BEFORE_THE_WORK if is_begun else 1.0
    return Terms(
        per_hour=reckoned(shop.rate, "labour", shop),
        bench_per_hour=amount(shop.bench_per_hour),
        minimum=amount(shop.minimum_charge),
        consumables=amount(shop.consumables, "other"),
        per_mend=amount(shop.consumables_per_mend, "other"),
        every_job=Minutes(
            low=left * shop.job_minutes_low,
            likely=left * shop.job_minutes_likely,
            high=left * shop.job_minutes_high,
        ),
        tax=rate_for("labour", shop).share,
        own_per_hour=Money(shop.own_per_hour, shop.currency) if shop.own_per_hour else None,
        part_costs=100 / (100 + shop.part_markup),
        round_to=shop.price_step,
        shape=cast(Shape, shop.price_shape),
    )


def reckoned(amount: Money, kind: str, shop: Workshop) -> Money:
    """
    A sum as the workshop states it, as a price is reckoned with it.

    With the tax of labour on top, which is the one the terms know, it comes to what the owner pays for it by
    the rate of its own kind.
    """
    labour, own = rate_for("labour", shop).share, rate_for(kind, shop).share
    share = Fraction(1) if shop.prices_are == "gross" else 1 + own
    return amount.times(share / (1 + labour))
