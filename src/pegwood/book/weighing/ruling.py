"""Faults that somebody found, or found not to be there."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import FaultRuling, Job
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.case import case_of
from pegwood.book.weighing.taking_back import take_back
from pegwood.causes.weighing import weigh


@transaction.atomic
def rule(job: Job, fault: str, there: bool, *, by: str, at: datetime | None = None) -> FaultRuling:
    """
    Say that a fault is there, or that it is not; what was said before is struck out.

    How likely it was held just before is kept beside it: predictions are scored by that.

    Raises
    ------
    Refused
        If the camera's family has no such fault, or the job is over.
    """
    at = at or timezone.now()
    job = locked_open(job)
    causes = the_causes(job)
    if fault not in causes.faults:
        raise Refused(f"{fault!r} is no fault that such a camera is known to have.")
    before = FaultRuling.objects.filter(job=job, fault=fault).first()
    if before is not None:
        if before.there == there:
            return before
        before.struck_out = True
        before.save(update_fields=["struck_out"])
    weighed = weigh(causes, case_of(job, causes))
    row = FaultRuling.objects.create(
        job=job,
        fault=fault,
        there=there,
        chance_before=None if weighed.approximate else weighed.chances[fault],
        at=at,
        by=by,
    )
    diary.write(
        job,
        by=by,
        at=at,
        what="found the fault" if there else "ruled a fault out",
        text=causes.faults[fault].name,
        old={"there": before.there} if before else None,
        new={"fault": fault, "there": there},
    )
    return row


@transaction.atomic
def withdraw(row: FaultRuling, *, by: str, at: datetime | None = None) -> None:
    """Take a ruling back: nobody knows again. It stays in the diary."""
    old = {"fault": row.fault, "there": row.there}
    take_back(FaultRuling, row.pk, what="took back a ruling", old=old, by=by, at=at)
