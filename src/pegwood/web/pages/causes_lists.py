"""All looks and all faults of a job's camera, to choose from; and the way in to what a look asks for."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.book.stripping.way_in import Aim, strip_down_of, take_aim
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who
from pegwood.web.causes.listed import FaultGroup, all_faults
from pegwood.web.causes.looking import Group, all_looks
from pegwood.web.causes.stage import Stage, stage_of
from pegwood.web.pages.causes import causes_page, show

LONGEST_QUERY = 200


@dataclass(frozen=True)
class ListPage:
    """All looks or all faults that fit what is looked for."""

    job: Job
    query: str
    looks: tuple[Group, ...] = ()
    faults: tuple[FaultGroup, ...] = ()

    @property
    def found(self) -> int:
        """How many fit."""
        return sum(len(one.signs) for one in self.looks) + sum(len(one.faults) for one in self.faults)


def _stage(job: Job) -> Stage:
    stage = stage_of(job)
    if stage is None:
        raise Http404(f"Nobody has written down how the camera of job {job.number} is put together.")
    return stage


@require_safe
@vary_on_headers("HX-Request")
def looks(request: HttpRequest, number: int) -> HttpResponse:
    """All looks by their mechanisms; answered ones say so."""
    job = job_numbered(number)
    stage = _stage(job)
    query = request.GET.get("q", "")[:LONGEST_QUERY]
    found = all_looks(stage, query)
    return _show(request, "looks", ListPage(job, query, looks=found))


@require_safe
@vary_on_headers("HX-Request")
def faults(request: HttpRequest, number: int) -> HttpResponse:
    """All faults by their mechanisms, with their chances."""
    job = job_numbered(number)
    stage = _stage(job)
    query = request.GET.get("q", "")[:LONGEST_QUERY]
    found = all_faults(stage, query)
    return _show(request, "faults", ListPage(job, query, faults=found))


def _show(request: HttpRequest, what: str, page: ListPage) -> HttpResponse:
    template = f"bench/parts/_causes_{what}.html" if is_live(request) else f"bench/causes_{what}.html"
    return render(request, template, {"page": page, "job": page.job})


@require_POST
def reach(request: HttpRequest, number: int) -> HttpResponse:
    """Add parts to what the way in is to reach, and go there."""
    job = job_numbered(number)
    before = strip_down_of(job)
    more = [part for part in dict.fromkeys(request.POST.getlist("part")) if part not in before.reach]
    aim = Aim(
        reach=(*before.reach, *more),
        spare=tuple(before.spare),
        avoid=tuple(before.avoid),
        only_from=before.only_from,
        without=tuple((part, way) for part, way in before.without),
    )
    try:
        take_aim(job, aim, by=who(request))
    except Refused as reason:
        return show(request, causes_page(job, refused=str(reason)), status=CANNOT)
    return go_to(request, reverse("job_way_in", args=[number]))


urlpatterns = [
    path("job/<int:number>/causes/looks/", looks, name="causes_looks"),
    path("job/<int:number>/causes/faults/", faults, name="causes_faults"),
    path("job/<int:number>/causes/reach/", reach, name="causes_reach"),
]
