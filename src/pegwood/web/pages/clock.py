"""The clock of the bench on a job card: start, stop, say how long, put right."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from pegwood.book.billing import clock
from pegwood.book.billing.clock import ClockFace, Hands
from pegwood.book.billing.minutes import Minutes, minutes_of
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.billing import CorrectForm, SettleForm


@dataclass(frozen=True)
class ClockSection:
    """The clock of a job: what it shows, what was estimated, and the forms that put it right."""

    job: Job
    face: ClockFace
    minutes: Minutes
    settle: SettleForm
    correct: CorrectForm
    refused: str = ""

    @property
    def shown(self) -> bool:
        return not self.job.is_over or self.face.minutes > 0 or self.face.hands is not Hands.STILL


def section(
    job: Job, *, settle: SettleForm | None = None, correct: CorrectForm | None = None, refused: str = ""
) -> ClockSection:
    """What the clock's part of a job card needs."""
    return ClockSection(
        job=job,
        face=clock.face(job, timezone.now()),
        minutes=minutes_of(job),
        settle=settle or SettleForm(),
        correct=correct or CorrectForm(),
        refused=refused,
    )


@require_POST
def press(request: HttpRequest, number: int) -> HttpResponse:
    """Start the clock, or stop it."""
    job = job_numbered(number)
    try:
        if request.POST.get("do") == "stop":
            entry = clock.stop(job, by=who(request))
            told = "The clock was forgotten. How long was the work?" if entry is None else ""
            messages.info(request, told or f"{entry.minutes if entry else 0} min counted.")
        else:
            clock.start(job, by=who(request))
    except Refused as reason:
        return _show(request, section(job, refused=str(reason)))
    return go_to(request, _card(number))


@require_POST
def settle(request: HttpRequest, number: int) -> HttpResponse:
    """Say how long the work was of a clock that was forgotten."""
    job = job_numbered(number)
    form = SettleForm(request.POST)
    if form.is_valid():
        try:
            clock.settle(job, form.cleaned_data["minutes"], by=who(request))
        except Refused as reason:
            form.add_error(None, str(reason))
        else:
            messages.success(request, "Counted.")
            return go_to(request, _card(number))
    return _show(request, section(job, settle=form))


@require_POST
def correct(request: HttpRequest, number: int) -> HttpResponse:
    """Put the minutes right by a counter-entry."""
    job = job_numbered(number)
    form = CorrectForm(request.POST)
    if form.is_valid():
        try:
            clock.correct(job, form.cleaned_data["minutes"], form.cleaned_data["why"], by=who(request))
        except Refused as reason:
            form.add_error(None, str(reason))
        else:
            messages.success(request, "Put right.")
            return go_to(request, _card(number))
    return _show(request, section(job, correct=form))


def _show(request: HttpRequest, shown: ClockSection) -> HttpResponse:
    return render(request, "bench/clock_page.html", {"job": shown.job, "clock": shown}, status=CANNOT)


def _card(number: int) -> str:
    return reverse("job", args=[number]) + "#clock"


urlpatterns = [
    path("job/<int:number>/clock/", press, name="clock"),
    path("job/<int:number>/clock/settle/", settle, name="clock_settle"),
    path("job/<int:number>/clock/correct/", correct, name="clock_correct"),
]
