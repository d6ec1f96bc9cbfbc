"""A strip-down in a few words, for the job card."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.book.families import construction_of
from pegwood.book.family_learning import can_teach
from pegwood.book.models import Job, TakenOff
from pegwood.book.stripping.way_in import strip_down_of

MOST_NAMED = 8


@dataclass(frozen=True)
class StripSummary:
    """How much is off, what of it is still out, and what a family may learn of it, as its button says."""

    off: int
    out: tuple[TakenOff, ...]
    away: tuple[TakenOff, ...]
    offered: bool
    teaches: str = ""

    @property
    def named(self) -> tuple[TakenOff, ...]:
        """The last few that are out."""
        return self.out[-MOST_NAMED:]

    @property
    def more(self) -> int:
        return max(0, len(self.out) - MOST_NAMED)


def _teaches(job: Job) -> str:
    if not can_teach(job):
        return ""
    is_own = construction_of(strip_down_of(job).family) is not None
    return "Learn it into its family" if is_own else "Make a family of this strip-down"


def summary(job: Job) -> StripSummary:
    """What the card says of the strip-down."""
    rows = list(TakenOff.objects.filter(job=job))
    out = tuple(row for row in rows if row.is_out)
    return StripSummary(
        off=sum(row.met == TakenOff.Met.THERE for row in rows),
        out=out,
        away=tuple(row for row in out if row.awaits),
        teaches=_teaches(job) if rows else "",
        offered=bool(rows) or not job.is_over,
    )
