"""What was done and used on a job, as lines of its bill."""

from __future__ import annotations

from fractions import Fraction

from django.db.models import Sum

from pegwood.book.agreeing import LONGEST_LINE, Line
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


def lines_done(job: Job, shop: Workshop) -> list[Line]:
    """
    A line for each piece of work and for each spare that was used.

    Where the bench's clock ran, its minutes count: they stand on one line that names the work. A spare of
    which nobody wrote down what it cost has a line without a sum, which has to be filled in.
    """
    work = [str(piece) for piece in job.work.all()]
    clock = sum(job.clock_entries.values_list("minutes", flat=True))
    if clock:
        lines = [Line(what=_short("; ".join(work) or "Work at the bench"), minutes=clock)]
    else:
        lines = [Line(what=_short(str(piece)), minutes=piece.minutes) for piece in job.work.all()]
    for spare, count in spares_used(job):
        cost = spare.cost
        sum_ = charged(cost, shop) * count if cost is not None and cost.currency == job.currency else None
        name = f"{spare.name}, {count} of it" if count > 1 else spare.name
        lines.append(Line(what=_short(name), kind="part", amount=sum_))
    return lines


def _short(what: str) -> str:
    words = " ".join(what.split())
    return words if len(words) <= LONGEST_LINE else words[: LONGEST_LINE - 1].rstrip() + "…"
