"""What was gauged of a job, as found and as left: for the job card and the instruments' own pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.book.gauging import WAYS, way_of
from pegwood.book.models import Job, Measurement
from pegwood.papers.beside import Beside
from pegwood.papers.gauged import gauged as side_by_side
from pegwood.web.local import locale


@dataclass(frozen=True, kw_only=True)
class Gauged:
    """
    All that is accepted of a job's other instruments.

    Attributes
    ----------
    job : Job
    rows : tuple of (str, Beside)
        The way, and what it says as found and as left.
    not_accepted : int
        How many readings wait for a word.
    """

    job: Job
    rows: tuple[tuple[str, Beside], ...]
    not_accepted: int


def gauged(job: Job) -> Gauged:
    """What a job's other instruments say: for the card's part `parts/gauges_summary.html`."""
    measured = list(job.measurements.exclude(instrument="shutter").filter(set_aside=False).defer("curves"))
    rows = []
    for way in WAYS:
        of_way = [one for one in measured if one.phase and one.settings.get("way") == way]
        rows += [(way, beside) for beside in by_mark(of_way)]
    waiting = sum(not one.phase and one.progress == Measurement.Progress.READ for one in measured)
    return Gauged(job=job, rows=tuple(rows), not_accepted=waiting)


def by_mark(accepted: Sequence[Measurement]) -> tuple[Beside, ...]:
    """Accepted gaugings of one way, mark by mark in the order of the marks, as found beside as left."""
    marks: dict[str, dict[str, Measurement]] = {}
    for one in accepted:
        marks.setdefault(one.marked, {})[one.phase] = one
    shown = []
    for marked, sides in sorted(marks.items(), key=lambda item: _by_size(item[0])):
        found, left = (
            it.result if (it := sides.get(phase)) else None for phase in Measurement.Phase.values[1:]
        )
        way = way_of(next(iter(sides.values())))
        if way is None:
            continue
        if beside := side_by_side(way.id, way.words, marked, found, left, locale()):
            shown.append(beside)
    return tuple(shown)


def _by_size(marked: str) -> tuple[float, str]:
    try:
        return float(marked.replace(",", ".")), marked
    except ValueError:
        return float("inf"), marked
