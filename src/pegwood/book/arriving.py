"""A camera comes in at the door."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import connection, models, transaction
from django.db.models import Max
from django.utils import timezone

from pegwood.book import diary, search
from pegwood.book.families import families
from pegwood.book.looking import add_photo
from pegwood.book.models import Camera, DiaryEntry, Draft, Job, Owner, StoredFile
from pegwood.book.refusal import Refused
from pegwood.book.states import OVER, Standing
from pegwood.book.workshop import workshop

#: Any number that nothing else in this database locks by.
TAKE_IN_LOCK = 8417
OWNER_FIELDS = ("name", "phone", "email", "address", "note")
CAMERA_FIELDS = ("family", "maker", "model", "serial", "lens", "lens_serial", "shutter", "year_made", "note")


@dataclass(frozen=True, kw_only=True)
class OwnerDetails:
    """Who somebody is and how to reach them."""

    name: str
    phone: str = ""
    email: str = ""
    address: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class CameraDetails:
    """What a camera is, as far as can be seen from outside. `family` is a slug of `pegwood.anatomy`."""

    family: str = "other"
    maker: str = ""
    model: str = ""
    serial: str = ""
    lens: str = ""
    lens_serial: str = ""
    shutter: str = ""
    year_made: int | None = None
    note: str = ""


@transaction.atomic
def register_owner(details: OwnerDetails, *, by: str, at: datetime | None = None) -> Owner:
    """
    Enter somebody who brings cameras.

    Raises
    ------
    Refused
        If there is no name, or the e-mail address cannot be one.
    """
    at = at or timezone.now()
    owner = Owner(**_stripped(details), known_since=at)
    _check(owner)
    owner.save()
    search.index_owner(owner)
    entered = {"owner": owner.pk, **diary.values(owner, OWNER_FIELDS)}
    diary.write(None, by=by, at=at, what="entered an owner", text=owner.name, new=entered)
    return owner


@transaction.atomic
def amend_owner(owner: Owner, details: OwnerDetails, *, by: str, at: datetime | None = None) -> Owner:
    """Correct what is known of an owner; the diary keeps how it stood before."""
    owner = Owner.objects.select_for_update().get(pk=owner.pk)
    before = diary.values(owner, OWNER_FIELDS)
    _set(owner, details)
    old, new = diary.changes(before, diary.values(owner, OWNER_FIELDS))
    if new:
        owner.save()
        search.index_owner(owner)
        for job in owner.jobs.all():
            search.index_job(job)
        diary.write(
            None,
            by=by,
            at=at or timezone.now(),
            what="amended an owner",
            text=owner.name,
            old={"owner": owner.pk, **old},
            new={"owner": owner.pk, **new},
        )
    return owner


@transaction.atomic
def take_in(
    owner: Owner | OwnerDetails,
    camera: Camera | CameraDetails,
    *,
    by: str,
    story: str = "",
    accessories: str = "",
    promised_on: date | None = None,
    photos: Sequence[StoredFile] = (),
    ticket: UUID | None = None,
    comeback_of: Job | None = None,
    at: datetime | None = None,
) -> Job:
    """
    Open a job for a camera that has come in.

    Parameters
    ----------
    owner : Owner or OwnerDetails
        Somebody known, or somebody new who is entered along with it.
    camera : Camera or CameraDetails
        A camera that was here before, or one seen for the first time.
    story, accessories : str
        What the owner tells, in the owner's own words; what was handed in with the camera.
    promised_on : date, optional
        The day the owner was told.
    photos : sequence of StoredFile
        Photographs already in the store (`looking.keep_photo`).
    ticket : UUID, optional
        The form this comes from. A form sent twice opens one job; the second time returns the first's. What
        was kept of the form as a draft is dropped.
    comeback_of : Job, optional
        The job whose guarantee the camera comes back under.

    Raises
    ------
    Refused
        If the owner has no name, nothing says what the camera is, or the promise lies before the arrival.
    """
    at = at or timezone.now()
    _one_at_a_time()
    if ticket is not None and (already := Job.objects.filter(ticket=ticket).first()):
        return already
    _check_promise(promised_on, at)
    if isinstance(owner, OwnerDetails):
        owner = register_owner(owner, by=by, at=at)
    if isinstance(camera, CameraDetails):
        camera = _enter_camera(owner, camera)
    elif open_job := camera.jobs.exclude(standing__in=OVER).first():
        raise Refused(f"This camera is here already: job {open_job.number} is open. Go on with that one.")
    chosen = workshop()
    job = Job.objects.create(
        number=(Job.objects.aggregate(last=Max("number"))["last"] or 0) + 1,
        owner=owner,
        camera=camera,
        stands_since=at,
        story=story.strip(),
        accessories=accessories.strip(),
        arrived_at=at,
        promised_on=promised_on,
        currency=chosen.currency,
        guarantee_months=chosen.guarantee_months,
        comeback_of=comeback_of,
        ticket=ticket,
    )
    search.index_job(job)
    diary.write(
        job,
        by=by,
        at=at,
        what="took in",
        text=job.story,
        new={
            "camera": diary.values(camera, CAMERA_FIELDS),
            "owner": owner.name,
            "accessories": job.accessories,
            "promised_on": promised_on and promised_on.isoformat(),
            "comeback_of": comeback_of and comeback_of.number,
        },
    )
    for photo in photos:
        add_photo(job, photo, by=by, at=at)
    if ticket is not None:
        Draft.objects.filter(ticket=ticket).delete()
    return job


def come_back(
    old: Job,
    *,
    by: str,
    story: str = "",
    accessories: str = "",
    promised_on: date | None = None,
    photos: Sequence[StoredFile] = (),
    ticket: UUID | None = None,
    at: datetime | None = None,
) -> Job:
    """
    Take in again a camera that went home from this workshop: a new job that points at the old one.

    Raises
    ------
    Refused
        If the old job has not gone home.
    """
    if old.stands is not Standing.GONE_HOME:
        raise Refused(f"Job {old.number} has not gone home; it stands at '{old.standing}'.")
    return take_in(
        old.owner,
        old.camera,
        by=by,
        story=story,
        accessories=accessories,
        promised_on=promised_on,
        photos=photos,
        ticket=ticket,
        comeback_of=old,
        at=at,
    )


@transaction.atomic
def amend_camera(job: Job, details: CameraDetails, *, by: str, at: datetime | None = None) -> Camera:
    """Correct what the camera is, once it has been seen better; the diary keeps how it stood before."""
    camera = Camera.objects.select_for_update().get(pk=job.camera_id)
    before = diary.values(camera, CAMERA_FIELDS)
    _set(camera, details)
    _need_something(details)
    old, new = diary.changes(before, diary.values(camera, CAMERA_FIELDS))
    if new:
        camera.save()
        for visit in camera.jobs.all():
            search.index_job(visit)
        diary.write(job, by=by, at=at or timezone.now(), what="amended the camera", old=old, new=new)
    return camera


@transaction.atomic
def amend_job(
    job: Job,
    *,
    by: str,
    story: str | None = None,
    accessories: str | None = None,
    promised_on: date | None = None,
    nothing_promised: bool = False,
    at: datetime | None = None,
) -> Job:
    """
    Correct the story, the accessories or the promised day; what is None stays as it is.

    `nothing_promised` takes a promised day back.
    """
    job = Job.objects.select_for_update().get(pk=job.pk)
    given = {"story": story, "accessories": accessories, "promised_on": promised_on}
    given = {name: value for name, value in given.items() if value is not None}
    if nothing_promised:
        given["promised_on"] = None
    if promised_on != job.promised_on:
        _check_promise(promised_on, at or timezone.now())
    before = diary.values(job, given)
    for name, value in given.items():
        setattr(job, name, value)
    old, new = diary.changes(before, diary.values(job, given))
    if new:
        job.save()
        search.index_job(job)
        diary.write(job, by=by, at=at or timezone.now(), what="amended the job", old=old, new=new)
    return job


@transaction.atomic
def remark(job: Job, text: str, *, by: str, at: datetime | None = None) -> DiaryEntry:
    """
    Write something into the diary that is neither a finding nor work ("owner rang, is in no hurry").

    Raises
    ------
    Refused
        If there is nothing written.
    """
    if not text.strip():
        raise Refused("The remark is empty. Write what should be remembered.")
    entry = diary.write(job, by=by, at=at or timezone.now(), what="remarked", text=text.strip())
    search.index_job(job)
    return entry


def _one_at_a_time() -> None:
    """Two take-ins at once must not get one number, nor one form two jobs."""
    if connection.vendor == "postgresql":  # SQLite's write lock sees to it already
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [TAKE_IN_LOCK])


def _enter_camera(owner: Owner, details: CameraDetails) -> Camera:
    _need_something(details)
    camera = Camera(owner=owner, **_stripped(details))
    _check(camera)
    camera.save()
    return camera


def _check_promise(promised_on: date | None, at: datetime) -> None:
    if promised_on is not None and promised_on < at.astimezone(workshop().zone).date():
        raise Refused(f"The promised day {promised_on} is past. Choose today or a later day.")


def _need_something(details: CameraDetails) -> None:
    if details.family and details.family not in families():
        raise Refused(f"There is no kind of camera '{details.family}'. There are: {', '.join(families())}.")
    if details.family in {"", "other"} and not (details.maker.strip() or details.model.strip()):
        raise Refused("Nothing says what the camera is. Choose its kind, or write its maker or model.")


def _stripped(details: OwnerDetails | CameraDetails) -> dict[str, Any]:
    return {n: v.strip() if isinstance(v, str) else v for n, v in vars(details).items()}


def _set(row: models.Model, details: OwnerDetails | CameraDetails) -> None:
    for name, value in _stripped(details).items():
        setattr(row, name, value)
    _check(row)


def _check(row: models.Model) -> None:
    """Say in one line what is wrong with a row, before the database does."""
    try:
        row.clean_fields()
    except ValidationError as error:
        wrong = "; ".join(f"{n.replace('_', ' ')}: {' '.join(m)}" for n, m in error.message_dict.items())
        raise Refused(wrong) from error
