"""What is wrong with a camera in a few words, for the job card."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.book.models import Job
from pegwood.web.causes.shown import Bar, plain_bars
from pegwood.web.causes.stage import stage_of

MOST_LIKELY = 3


@dataclass(frozen=True)
class CausesSummary:
    """
    What the card says of it.

    Attributes
    ----------
    found, likely : tuple of Bar
        What somebody found, and the likeliest besides; both empty where nothing was told or seen yet.
    looks : int
        How many were made.
    is_fresh, does_not_fit : bool
        Whether nothing was told or seen yet; whether something seen is explained by none.
    """

    found: tuple[Bar, ...]
    likely: tuple[Bar, ...]
    looks: int
    is_fresh: bool
    does_not_fit: bool


def summary(job: Job) -> CausesSummary | None:
    """What the card says; None where nothing can be weighed, or nothing was and the job is over."""
    stage = stage_of(job)
    if stage is None or (stage.is_fresh and job.is_over):
        return None
    if stage.is_bare:
        return CausesSummary((), (), 0, True, False)
    found, likely = plain_bars(stage.construction, stage.weighed, stage.mended, MOST_LIKELY)
    unfit = not stage.weighed.is_possible or bool(stage.weighed.unexplained)
    return CausesSummary(found, likely, len(stage.answers), False, unfit)
