"""What was done and used on a job, as lines of its bill."""

from __future__ import annotations

from fractions import Fraction

from pegwood.book.agreeing import LONGEST_LINE, Line, labour
from pegwood.book.billing.minutes import minutes_done
from pegwood.book.models import Job, MendDone
from pegwood.book.spares.used import charged_for, spares_used
from pegwood.book.workshop import Workshop
from pegwood.pricing.money import Money


def lines_done(job: Job, shop: Workshop) -> list[Line]:
    """
    A line for each piece of work and for each spare that was used, and what the workshop's terms add.

    Where the bench's clock ran, its minutes count: they stand on one line that names the work. A spare of
    which nobody wrote down what it cost has a line without a sum, which has to be filled in; whether the
    least a job costs is reached nobody knows till then.
    """
    minutes, by_clock = minutes_done(job)
    pieces = list(job.work.all())
    if by_clock:
        lines = [Line(what=_short("; ".join(map(str, pieces)) or "Work at the bench"), minutes=minutes)]
    else:
        lines = [Line(what=_short(str(piece)), minutes=piece.minutes) for piece in pieces]
    for spare, count in spares_used(job):
        name = f"{spare.name}, {count} of it" if count > 1 else spare.name
        amount = charged_for(spare, count, job.currency, shop)
        lines.append(Line(what=_short(name), kind="part", amount=amount))
    if shop.currency == job.currency:
        lines += _by_the_terms(job, lines, minutes, shop)
    return lines


def _by_the_terms(job: Job, lines: list[Line], minutes: int, shop: Workshop) -> list[Line]:
    mends = MendDone.objects.filter(job=job, work__struck_out=False).count()
    bench = Money(shop.bench_per_hour, shop.currency).times(Fraction(minutes, 60))
    used_up = Money(shop.consumables + mends * shop.consumables_per_mend, shop.currency)
    more = [
        Line(what=what, kind=kind, amount=amount)
        for what, kind, amount in (("Bench", "labour", bench), ("Used up", "other", used_up))
        if amount
    ]
    sums = [
        line.amount if line.amount is not None or line.minutes is None else labour(line.minutes, shop.rate)
        for line in (*lines, *more)
    ]
    known = [one for one in sums if one is not None]
    least = Money(shop.minimum_charge, shop.currency) - Money.total(known, shop.currency)
    if lines and least.minor > 0 and len(known) == len(sums):
        more.append(Line(what="Up to the least a job costs", amount=least))
    return more


def _short(what: str) -> str:
    words = " ".join(what.split())
    return words if len(words) <= LONGEST_LINE else words[: LONGEST_LINE - 1].rstrip() + "…"
