"""Mends that were tried on faults; each is a piece of work."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book.benchwork import log_work
from pegwood.book.models import Job, MendDone
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import construction_for, the_causes
from pegwood.book.weighing.ruling import rule


@transaction.atomic
def log_mend(
    job: Job,
    fault: str,
    mend: str,
    *,
    by: str,
    minutes: int | None = None,
    worked: bool = True,
    at: datetime | None = None,
) -> MendDone:
    """
    Write down a mend as work done; who mends a fault has found it.

    Parameters
    ----------
    fault : str
        By id in the camera's family.
    mend : str
        By its name among the fault's mends.
    minutes : int, optional
        What it took, [min].
    worked : bool
        Whether it did the job there and then.

    Raises
    ------
    Refused
        If the family knows no such fault or mend, the minutes cannot be, or the job is over.
    """
    at = at or timezone.now()
    job = locked_open(job)
    causes = the_causes(job)
    known = causes.faults.get(fault)
    if known is None:
        raise Refused(f"{fault!r} is no fault that such a camera is known to have.")
    if mend not in {one.name for one in known.mends}:
        raise Refused(f"No mend of '{known.name}' is called {mend!r}.")
    rule(job, fault, True, by=by, at=at)
    construction = construction_for(job)
    part = construction.parts[known.part].name if construction else known.part
    done = f"{known.name}: {mend}" if worked else f"{known.name}: {mend}. It did not do"
    work = log_work(job, done, part=part, minutes=minutes, by=by, at=at)
    return MendDone.objects.create(job=job, fault=fault, mend=mend, worked=worked, work=work, at=at, by=by)
