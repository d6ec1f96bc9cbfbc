"""Cameras kept for their parts: what is still in them, and parts that come out one by one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.parts import Part
from pegwood.book import diary
from pegwood.book.families import construction_of, families
from pegwood.book.models import Donor, DonorPart, Job, Spare, TakenOff
from pegwood.book.moving import locked
from pegwood.book.refusal import Refused
from pegwood.book.spares.putting import SpareDetails, part_of, put_on_shelf
from pegwood.book.spares.worded import worded
from pegwood.book.states import Standing
from pegwood.pricing.money import Money

LONGEST = {"maker": 80, "model": 80, "serial": 60, "place": 120, "note": 500}


@dataclass(frozen=True, kw_only=True)
class DonorDetails:
    """A camera that is kept for its parts; `family` is the kind of camera, by slug."""

    family: str
    maker: str = ""
    model: str = ""
    serial: str = ""
    place: str = ""
    note: str = ""
    cost: Money | None = None


@transaction.atomic
def keep_donor(
    details: DonorDetails, *, by: str, job: Job | None = None, at: datetime | None = None
) -> Donor:
    """
    Keep a camera for its parts.

    Raises
    ------
    Refused
        If the kind of camera is not known, or a figure cannot be.
    """
    at = at or timezone.now()
    told = worded(details, LONGEST)
    if details.family not in families():
        raise Refused(f"There is no kind of camera {details.family!r}. Choose it from the list.")
    if details.cost is not None and details.cost.minor < 0:
        raise Refused("A cost below nothing cannot be. Write what it cost, or leave it open.")
    donor = Donor.objects.create(
        **told,
        family=details.family,
        job=job,
        cost_minor=details.cost.minor if details.cost else None,
        currency=details.cost.currency if details.cost else "",
        at=at,
        by=by,
    )
    new = {"donor": donor.pk, **diary.values(donor, ("family", "serial", "place", "cost_minor", "currency"))}
    diary.write(job, by=by, at=at, what="put among the donors", text=str(donor), new=new)
    return donor


@transaction.atomic
def donor_from(job: Job, *, by: str, place: str = "", at: datetime | None = None) -> Donor:
    """
    Make a donor of a job's camera that was kept for parts; the one there is, where it was made already, even
    if it was let go since.

    What was found missing in it, or is known never to have been fitted, is not in it.

    Raises
    ------
    Refused
        If the job does not stand at 'kept for parts'.
    """
    at = at or timezone.now()
    job = locked(job)
    if before := Donor.everything.filter(job=job).first():
        return before
    if job.stands is not Standing.KEPT:
        raise Refused(
            f"Job {job.number} stands at '{job.standing}'. Keep the camera for parts first: that asks how "
            "the owner left it to you."
        )
    camera = job.camera
    details = DonorDetails(
        family=camera.family, maker=camera.maker, model=camera.model, serial=camera.serial, place=place
    )
    donor = keep_donor(details, job=job, by=by, at=at)
    missing = TakenOff.objects.filter(job=job).exclude(met=TakenOff.Met.THERE)
    for row in missing:
        if not row.part or not DonorPart.objects.filter(donor=donor, part=row.part).exists():
            DonorPart.objects.create(
                donor=donor, part=row.part, name=row.name, reason=row.get_met_display(), at=at, by=by
            )
    return donor


@transaction.atomic
def take_out(donor: Donor, details: SpareDetails, *, by: str, at: datetime | None = None) -> Spare:
    """
    Take a part out of a donor and lay it on the shelf; kind and make of camera are the donor's.

    Raises
    ------
    Refused
        If it is out already, the donor is gone, or as `put_on_shelf`.
    """
    at = at or timezone.now()
    donor = _held(donor)
    part = part_of(donor.family, details.name, details.part)
    _check_in_it(donor, part, details.name)
    details = replace(details, family=donor.family, part=part, maker=donor.maker, model=donor.model)
    spare = put_on_shelf(details, donor=donor, by=by, at=at)
    DonorPart.objects.create(donor=donor, part=part, name=spare.name, spare=spare, at=at, by=by)
    return spare


@transaction.atomic
def not_in_it(
    donor: Donor, part: str, *, by: str, name: str = "", reason: str = "", at: datetime | None = None
) -> DonorPart:
    """
    Say that a part is not in a donor, or is no use: it went with another, was broken, or never was there.

    Raises
    ------
    Refused
        If it is out already, or its kind of camera has no such part.
    """
    at = at or timezone.now()
    donor = _held(donor)
    part = part_of(donor.family, name, part)
    construction = construction_of(donor.family)
    name = construction.parts[part].name if part and construction else name.strip()
    if not name:
        raise Refused("Which part is not in it? Name it.")
    _check_in_it(donor, part, name)
    row = DonorPart.objects.create(
        donor=donor, part=part, name=name, reason=reason.strip()[:240], at=at, by=by
    )
    diary.write(
        None,
        by=by,
        at=at,
        what="found not in a donor",
        text=f"{name}: {row.reason}" if row.reason else name,
        new={"donor": donor.pk, "family_part": part},
    )
    return row


@transaction.atomic
def is_in_it(row: DonorPart, *, by: str, at: datetime | None = None) -> None:
    """
    Take back that a part is not in a donor.

    Raises
    ------
    Refused
        If it lies on the shelf: then the move that put it there is undone.
    """
    _held(row.donor)
    row = DonorPart.everything.select_for_update().get(pk=row.pk)
    if row.struck_out:
        return
    if row.spare_id is not None:
        raise Refused("It was taken out and lies on the shelf. Undo that on the spare's own page.")
    row.struck_out = True
    row.save()
    diary.write(None, by=by, at=at or timezone.now(), what="found in a donor after all", text=row.name)


@transaction.atomic
def let_donor_go(donor: Donor, reason: str, *, by: str, at: datetime | None = None) -> None:
    """
    Throw what is left of a donor away, or give it away; spares that came out of it stay.

    Raises
    ------
    Refused
        If no reason is given.
    """
    if not reason.strip():
        raise Refused("Where does it go, and why? Write it, such as 'nothing of use left'.")
    donor = _held(donor)
    donor.struck_out = True
    donor.save()
    diary.write(
        None, by=by, at=at or timezone.now(), what="let a donor go", text=f"{donor}: {reason.strip()}"[:500]
    )


def no_donor_after_all(job: Job, *, by: str, at: datetime) -> None:
    """
    Take the camera of a job, already locked, from among the donors: it goes on, so nothing comes out of it.

    Raises
    ------
    Refused
        If something came out of it and is not back in.
    """
    donor = Donor.everything.select_for_update().filter(job=job).first()
    if donor is None:
        return
    out = DonorPart.objects.filter(donor=donor, spare__isnull=False).first()
    if out is not None:
        raise Refused(
            f"The camera is a donor, and its {out.name} lies on the shelf. Undo that on the spare's own page "
            "first, so that it is in the camera again."
        )
    donor.struck_out, donor.job = True, None
    donor.save()
    diary.write(job, by=by, at=at, what="took it from among the donors", text=str(donor))


def still_in(donor: Donor) -> tuple[Part, ...]:
    """What is still in a donor, as its family has it; nothing where nobody wrote that down."""
    construction = construction_of(donor.family)
    if construction is None:
        return ()
    gone = set(DonorPart.objects.filter(donor=donor).values_list("part", flat=True))
    return tuple(part for part in construction.parts.values() if part.ways and part.id not in gone)


def _held(donor: Donor) -> Donor:
    donor = Donor.everything.select_for_update().get(pk=donor.pk)
    if donor.struck_out:
        raise Refused(f"{donor} is gone. Nothing can come out of it any more.")
    return donor


def _check_in_it(donor: Donor, part: str, name: str) -> None:
    row = DonorPart.objects.filter(donor=donor, part=part).first() if part else None
    if row is not None:
        why = "lies on the shelf" if row.spare_id else row.reason or "is not in it"
        raise Refused(f"{row.name or name} is out of this one already: {why}.")
