"""Minutes as they were estimated and as they came out, job by job."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet, Sum

from pegwood.book.models import ClockEntry, Job, Offer, Work


@dataclass(frozen=True)
class Minutes:
    """
    The minutes of a job.

    Attributes
    ----------
    job : Job
    estimated : int
        Of the lines the owner was told last, [min].
    real : int
        By the bench's clock; where it never ran, of the work that is written down, [min].
    by_clock : bool
        Whether the clock says so.
    """

    job: Job
    estimated: int
    real: int
    by_clock: bool

    @property
    def ratio(self) -> float | None:
        """Real over estimated; None without an estimate."""
        return self.real / self.estimated if self.estimated else None


def minutes_done(job: Job) -> tuple[int, bool]:
    """What was done so far, [min], and whether the clock says so; where it never ran, the work noted."""
    clock = list(job.clock_entries.values_list("minutes", flat=True))
    if clock:
        return sum(clock), True
    return job.work.aggregate(sum=Sum("minutes"))["sum"] or 0, False


def minutes_of(job: Job) -> Minutes:
    """The minutes of a job: what its latest offer reckoned with, and what came out."""
    offer = job.offers.order_by("place").last()
    real, by_clock = minutes_done(job)
    return Minutes(job, offer.minutes if offer else 0, real, by_clock)


def latest_minutes(at_most: int) -> list[Minutes]:
    """The jobs that went home last, for which both were known: the latest first."""
    jobs: QuerySet[Job] = (
        Job.objects.filter(gone_home_at__isnull=False, offers__isnull=False)
        .distinct()
        .select_related("owner", "camera")
        .prefetch_related(
            Prefetch("offers", Offer.objects.order_by("place")),
            Prefetch("clock_entries", ClockEntry.objects.all()),
            Prefetch("work", Work.objects.all()),
        )
        .order_by("-gone_home_at")[: 3 * at_most]
    )
    found = []
    for job in jobs:
        clock = [entry.minutes for entry in job.clock_entries.all()]
        worked = sum(piece.minutes or 0 for piece in job.work.all())
        offer = list(job.offers.all())[-1]
        real = sum(clock) if clock else worked
        if offer.minutes and real:
            found.append(Minutes(job, offer.minutes, real, bool(clock)))
    return found[:at_most]
