"""A family of the workshop's own, made of strip-downs, or taught by more of them."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.families import family as kind_of
from pegwood.book.family_files import family_files, told
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
    families = [(one.stem, one.name) for one in family_files() if one.construction]
    if request.method != "POST":
        own = next((stem for stem, _ in families if stem == strip_down_of(job).family), "")
        alike = [str(one.number) for one in others if not own and _alike(one, job)]
        form = FromJobForm(initial={"into": own, "jobs": alike}, families=families, others=others)
        return _show(request, job, form)
    form = FromJobForm(request.POST, families=families, others=others)
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
    """Whether two jobs are on cameras of one model that no family describes."""
    cameras = (one.camera, other.camera)
    first, second = ((camera.maker.casefold(), camera.model.casefold()) for camera in cameras)
    return first == second and any(first) and one.camera.family == other.camera.family


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
