"""Spares that are in a job's camera, and what they are charged at."""

from __future__ import annotations

from fractions import Fraction

from django.db.models import Sum

from pegwood.book.models import Job, Spare, SpareMove
from pegwood.book.workshop import Workshop
from pegwood.pricing.money import Money


def charged(cost: Money, shop: Workshop) -> Money:
    """What a part is charged at that cost so much: with the workshop's percent on top."""
    return cost.times(Fraction(100 + shop.part_markup, 100))


def spares_used(job: Job) -> list[tuple[Spare, int]]:
    """Spares that are in a job's camera, and how many of each."""
    moved = SpareMove.objects.filter(job=job).values_list("spare").annotate(sum=Sum("lies"))
    used = {spare: -lies for spare, lies in moved if lies < 0}
    return [(spare, used[spare.pk]) for spare in Spare.objects.filter(pk__in=used).order_by("name", "pk")]


def charged_for(spare: Spare, count: int, currency: str, shop: Workshop) -> Money | None:
    """What so many of a spare are charged at; None where nobody wrote down what it cost, in that money."""
    cost = spare.cost
    return charged(cost, shop) * count if cost is not None and cost.currency == currency else None
