"""From accepted readings of the other instruments to what stands of them on a certificate."""

from __future__ import annotations

from pegwood.book.gauging import WAYS, way_of
from pegwood.book.models import Job, Measurement
from pegwood.papers import beside, figures
from pegwood.papers.content import BesideRow, Gauged
from pegwood.papers.desk import Desk
from pegwood.papers.gauged import gauged


def gauged_of(job: Job, desk: Desk) -> tuple[Gauged, ...]:
    """
    All that is accepted of a job's other instruments, in the order in which a camera is gone through.

    Parameters
    ----------
    job : Job
    desk : Desk

    Returns
    -------
    gauged : tuple of Gauged
        Empty where nothing is.
    """
    accepted = job.measurements.exclude(instrument="shutter").exclude(phase="").filter(set_aside=False)
    marks: dict[tuple[str, str], dict[str, Measurement]] = {}
    for one in accepted:
        way = way_of(one)
        if way is not None:
            marks.setdefault((way.id, one.marked), {})[one.phase] = one
    order = list(WAYS)
    shown = []
    for (way_id, marked), sides in sorted(
        marks.items(), key=lambda item: (order.index(item[0][0]), item[0][1])
    ):
        if (told := _one(way_id, marked, sides, desk)) is not None:
            shown.append(told)
    return tuple(shown)


def _one(way: str, marked: str, sides: dict[str, Measurement], desk: Desk) -> Gauged | None:
    found, left = (it.result if (it := sides.get(phase)) else None for phase in Measurement.Phase.values[1:])
    locale = desk.shop.locale
    told = gauged(way, WAYS[way].words, marked, found, left, locale)
    if told is None:
        return None
    days = dict.fromkeys(figures.long_date(one.at.date().isoformat(), locale) for one in sides.values())
    return Gauged(
        marked=marked,
        what=told.what,
        rows=rows_of(told),
        notes=told.notes,
        by=", ".join(dict.fromkeys(one.by for one in sides.values())),
        measured_on=", ".join(days),
    )


def rows_of(one: beside.Beside) -> tuple[BesideRow, ...]:
    """Rows as a certificate holds them."""

    def said(side: beside.Side | None) -> tuple[str, str]:
        return (side.text, side.verdict) if side else ("", "")

    rows = []
    for row in one.rows:
        (text, verdict), (left_text, left_verdict) = said(row.found), said(row.left)
        rows.append(
            BesideRow(
                label=row.label,
                found=text,
                found_verdict=verdict,
                left=left_text,
                left_verdict=left_verdict,
            )
        )
    return tuple(rows)
