"""From what was dictated and confirmed to the record of a strip-down."""

from __future__ import annotations

from collections.abc import Iterator

from pegwood.book.hearing import told_of
from pegwood.book.models import Job, Narration, SaidProposal
from pegwood.book.told import moment
from pegwood.papers.desk import Desk, RefusedPaper, camera_of, head_of, owner_of
from pegwood.papers.record import Noted, Record, Telling


def record(job: Job, desk: Desk) -> Record:
    """
    What was kept or mended of all that was dictated, as it stands on the card now.

    What was dropped, what is open, what was struck out since, and knowledge about such cameras in general are
    not in it.
    """
    tellings = []
    for narration in job.narrations.order_by("at", "pk"):
        noted = tuple(_noted(narration))
        if noted:
            day = desk.day(narration.at) or ""
            tellings.append(Telling(on=day, by=narration.by, noted=noted))
    if not tellings:
        raise RefusedPaper(
            "Nothing that was dictated is confirmed yet. Dictate first, and keep what was heard."
        )
    return Record(
        head=head_of(job, desk), owner=owner_of(job), camera=camera_of(job, desk), tellings=tuple(tellings)
    )


def _noted(narration: Narration) -> Iterator[Noted]:
    settled = (SaidProposal.State.KEPT, SaidProposal.State.MENDED)
    rows = narration.proposals.filter(state__in=settled).select_related("finding", "work", "remark")
    for one in rows.order_by("begins", "order"):
        told = told_of(one)
        if one.finding is not None and not one.finding.struck_out:
            found = one.finding
            yield Noted(
                kind="seen",
                part=found.part,
                says=found.condition,
                at=moment(one.at_s),
                grade=found.grade,
                place=found.place,
                cause=told.cause,
                surmise=found.condition.startswith(("possibly ", "probably ")),
                earlier=told.earlier_repair,
                outlook=found.outlook,  # type: ignore[arg-type]
            )
        elif one.work is not None and not one.work.struck_out:
            yield Noted(kind="done", part=one.work.part, says=one.work.done, at=moment(one.at_s))
        elif one.remark is not None and told.kind == SaidProposal.Kind.WORK:
            says = told.work_said
            yield Noted(kind="to do", part=told.part, says=says[:1].upper() + says[1:], at=moment(one.at_s))
