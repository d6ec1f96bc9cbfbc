"""Spares that get worse on the shelf, by what was measured of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from pegwood.book.models import Spare, SpareMeasure
from pegwood.pricing.stock import CannotTell, Fading, Reading, fading_of

YEAR_DAYS = 365.25


@dataclass(frozen=True, kw_only=True)
class Ageing:
    """
    How a spare fades.

    Attributes
    ----------
    what, unit : str
        What was measured.
    fading : Fading or None
        None where that cannot be told.
    why_not : str
        Why, and what would tell.
    since : date
        The day that the years of `fading` count from.
    """

    what: str
    unit: str
    fading: Fading | None
    why_not: str
    since: date

    def years(self, day: date) -> float:
        """That day, as `fading` counts."""
        return (day - self.since).days / YEAR_DAYS


def ageing_of(readings: Iterable[SpareMeasure]) -> tuple[Ageing, ...]:
    """For each thing that was measured of a spare, in each unit: how it changes."""
    by_what: dict[tuple[str, str], list[SpareMeasure]] = {}
    for row in readings:
        by_what.setdefault((row.what, row.unit), []).append(row)
    return tuple(_ageing(what, unit, rows) for (what, unit), rows in by_what.items())


def _ageing(what: str, unit: str, rows: list[SpareMeasure]) -> Ageing:
    since = min(row.on for row in rows)
    try:
        fading = fading_of([Reading((row.on - since).days / YEAR_DAYS, row.value, row.u) for row in rows])
    except CannotTell as reason:
        return Ageing(what=what, unit=unit, fading=None, why_not=str(reason), since=since)
    except ValueError:
        why = "What is not above nothing does not fade by a share each year."
        return Ageing(what=what, unit=unit, fading=None, why_not=why, since=since)
    return Ageing(what=what, unit=unit, fading=fading, why_not="", since=since)


def chance_good(spare: Spare, readings: Iterable[SpareMeasure], at: datetime) -> float:
    """
    How likely a spare is still of use then, [1]; 1 where nobody said what it must have, or it cannot be told.

    Where several things of it fade, the one that was measured last counts: it is what is watched.
    """
    told = [one for one in ageing_of(readings) if one.fading is not None]
    if spare.good_from is None or not told:
        return 1.0
    last = told[-1]
    assert last.fading is not None
    return last.fading.still_good(last.years(at.date()), spare.good_from)
