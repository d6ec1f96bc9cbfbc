"""A family of the workshop's own, made of strip-downs, or taught by more of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.families import family as kind_of
from pegwood.book.family_files import FamilyFile, family_files, told
from pegwood.book.family_learning import LearnedFile, can_teach, learn_into, make_family, teachable
from pegwood.book.models import Job, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.stripping.record import steps_of
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.family import FromJobForm


@dataclass(frozen=True, kw_only=True)
class FromJobPage:
    """A job's strip-down and what may become of it; `kind` is what the camera is taken for now."""

    job: Job
    rows: tuple[TakenOff, ...]
    kind: str
    can: bool
    form: FromJobForm


@require_http_methods(["GET", "HEAD", "POST"])
def from_job(request: HttpRequest, number: int) -> HttpResponse:
    """Make a family of a job's strip-down, or learn it into one."""
    job = job_numbered(number)
    others = [one for one in teachable() if one.pk != job.pk]
    own = {one.construction.id: one for one in family_files() if one.construction}
    names: dict[str, Any] = {
        "families": [(one.stem, one.name) for one in own.values()],
        "others": [(one, _told(one, own)) for one in others],
    }
    if request.method != "POST":
        alike = [one for one in others if _alike(one, job)]
        # its own family, or that of another such camera
        kinds = [strip_down_of(one).family for one in (job, *alike)]
        into = next((own[kind].stem for kind in kinds if kind in own), "")
        numbers = [] if into else [str(one.number) for one in alike]
        return _show(request, job, FromJobForm(initial={"into": into, "jobs": numbers}, **names))
    form = FromJobForm(request.POST, **names)
    if form.is_valid():
        try:
            made = _made(job, form, others, who(request))
        except Refused as reason:
            form.add_error(None, str(reason))
        else:
            for line in made.contradictions:
                messages.warning(request, line)
            parts = len(made.construction.parts)
            messages.success(request, f"{made.construction.name}: {parts} parts, in {told(made.stem)}.")
            return go_to(request, reverse("family", args=[made.stem]))
    return _show(request, job, form, status=CANNOT)


def _alike(one: Job, other: Job) -> bool:
    """Whether two jobs are on cameras of one model."""
    cameras = (one.camera, other.camera)
    first, second = ((camera.maker.casefold(), camera.model.casefold()) for camera in cameras)
    return first == second and any(first)


def _told(job: Job, own: Mapping[str, FamilyFile]) -> str:
    """A job to choose: its camera, and the family it is of by now."""
    family = own.get(strip_down_of(job).family)
    return f"{job.camera.title} · {family.name}" if family else job.camera.title


def _made(job: Job, form: FromJobForm, others: list[Job], by: str) -> LearnedFile:
    chosen = set(form.cleaned_data.get("jobs", ()))
    jobs = [job, *(one for one in others if str(one.number) in chosen)]
    if into := form.cleaned_data["into"]:
        return learn_into(into, jobs, by=by)
    return make_family(jobs, form.cleaned_data["name"], by=by)


def _show(request: HttpRequest, job: Job, form: FromJobForm, *, status: int = 200) -> HttpResponse:
    page = FromJobPage(
        job=job,
        rows=tuple(steps_of(job)),
        kind=kind_of(strip_down_of(job).family).name,
        can=can_teach(job),
        form=form,
    )
    return render(request, "bench/family_from_job.html", {"page": page, "job": job}, status=status)


urlpatterns = [path("job/<int:number>/family/", from_job, name="family_from_job")]
