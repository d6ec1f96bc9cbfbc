"""What the next thing depends on, asked of the book for many jobs at once."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from pegwood.book.billing.owing import billed
from pegwood.book.models import Finding, Job, Measurement, Offer, PriceLine, TakenOff, Work
from pegwood.book.states import Standing, WaitingFor
from pegwood.book.workshop import Workshop
from pegwood.web.local import locale
from pegwood.web.next_step import Facts, Wait
from pegwood.web.words import moment


def with_facts(jobs: QuerySet[Job]) -> QuerySet[Job]:
    """The jobs, their owners and cameras, and what `facts` reads off them: one query for all."""
    mine = OuterRef("pk")
    last = Offer.objects.filter(job=mine, place=Subquery(_last_place()))
    readings = Measurement.objects.filter(job=mine, set_aside=False)
    found = readings.filter(phase=Measurement.Phase.FOUND)
    left = readings.filter(phase=Measurement.Phase.LEFT)
    left_too = Measurement.objects.filter(
        job=OuterRef("job"), set_aside=False, phase=Measurement.Phase.LEFT, marked=OuterRef("marked")
    )
    return jobs.select_related("owner", "camera").annotate(
        has_findings=Exists(Finding.objects.filter(job=mine)),
        has_work=Exists(Work.objects.filter(job=mine)),
        has_bill=Exists(PriceLine.objects.filter(job=mine, sheet=PriceLine.Sheet.BILL)),
        has_open_readings=Exists(readings.filter(phase="", progress=Measurement.Progress.READ)),
        has_found=Exists(found),
        has_left=Exists(left),
        left_missing=Exists(found.exclude(Exists(left_too))),
        left_outside=Exists(left.filter(result__summary__verdict="outside")),
        left_close=Exists(left.filter(result__summary__verdict="too close to call")),
        is_open=Exists(out_of_it()),
        said_no=Exists(last.filter(answer=Offer.Answer.NO)),
        stands_until=Subquery(last.values("valid_until")[:1]),
        billed_minor=billed(),
    )


_ASKED = (
    "has_findings",
    "has_work",
    "has_bill",
    "has_open_readings",
    "has_found",
    "has_left",
    "left_missing",
    "left_outside",
    "left_close",
    "is_open",
    "said_no",
)


def out_of_it() -> QuerySet[TakenOff]:
    """Of the job of an outer query, the parts that are out of its camera and belong into it."""
    out = TakenOff.objects.filter(job=OuterRef("pk"), back_at=None, explained="")
    return out.exclude(met=TakenOff.Met.NEVER)


def _last_place() -> QuerySet[Any, Any]:
    """Of the job of an offer of an outer query, the place of its latest offer."""
    same = Offer.objects.filter(job=OuterRef("job")).order_by("-place")
    return same.values("place")[:1]


def _expired(job: Job, workshop: Workshop, today: date) -> bool:
    """Whether the price no longer stands: by its own day, or of an earlier version by the workshop's days."""
    until: date | None = job.stands_until  # type: ignore[attr-defined]
    if until is None and job.price_told_at is not None:
        told = job.price_told_at.astimezone(workshop.zone).date()
        until = told + timedelta(days=workshop.price_valid_days)
    return until is not None and until < today


def facts(job: Job, workshop: Workshop, now: datetime) -> Facts:
    """The facts of a job that came through `with_facts`."""
    today = now.astimezone(workshop.zone).date()
    until = job.waits_until
    return Facts(
        standing=job.stands,
        wait=Wait(moment(until, workshop.zone, locale()), until <= now) if until else None,
        waiting_for=WaitingFor(job.waiting_for) if job.waiting_for else None,
        unpaid=job.stands is Standing.GONE_HOME and (job.billed_minor or 0) > (job.paid_minor or 0),  # type: ignore[attr-defined]
        guarantee_given=job.guarantee_until is not None,
        price_expired=_expired(job, workshop, today),
        under_guarantee=job.guarantee_until is not None and today <= job.guarantee_until,
        **{name: bool(getattr(job, name)) for name in _ASKED},
    )
