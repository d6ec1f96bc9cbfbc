"""Work done at the bench, with its minutes; and remarks."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from pegwood.book.arriving import remark as write_remark
from pegwood.book.benchwork import log_work
from pegwood.book.models import Job, Work
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who
from pegwood.web.forms.work import RemarkForm, WorkForm
from pegwood.web.onward import onward

#: Minutes offered as one tap that also sends the line.
TAPS = (5, 10, 15, 30, 45, 60)


@dataclass(frozen=True)
class WorkSection:
    """The work on a job card, and the line to write more in."""

    job: Job
    work: list[Work]
    minutes: int
    taps: tuple[int, ...]
    parts: tuple[str, ...]
    form: WorkForm
    open: bool


@dataclass(frozen=True)
class RemarkSection:
    """The line for a remark."""

    job: Job
    form: RemarkForm


def section(job: Job, form: WorkForm | None = None) -> WorkSection:
    """What the work's part of a job card needs."""
    work = list(job.work.all())
    return WorkSection(
        job=job,
        work=work,
        minutes=sum(piece.minutes or 0 for piece in work),
        taps=TAPS,
        parts=job.camera.kind.parts,
        form=form or WorkForm(),
        open=form is not None or not job.is_over,
    )


def remark_section(job: Job, form: RemarkForm | None = None) -> RemarkSection:
    """What the line for a remark needs."""
    return RemarkSection(job, form or RemarkForm())


@require_POST
def log(request: HttpRequest, number: int) -> HttpResponse:
    """Write down a piece of work."""
    job = job_numbered(number)
    form = WorkForm(_tapped(request.POST))
    if form.is_valid():
        given = form.cleaned_data
        try:
            log_work(job, given["done"], part=given["part"], minutes=given["minutes"], by=who(request))
        except Refused as refused:
            form.add_error("done", str(refused))
        else:
            if is_live(request):
                return _section(request, section(job))
            return go_to(request, reverse("job", args=[number]) + "#work")
    return _section(request, section(job, form), status=CANNOT)


def _tapped(typed: QueryDict) -> QueryDict:
    """A tap on a number of minutes counts more than what may stand in the field."""
    if not typed.get("tapped"):
        return typed
    typed = typed.copy()
    typed["minutes"] = str(typed["tapped"])
    return typed


def _section(request: HttpRequest, work: WorkSection, *, status: int = 200) -> HttpResponse:
    shown = {"job": work.job, "work": work}
    if is_live(request):
        return render(request, "bench/parts/work.html", shown | onward(request, work.job), status=status)
    return render(request, "bench/work.html", shown, status=status)


@require_POST
def remark(request: HttpRequest, number: int) -> HttpResponse:
    """Write something into the diary that is neither a finding nor work."""
    job = job_numbered(number)
    form = RemarkForm(request.POST)
    if form.is_valid():
        try:
            write_remark(job, form.cleaned_data["text"], by=who(request))
        except Refused as refused:
            form.add_error("text", str(refused))
        else:
            messages.success(request, "Written into the diary.")
            return go_to(request, reverse("job", args=[number]) + "#diary")
    template = "bench/parts/remark.html" if is_live(request) else "bench/remark.html"
    return render(request, template, {"job": job, "remark": remark_section(job, form)}, status=CANNOT)


urlpatterns = [
    path("job/<int:number>/work/", log, name="work_log"),
    path("job/<int:number>/remark/", remark, name="remark"),
]
