"""Work at the bench, and the gear it is measured with."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary, search
from pegwood.book.models import Gear, Job, Work
from pegwood.book.refusal import Refused


@transaction.atomic
def log_work(
    job: Job,
    done: str,
    *,
    by: str,
    part: str = "",
    minutes: int | None = None,
    at: datetime | None = None,
) -> Work:
    """
    Write down a piece of work done.

    Raises
    ------
    Refused
        If nothing says what was done, the minutes cannot be, or the job is over.
    """
    at = at or timezone.now()
    if job.is_over:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'. Write a remark instead.")
    if not done.strip():
        raise Refused("What was done? Write it, such as 'cleaned the blades in naphtha'.")
    if minutes is not None and not 0 <= minutes <= 10_000:
        raise Refused(f"{minutes} minutes cannot be. Expected 0 to 10000.")
    work = Work.objects.create(job=job, done=done.strip(), part=part.strip(), minutes=minutes, at=at, by=by)
    search.index_job(job)
    diary.write(job, by=by, at=at, what="did", text=work.done, new={"part": work.part, "minutes": minutes})
    return work


@transaction.atomic
def list_gear(
    name: str,
    *,
    by: str,
    serial: str = "",
    checked_on: date | None = None,
    note: str = "",
    at: datetime | None = None,
) -> Gear:
    """Enter something the workshop measures with, or when it was last checked."""
    if not name.strip():
        raise Refused("The gear needs a name, such as 'light gate'.")
    gear, _ = Gear.objects.update_or_create(
        name=name.strip(), serial=serial.strip(), defaults={"checked_on": checked_on, "note": note.strip()}
    )
    diary.write(
        None,
        by=by,
        at=at or timezone.now(),
        what="listed gear",
        new={"gear": str(gear), "checked_on": checked_on, "note": gear.note},
    )
    return gear
