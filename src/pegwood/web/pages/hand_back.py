"""The camera goes home."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.agreeing import total_of
from pegwood.book.billing.owing import asked_for, live_bill
from pegwood.book.leaving import hand_back as give_back
from pegwood.book.models import Job, PriceLine
from pegwood.book.refusal import Refused
from pegwood.book.states import Move, NotNow, destination
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.leaving import HandBackForm


@dataclass(frozen=True)
class HandBackPage:
    """What is asked for, what goes along, and the guarantee."""

    job: Job
    billed: Money | None
    accessories: list[str]
    form: HandBackForm
    closed: str


@require_http_methods(["GET", "HEAD", "POST"])
def hand_back(request: HttpRequest, number: int) -> HttpResponse:
    """Give the camera back to its owner."""
    job = job_numbered(number)
    billed = asked_for(job) if live_bill(job) else total_of(job, PriceLine.Sheet.BILL)
    nothing = Money.zero(job.currency)
    left = None if billed is None else max(nothing, billed - (job.paid or nothing))
    shown: dict[str, Any] = {"job": job, "billed": left, "locale": workshop().locale}
    if request.method != "POST":
        return _show(request, job, billed, HandBackForm(**shown))
    form = HandBackForm(request.POST, **shown)
    if form.is_valid():
        given = form.cleaned_data
        try:
            give_back(
                job,
                paid=given["paid"],
                paid_how=given["paid_how"] if given["paid"] is not None else "",
                guarantee_months=given["guarantee_months"],
                by=who(request),
            )
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "It is gone home.")
            return go_to(request, reverse("job", args=[number]))
    return _show(request, job, billed, form, status=CANNOT)


def _show(
    request: HttpRequest, job: Job, billed: Money | None, form: HandBackForm, *, status: int = 200
) -> HttpResponse:
    page = HandBackPage(
        job=job,
        billed=billed,
        accessories=[thing.strip() for thing in job.accessories.split(",") if thing.strip()],
        form=form,
        closed=_why_closed(job),
    )
    return render(request, "bench/hand_back.html", {"page": page, "job": job, "form": form}, status=status)


def _why_closed(job: Job) -> str:
    try:
        destination(job.stands, Move.HAND_BACK)
    except NotNow as reason:
        return str(reason)
    return ""


urlpatterns = [path("job/<int:number>/hand-back/", hand_back, name="hand_back")]
