"""Correcting what was written down at the counter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from pegwood.book.arriving import CAMERA_FIELDS, amend_camera, amend_job
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.leaving import AmendForm


@dataclass(frozen=True)
class AmendPage:
    """What is known of the camera and the job, to be corrected."""

    job: Job
    form: AmendForm


@require_http_methods(["GET", "HEAD", "POST"])
def amend(request: HttpRequest, number: int) -> HttpResponse:
    """Correct camera, story, accessories or promise; the diary keeps how it stood."""
    job = job_numbered(number)
    told: dict[str, Any] = {"job": job, "today": timezone.localdate()}
    if request.method != "POST":
        return _show(request, job, AmendForm(initial=_now(job), **told))
    form = AmendForm(request.POST, **told)
    if form.is_valid():
        try:
            _write(job, form, who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Amended. The diary keeps how it stood before.")
            return go_to(request, reverse("job", args=[number]))
    return _show(request, job, form, status=CANNOT)


def _write(job: Job, form: AmendForm, by: str) -> None:
    given = form.cleaned_data
    with transaction.atomic():
        amend_camera(job, form.camera, by=by)
        amend_job(
            job,
            story=given["story"],
            accessories=given["accessories"],
            promised_on=given["promised_on"],
            nothing_promised=given["promised_on"] is None,
            by=by,
        )


def _now(job: Job) -> dict[str, object]:
    camera = {name: getattr(job.camera, name) for name in CAMERA_FIELDS}
    return {
        **camera,
        "story": job.story,
        "accessories": job.accessories,
        "promised_on": job.promised_on,
    }


def _show(request: HttpRequest, job: Job, form: AmendForm, *, status: int = 200) -> HttpResponse:
    page = AmendPage(job, form)
    return render(request, "bench/amend.html", {"page": page, "job": job, "form": form}, status=status)


urlpatterns = [path("job/<int:number>/amend/", amend, name="amend")]
