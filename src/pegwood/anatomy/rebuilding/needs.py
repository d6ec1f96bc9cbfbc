"""What a part's way back needs from the trade's tables: oil or grease, and glue with the time it takes."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.anatomy.parts import Back
from pegwood.trade.glues import GLUES, Curing, cure
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.lubricants import LUBRICANTS, PLACES, Lubricant, Place
from pegwood.trade.reference import Reference
from pegwood.trade.said import Said
from pegwood.trade.wording import capital, either, told_spread


@dataclass(frozen=True, kw_only=True)
class Lubricate:
    """
    What is oiled or greased, or stays dry.

    Attributes
    ----------
    place : Place
        The place in the trade's table.
    lubricants : tuple of Lubricant
        What may go there, the usual one first; none where it stays dry.
    grounds : tuple of Ground
    """

    place: Place
    lubricants: tuple[Lubricant, ...]
    grounds: Grounds

    @property
    def says(self) -> str:
        """In one line: "Helicoid: lithium grease NLGI 2 or ... A very thin, even film ..."."""
        names = [one.name for one in self.lubricants]
        what = f"{capital(either(names))}. " if names else ""
        return f"{capital(self.place.name)}: {what}{self.place.amount}"

    @property
    def never(self) -> tuple[Said, ...]:
        """What must not come there."""
        return self.place.never


@dataclass(frozen=True, kw_only=True)
class Glueing:
    """A glue and its times."""

    curing: Curing

    @property
    def says(self) -> str:
        """In one line: "Shellac: hold it for 20 minutes (5 to 60); bears its load after 8 hours ..."."""
        held, full = told_spread(self.curing.set_s), told_spread(self.curing.full_s)
        return f"{capital(self.curing.glue.name)}: let go after {held}; it bears its load after {full}."

    @property
    def grounds(self) -> Grounds:
        """What the times rest on."""
        return self.curing.grounds

    def holds(self, since_s: float) -> bool:
        """Whether it may surely be let go of, so long after it was glued, [s]."""
        return since_s >= self.curing.set_s.high

    def cured(self, since_s: float) -> bool:
        """Whether it surely bears its load, so long after it was glued, [s]."""
        return since_s >= self.curing.full_s.high


def lubricate(back: Back, reference: Reference) -> Lubricate | None:
    """What is oiled or greased; None where the family says nothing, or what no table holds any more."""
    place = reference.rows(PLACES).get(back.lubricate) if back.lubricate else None
    if place is None:
        return None
    rows = reference.rows(LUBRICANTS)
    found = tuple(rows[key] for key in place.lubricants if key in rows)
    grounds = joined(place.grounds, *(one.grounds for one in found))
    return Lubricate(place=place, lubricants=found, grounds=grounds)


def glueing(back: Back, reference: Reference) -> Glueing | None:
    """What is glued; None where the family says nothing, or what no table holds any more."""
    if not back.glue or back.glue not in reference.rows(GLUES):
        return None
    return Glueing(curing=cure(reference, back.glue))
