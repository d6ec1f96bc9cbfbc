"""What is to be reached, and the clock of the bench."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import get_args

from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.parts import JoinKind, Side
from pegwood.book import diary
from pegwood.book.families import construction_of
from pegwood.book.models import Job, StripDown
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.workshop import workshop

#: A step that seems to have taken longer was left lying: its time is not known, [s].
LONGEST_STEP_S = 4 * 3600.0
AIM_FIELDS = ("family", "reach", "spare", "avoid", "only_from", "without")


@dataclass(frozen=True, kw_only=True)
class Aim:
    """
    What is to be reached, and how.

    Attributes
    ----------
    reach, spare : tuple of str
        Parts of the family by id: to take off; to leave where they are.
    avoid : tuple of str
        Kinds of joins that are not to be opened: "glue".
    only_from : str
        The side of the body to work from: "base"; empty for any.
    without : tuple of (str, str)
        Ways that are not to be gone: a part, and the way's name.
    family : str
        The construction it is taken for; empty for the one of the camera's family.
    """

    reach: tuple[str, ...] = ()
    spare: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    only_from: str = ""
    without: tuple[tuple[str, str], ...] = ()
    family: str = ""


def strip_down_of(job: Job) -> StripDown:
    """The job's strip-down; one that is not in the book yet where none was begun."""
    begun = StripDown.objects.filter(job=job).first()
    return begun or _fresh(job)


def _fresh(job: Job) -> StripDown:
    ours = workshop()
    return StripDown(
        job=job, family=job.camera.family, tray_columns=ours.tray_columns, tray_rows=ours.tray_rows
    )


def begun(job: Job) -> StripDown:
    """The job's strip-down, held until the transaction ends; begun now where there was none."""
    _fresh_one = _fresh(job)
    StripDown.objects.get_or_create(
        job=job,
        defaults={
            "family": _fresh_one.family,
            "tray_columns": _fresh_one.tray_columns,
            "tray_rows": _fresh_one.tray_rows,
        },
    )
    return StripDown.objects.select_for_update().get(job=job)


@transaction.atomic
def take_aim(job: Job, aim: Aim, *, by: str, at: datetime | None = None) -> StripDown:
    """
    Say what is to be reached, and how.

    Raises
    ------
    Refused
        If the family is not known, a part is none of it, or the job is over.
    """
    job = locked_open(job)
    strip_down = begun(job)
    family = aim.family or strip_down.family
    construction = construction_of(family)
    for part in (*aim.reach, *aim.spare, *(part for part, _ in aim.without)):
        if construction is None or part not in construction.parts:
            raise Refused(f"{part!r} is no part of such a camera. Choose it from the list.")
    if strange := [one for one in aim.avoid if one not in get_args(JoinKind)]:
        raise Refused(f"No join is called {strange[0]!r}. They are: {', '.join(get_args(JoinKind))}.")
    if aim.only_from and aim.only_from not in get_args(Side):
        raise Refused(f"There is no side {aim.only_from!r}. They are: {', '.join(get_args(Side))}.")
    before = diary.values(strip_down, AIM_FIELDS)
    strip_down.family = family
    strip_down.reach, strip_down.spare = list(aim.reach), list(aim.spare)
    strip_down.avoid, strip_down.only_from = list(aim.avoid), aim.only_from
    strip_down.without = [list(one) for one in aim.without]
    old, new = diary.changes(before, diary.values(strip_down, AIM_FIELDS))
    if new:
        strip_down.save()
        diary.write(job, by=by, at=at or timezone.now(), what="planned the way in", old=old, new=new)
    return strip_down


@transaction.atomic
def run_clock(job: Job, *, by: str, at: datetime | None = None) -> StripDown:
    """Let the clock run: what is done from now on takes its time."""
    at = at or timezone.now()
    strip_down = begun(locked_open(job))
    if strip_down.clock_from is None:
        strip_down.clock_from = at
        strip_down.save(update_fields=["clock_from"])
        diary.write(job, by=by, at=at, what="let the clock run")
    return strip_down


@transaction.atomic
def stop_clock(job: Job, *, by: str, at: datetime | None = None) -> StripDown:
    """Let the clock stand: the step that is being done will have no time of its own."""
    strip_down = begun(locked_open(job))
    if strip_down.clock_from is not None:
        strip_down.clock_from = None
        strip_down.save(update_fields=["clock_from"])
        diary.write(job, by=by, at=at or timezone.now(), what="let the clock stand")
    return strip_down


def seconds_of(strip_down: StripDown, at: datetime) -> float | None:
    """What the step that ends now took by the clock, [s]; None where the clock stood or was forgotten."""
    if strip_down.clock_from is None:
        return None
    took = (at - strip_down.clock_from).total_seconds()
    return took if 0 < took <= LONGEST_STEP_S else None
