"""The lines of an offer out of a price that was reckoned."""

from __future__ import annotations

from typing import Literal

from pegwood.book.agreeing import LONGEST_LINE, Line
from pegwood.book.billing.answers import stated
from pegwood.book.billing.offers import latest
from pegwood.book.billing.sums import chosen_of, rate_for
from pegwood.book.quoting.quoted import LIKELY, Basis, likely_faults
from pegwood.pricing.money import Money
from pegwood.pricing.quote import Figure, Quote

Which = Literal["usual", "not_more_than", "worst"]
WHICH: tuple[Which, ...] = ("usual", "not_more_than", "worst")
#: So many faults are named on the line for the work.
MOST_NAMED = 3


def figure_of(quoted: Quote, which: Which) -> Figure:
    """One of the three figures, by its name."""
    figure: Figure = getattr(quoted.price, which)
    return figure


def offer_lines(basis: Basis, quoted: Quote, which: Which) -> list[Line]:
    """
    Lines that come to one of the figures: a line for each part that is likely needed, and one for the work.

    The work is what the figure leaves; its minutes are those of the same point of the distribution.
    """
    shop, price = basis.shop, quoted.price
    prices = chosen_of(shop).prices
    left = figure_of(quoted, which).money
    lines = []
    for part, gross in _parts(basis, quoted):
        if gross >= left:
            continue
        left = left - gross
        name = basis.construction.parts[part].name
        amount = stated(gross, rate_for("part", shop), prices)
        lines.append(Line(what=(name[:1].upper() + name[1:])[:LONGEST_LINE], kind="part", amount=amount))
    work = Line(
        what=_work(basis, quoted)[:LONGEST_LINE],
        minutes=max(1, round(price.minutes[WHICH.index(which)])),
        amount=stated(left, rate_for("labour", shop), prices),
    )
    return [work, *lines]


def _parts(basis: Basis, quoted: Quote) -> list[tuple[str, Money]]:
    """Parts that are likely needed, and what the owner pays for each."""
    often = (quoted.jobs.shares.part_for >= 0).mean(axis=0)
    found = []
    for place, part in enumerate(quoted.work.parts):
        if often[place] >= LIKELY and part in basis.parts:
            gross = basis.parts[part].price.likely.times(1 + basis.terms.tax)
            if gross:
                found.append((part, gross))
    return found


def _work(basis: Basis, quoted: Quote) -> str:
    named = [basis.causes.faults[fault].name for fault in likely_faults(quoted)[:MOST_NAMED]]
    return f"Mending: {', '.join(named)}" if named else "Looking over and mending"


def why_dearer(basis: Basis, quoted: Quote) -> str:
    """
    What makes a job dearer than was told, for the owner: what is likely now and was not when it was told.

    What somebody found is told as found, and before what is only likely.
    """
    offer = latest(basis.job)
    if offer is None or "likely" not in offer.reckoned:
        return ""
    fresh = [fault for fault in likely_faults(quoted) if fault not in offer.reckoned["likely"]]
    found = [fault for fault in fresh if basis.case.rulings.get(fault)]
    named = [basis.causes.faults[fault].name for fault in (found or fresh)[:MOST_NAMED]]
    if not named:
        return ""
    return f"{'Found meanwhile' if found else 'Likely by now'}: {', '.join(named)}"[:LONGEST_LINE]
