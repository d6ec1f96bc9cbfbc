"""One fault of a job's camera: why it is as likely as it is, whether it is there, what mends it."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from pegwood.book.models import FaultRuling, Job
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import causes_for
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.ruling import rule, withdraw
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who, whole_number
from pegwood.web.causes.reasons import FaultShown
from pegwood.web.causes.stage import Stage, stage_of
from pegwood.web.pages.causes import Said, causes_page, done, show, shown_fault

#: What a press says of a fault: it is there, it is not, nobody has decided.
UNDECIDED = "undecided"
RULINGS = {"there": True, "not there": False, UNDECIDED: None}


@dataclass(frozen=True)
class FaultPage:
    """A fault on a page of its own."""

    job: Job
    stage: Stage
    shown: FaultShown
    refused: str = ""


def _stage(job: Job, fault: str) -> Stage:
    stage = stage_of(job)
    if stage is None or fault not in stage.causes.faults:
        raise Http404(f"Job {job.number}'s camera is not known to have a fault of that name.")
    return stage


@require_safe
@vary_on_headers("HX-Request")
def fault(request: HttpRequest, number: int, fault: str) -> HttpResponse:
    """Why, and what to do: as a part for the fold under its bar, or as a page of its own."""
    job = job_numbered(number)
    stage = _stage(job, fault)
    shown = shown_fault(stage, fault)
    if is_live(request):
        context = {"job": job, "shown": shown, "in_fold": True}
        return render(request, "bench/parts/_causes_fault.html", context)
    return _own_page(request, FaultPage(job, stage, shown))


def _own_page(request: HttpRequest, page: FaultPage, status: int = 200) -> HttpResponse:
    context = {"page": page, "job": page.job, "shown": page.shown}
    return render(request, "bench/causes_fault.html", context, status=status)


def _refused(request: HttpRequest, job: Job, stage: Stage, fault: str, reason: Refused) -> HttpResponse:
    if is_live(request):
        return show(request, causes_page(job, opened=fault, refused=str(reason)), status=CANNOT)
    return _own_page(request, FaultPage(job, stage, shown_fault(stage, fault), str(reason)), CANNOT)


@require_POST
def decide(request: HttpRequest, number: int, fault: str) -> HttpResponse:
    """It is there; it is not; nobody knows again."""
    job = job_numbered(number)
    said = request.POST.get("it", "")
    gone = _gone(job, fault) if said == UNDECIDED else None
    if gone is not None:
        return _take_back_gone(request, job, gone)
    stage = _stage(job, fault)
    name = stage.causes.faults[fault].name
    try:
        if said not in RULINGS:
            raise Refused(f"{said!r} cannot be said of a fault. Say one of: {', '.join(RULINGS)}.")
        there = RULINGS[said]
        if there is not None:
            rule(job, fault, there, by=who(request))
        elif before := FaultRuling.objects.filter(job=job, fault=fault).first():
            withdraw(before, by=who(request))
    except Refused as reason:
        return _refused(request, job, stage, fault, reason)
    how = {True: "is there", False: "is not there", None: "is not decided"}[there]
    return _then(request, job, fault, f"{name[:1].upper()}{name[1:]}: {how}.", opened=there is not False)


def _gone(job: Job, fault: str) -> FaultRuling | None:
    """A ruling that stands on a fault that nothing is known of any more: knowledge and families change."""
    causes = causes_for(job)
    if causes is not None and fault in causes.faults:
        return None
    return FaultRuling.objects.filter(job=job, fault=fault).first()


def _take_back_gone(request: HttpRequest, job: Job, gone: FaultRuling) -> HttpResponse:
    try:
        withdraw(gone, by=who(request))
    except Refused as reason:
        return show(request, causes_page(job, refused=str(reason)), status=CANNOT)
    return done(request, job, Said(text=f"{gone.fault}: is not decided."))


def _then(request: HttpRequest, job: Job, fault: str, text: str, *, opened: bool = True) -> HttpResponse:
    if is_live(request):
        return done(request, job, Said(text=text), opened=fault if opened else "")
    messages.success(request, text)
    return go_to(request, reverse("causes_fault", args=[job.number, fault]))


@require_POST
def mend(request: HttpRequest, number: int, fault: str) -> HttpResponse:
    """A mend was done: it is written down as work."""
    job = job_numbered(number)
    stage = _stage(job, fault)
    typed = request.POST.get("minutes", "").strip()
    minutes = whole_number(typed)
    try:
        if typed and minutes is None:
            raise Refused(f"{typed[:40]!r} is no number of minutes. Write whole minutes, or nothing.")
        worked = request.POST.get("did", "yes") != "no"
        row = log_mend(
            job, fault, request.POST.get("mend", ""), by=who(request), minutes=minutes, worked=worked
        )
    except Refused as reason:
        return _refused(request, job, stage, fault, reason)
    return _then(request, job, fault, f"Written down as work: {row.work.done}.")


urlpatterns = [
    path("job/<int:number>/causes/fault/<str:fault>/", fault, name="causes_fault"),
    path("job/<int:number>/causes/fault/<str:fault>/decide/", decide, name="causes_decide"),
    path("job/<int:number>/causes/fault/<str:fault>/mend/", mend, name="causes_mend"),
]
