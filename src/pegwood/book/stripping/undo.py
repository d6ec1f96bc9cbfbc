"""Taking the last press back."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.looking import strike_out
from pegwood.book.models import Job, TakenOff
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.stripping.back import take_out_again
from pegwood.book.stripping.off import step_as_plain
from pegwood.book.stripping.way_in import begun


@transaction.atomic
def undo(job: Job, *, by: str, at: datetime | None = None) -> TakenOff:
    """
    Take the last press back: the last part that came off, or the last that went in again.

    Raises
    ------
    Refused
        If there is nothing to take back, or the job is over.
    """
    at = at or timezone.now()
    job = locked_open(job)
    strip_down = begun(job)
    rows = list(TakenOff.objects.filter(job=job))
    if not rows:
        raise Refused("Nothing has come off yet: there is nothing to take back.")
    last_off = rows[-1]
    last_back = max((row for row in rows if row.back_at), key=lambda row: row.back_at or at, default=None)
    if last_back is not None and (last_back.back_at or at) >= last_off.at:
        return take_out_again(job, last_back, by=by, at=at)
    if strip_down.clock_from is not None and last_off.seconds is not None:
        strip_down.clock_from = last_off.at - timedelta(seconds=last_off.seconds)
        strip_down.save(update_fields=["clock_from"])
    last_off.struck_out = True
    last_off.save(update_fields=["struck_out"])
    for finding in last_off.findings.all():
        strike_out(finding, "the step it was seen at was taken back", by=by, at=at)
    diary.write(
        job,
        by=by,
        at=at,
        what="took back a step",
        text=last_off.name,
        old=step_as_plain(last_off, list(last_off.kept.all())),
    )
    return last_off
