"""An owner: the cameras, the jobs, and how to reach them."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods

from pegwood.book.arriving import OWNER_FIELDS, amend_owner
from pegwood.book.models import Camera, Job, Owner
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, who
from pegwood.web.forms.owners import OwnerForm

MOST_JOBS = 60


@dataclass(frozen=True)
class Visits:
    """A camera and the jobs it was here for, the newest first."""

    camera: Camera
    jobs: tuple[Job, ...]


@dataclass(frozen=True)
class OwnerPage:
    """An owner with the cameras and their visits. `older` is how many jobs are not shown."""

    owner: Owner
    visits: tuple[Visits, ...]
    older: int
    form: OwnerForm
    is_amending: bool = False


@require_http_methods(["GET", "HEAD", "POST"])
def owner(request: HttpRequest, pk: int) -> HttpResponse:
    """Show an owner, or correct what is known of one."""
    known = get_object_or_404(Owner, pk=pk)
    if request.method != "POST":
        return _show(request, known, OwnerForm(initial=_values(known)))
    form = OwnerForm(request.POST)
    if form.is_valid():
        try:
            amend_owner(known, form.details(), by=who(request))
        except Refused as reason:
            form.add_error(None, str(reason))
        else:
            messages.success(request, f"{form.cleaned_data['name']} is written down.")
            return redirect("owner", pk)
    return _show(request, known, form, status=CANNOT)


def _show(request: HttpRequest, known: Owner, form: OwnerForm, *, status: int = 200) -> HttpResponse:
    jobs = list(known.jobs.select_related("camera", "owner").order_by("-number")[: MOST_JOBS + 1])
    older = known.jobs.count() - MOST_JOBS if len(jobs) > MOST_JOBS else 0
    by_camera: dict[int, list[Job]] = {}
    for job in jobs[:MOST_JOBS]:
        by_camera.setdefault(job.camera_id, []).append(job)
    page = OwnerPage(
        owner=known,
        visits=tuple(Visits(some[0].camera, tuple(some)) for some in by_camera.values()),
        older=older,
        form=form,
        is_amending=status == CANNOT,
    )
    return render(request, "bench/owner.html", {"page": page, "form": form}, status=status)


def _values(known: Owner) -> dict[str, str]:
    return {name: getattr(known, name) for name in OWNER_FIELDS}


urlpatterns = [path("owner/<int:pk>/", owner, name="owner")]
