"""What a job's camera is worth, the repairer's own figures, and what is sensible with it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.parts import Minutes
from pegwood.book import diary
from pegwood.book.models import CameraWorth, Job
from pegwood.book.moving import locked_open
from pegwood.book.quoting.quoted import Basis
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import the_causes
from pegwood.pricing.money import Money
from pegwood.pricing.quote import Quote
from pegwood.pricing.sensible import Sensible, Worths, sensible

_SUMS = ("mended", "unmended", "cleaned", "as_found", "for_parts", "paid_for_parts")
_CLEAN = ("clean_low", "clean_likely", "clean_high")


@transaction.atomic
def say_worths(job: Job, worths: Worths, *, by: str, at: datetime | None = None) -> CameraWorth:
    """
    Write down what a job's camera is worth, in place of what was said before.

    Raises
    ------
    Refused
        If the job is over, the sums are in another money, or a fault that can stay is none of such a camera.
    """
    at = at or timezone.now()
    job = locked_open(job)
    if worths.mended.currency != job.currency:
        raise Refused(f"The job is kept in {job.currency}; the worth is in {worths.mended.currency}.")
    causes = the_causes(job)
    if strange := worths.stays.keys() - causes.faults.keys():
        raise Refused(f"{min(strange)!r} is nothing that goes wrong on such a camera.")
    before = CameraWorth.objects.filter(job=job).first()
    columns = _columns(worths)
    row, _ = CameraWorth.objects.update_or_create(
        job=job, defaults={**columns, "currency": job.currency, "at": at, "by": by}
    )
    diary.write(
        job,
        by=by,
        at=at,
        what="said what it is worth",
        old=diary.values(before, columns) if before else None,
        new={**columns, "currency": job.currency},
    )
    return row


def worths_of(job: Job) -> Worths | None:
    """What the repairer said the camera is worth; None where nothing was said."""
    row = CameraWorth.objects.filter(job=job).first()
    if row is None:
        return None
    mended, unmended = row.money("mended"), row.money("unmended")
    assert mended is not None and unmended is not None  # noqa: PT018  (columns that are never null)
    clean = None
    if row.clean_low is not None and row.clean_likely is not None and row.clean_high is not None:
        clean = Minutes(low=row.clean_low, likely=row.clean_likely, high=row.clean_high)
    return Worths(
        mended=mended,
        unmended=unmended,
        stays={fault: Money(minor, row.currency) for fault, minor in row.stays.items()},
        cleaned=row.money("cleaned"),
        clean=clean,
        as_found=row.money("as_found"),
        for_parts=row.money("for_parts"),
        paid_for_parts=row.money("paid_for_parts"),
    )


def advice(basis: Basis, quoted: Quote) -> Sensible | None:
    """What is sensible with a job's camera; None where nobody said what it is worth."""
    worths = worths_of(basis.job)
    if worths is None or worths.mended.currency != quoted.price.currency:
        return None
    known = {fault: by for fault, by in worths.stays.items() if fault in basis.causes.faults}
    return sensible(quoted, replace(worths, stays=known))


def _columns(worths: Worths) -> dict[str, Any]:
    told = {name: getattr(worths, name) for name in _SUMS}
    clean = worths.clean
    minutes = (clean.low, clean.likely, clean.high) if clean else (None, None, None)
    return {
        **{f"{name}_minor": None if one is None else one.minor for name, one in told.items()},
        **dict(zip(_CLEAN, minutes, strict=True)),
        "stays": {fault: one.minor for fault, one in sorted(worths.stays.items())},
    }
