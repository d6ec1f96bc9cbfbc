"""From the log of a strip-down to its tray sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pegwood.book.models import Job, Kept, TakenOff
from pegwood.book.stripping.kept import described
from pegwood.book.stripping.pockets import MOST_TRAYS
from pegwood.book.stripping.record import steps_of
from pegwood.book.stripping.trays import PocketShown, trays_of
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.papers.desk import Desk, camera_of, head_of
from pegwood.papers.tray_sheet import Lying, Pocket, Tray, Trays


def trays(job: Job, desk: Desk) -> Trays:
    """The trays in use, and the next one, empty, for what comes off after this was printed."""
    strip_down, rows = strip_down_of(job), steps_of(job)
    shown = trays_of(strip_down, tuple(rows))
    last = max((tray.number for tray in shown), default=0)
    following = (Tray(number=last + 1),) if last < MOST_TRAYS else ()
    noted: set[int] = set()  # steps whose notes stand in some pocket
    in_use = tuple(
        Tray(
            number=tray.number,
            pockets=tuple(
                Pocket(number=pocket.number, lying=tuple(_in_pocket(pocket, noted)))
                for pocket in tray.pockets
                if pocket.lying
            ),
        )
        for tray in shown
    )
    head = head_of(job, desk)
    return Trays(
        head=replace(head, tag=replace(head.tag, who="")),
        camera=camera_of(job, desk),
        columns=strip_down.tray_columns,
        rows=strip_down.tray_rows,
        trays=in_use + following,
        beside=tuple(line for row in rows for line in _beside(row, noted)),
    )


def _in_pocket(pocket: PocketShown, noted: set[int]) -> Iterator[Lying]:
    """
    What lies in a pocket, step by step.

    Notes stand with their part; where that lies beside the trays, with the first thing kept of it.
    """
    for step in dict.fromkeys(one.step for one in pocket.lying):
        here = [one for one in pocket.lying if one.step == step]
        part = any(one.kept is None for one in here)
        notes = part or (step.pk not in noted and not _has_pocket(step))
        if notes:
            noted.add(step.pk)
        yield from _lines(step, [one.kept for one in here if one.kept], part=part, notes=notes)


def _beside(step: TakenOff, noted: set[int]) -> Iterator[Lying]:
    """What of a step lies beside the trays and is still out, with notes that stand in no pocket."""
    part = step.tray is None and step.is_out and step.met == TakenOff.Met.THERE
    kept = [one for one in step.kept.all() if one.tray is None and one.is_out]
    if part or kept:
        yield from _lines(step, kept, part=part, notes=part and step.pk not in noted)


def _has_pocket(step: TakenOff) -> bool:
    return step.tray is not None and step.met == TakenOff.Met.THERE


def _lines(step: TakenOff, kept: Iterable[Kept], *, part: bool, notes: bool) -> Iterator[Lying]:
    """The part, or whose the rest is; its notes; what was kept of it."""
    kept = list(kept)
    yield Lying(
        step=step.number,
        role="part" if part else "of",
        text=step.name,
        waits=step.get_awaits_display() if part and step.awaits else "",
        out=step.is_out if part else any(one.is_out for one in kept),
        explained=step.explained if part and not step.is_back else "",
    )
    for note in step.notes if notes else ():
        yield Lying(
            step=step.number, role="note", text=f"{note['kind']}: {note['says']}", out=not step.is_back
        )
    for one in kept:
        yield Lying(
            step=step.number,
            role="kept",
            text=described(one),
            out=one.is_out,
            back=one.back if one.back < one.count else 0,
            explained=one.explained if one.back < one.count else "",
        )
