"""What is told at the demo's bench: dictated, and half of it confirmed, through the use cases."""

from __future__ import annotations

from datetime import datetime, timedelta

from pegwood.book import hearing
from pegwood.book.models import Job, SaidProposal
from pegwood.demo.world import NarrationEntry

#: One press after the other.
PRESSED = timedelta(seconds=4)


def dictate(job: Job, entry: NarrationEntry, *, by: str, at: datetime) -> None:
    """
    Take the narration in, and keep some of what was heard; the rest stays open, so that the page shows both.

    Raises
    ------
    Refused
        If there are no words in it.
    """
    narration = hearing.take_narration(job, text=entry.text, by=by, at=at)
    for proposal in narration.proposals.exclude(kind=SaidProposal.Kind.UNPLACED):
        if hearing.told_of(proposal).in_short in entry.keep:
            at += PRESSED
            hearing.keep(proposal, by=by, at=at)
