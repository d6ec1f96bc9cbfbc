"""Work at the bench, and the gear it is measured with."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary, search
from pegwood.book.models import Gear, Job, Work
from pegwood.book.moving import locked_open
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
    job = locked_open(job)
    if not done.strip():
        raise Refused("What was done? Write it, such as 'cleaned the blades in naphtha'.")
    if minutes is not None and not 0 <= minutes <= 10_000:
        raise Refused(f"{minutes} minutes cannot be. Expected 0 to 10000.")
    work = Work.objects.create(job=job, done=done.strip(), part=part.strip(), minutes=minutes, at=at, by=by)
    search.index_job(job)
    diary.write(job, by=by, at=at, what="did", text=work.done, new={"part": work.part, "minutes": minutes})
    return work


@transaction.atomic
def strike_out_work(work: Work, reason: str, *, by: str, at: datetime | None = None) -> None:
    """Take a piece of work off the card that was written on the wrong job. It stays in the diary."""
    work = Work.everything.select_for_update().select_related("job").get(pk=work.pk)
    if work.struck_out:
        return
    work.struck_out = True
    work.save()
    search.index_job(work.job)
    diary.write(
        work.job,
        by=by,
        at=at or timezone.now(),
        what="struck out work",
        text=reason.strip(),
        old={"work": work.pk, "part": work.part, "done": work.done, "minutes": work.minutes},
    )


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
    """
    Enter something the workshop measures with, or what has changed about it.

    What is not given of gear already listed stays as it was.

    Raises
    ------
    Refused
        If it has no name.
    """
    if not name.strip():
        raise Refused("The gear needs a name, such as 'light gate'.")
    gear, is_new = Gear.objects.get_or_create(name=name.strip(), serial=serial.strip())
    before = diary.values(gear, ("checked_on", "note"))
    gear.checked_on = checked_on or gear.checked_on
    gear.note = note.strip() or gear.note
    old, new = diary.changes(before, diary.values(gear, ("checked_on", "note")))
    if is_new or new:
        gear.save()
        diary.write(
            None,
            by=by,
            at=at or timezone.now(),
            what="listed gear",
            text=str(gear),
            old=None if is_new else old,
            new=new,
        )
    return gear
