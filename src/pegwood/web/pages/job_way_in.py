"""The way in to what a job's camera needs: kept with the job, and planned on from what is off already."""

from __future__ import annotations

from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_safe

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.book.families import construction_learned, construction_of
from pegwood.book.models import Job, StripDown
from pegwood.book.refusal import Refused
from pegwood.book.stripping.record import off_now, steps_of
from pegwood.book.stripping.way_in import Aim, strip_down_of, take_aim
from pegwood.book.trade_tables import tables
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.strip.asked import Amiss, Asked, asked_from, coverings, pairs
from pegwood.web.strip.nodes import Press
from pegwood.web.strip.way_in import WayIn, way_in

#: Fields of a form that says what is wanted.
FIELDS = ("reach", "find", "spare", "avoid", "from", "without")


@dataclass(frozen=True)
class JobLinks:
    """Presses are sent and kept with the job; what is off is the log's, and not asked for."""

    number: int
    covers: frozenset[str]
    off: frozenset[str]
    stores: bool = True

    def to(self, asked: Asked) -> str:
        """Where a press is sent."""
        more = tuple(part for part in asked.off if part not in self.off)
        query = urlencode(pairs(replace(asked, off=more), self.covers))
        return f"{self.form()}?{query}" if query else self.form()

    def look(self, asked: Asked) -> str:
        """The page, with the whole family drawn or not."""
        return reverse("job_way_in", args=[self.number]) + ("?view=whole" if asked.whole else "")

    def form(self) -> str:
        """Where the search and the options are sent."""
        return reverse("job_way_in_take", args=[self.number])


@dataclass(frozen=True)
class JobWayInPage:
    """
    The way in of a job.

    `way` is None where nobody wrote down how such cameras are put together; `found` are parts that findings
    speak of and that are not to be reached yet.
    """

    job: Job
    construction: Construction | None
    way: WayIn | None
    found: tuple[Press, ...]
    typed: str = ""
    refused: str = ""


def _page(
    job: Job, whole: bool, *, amiss: tuple[Amiss, ...] = (), typed: str = "", refused: str = ""
) -> JobWayInPage:
    strip_down = strip_down_of(job)
    construction = construction_learned(strip_down.family)
    if construction is None:
        return JobWayInPage(job, None, None, (), refused=refused)
    off = off_now(steps_of(job)) & construction.parts.keys()
    asked = replace(asked_by(strip_down, construction), off=tuple(sorted(off)), whole=whole)
    links = JobLinks(job.number, coverings(construction), off)
    return JobWayInPage(
        job,
        construction,
        way_in(construction, asked, links, tables()[0], amiss),
        _of_findings(job, construction, asked, links),
        typed,
        refused,
    )


def asked_by(strip_down: StripDown, construction: Construction) -> Asked:
    """What a job's strip-down is to reach, and how, as far as its family has such parts."""
    known = construction.parts
    return Asked(
        reach=tuple(part for part in strip_down.reach if part in known),
        spare=tuple(part for part in strip_down.spare if part in known),
        avoid=tuple(strip_down.avoid),
        only_from=strip_down.only_from,
        without=tuple((part, way) for part, way in strip_down.without if part in known),
    )


def _of_findings(job: Job, construction: Construction, asked: Asked, links: JobLinks) -> tuple[Press, ...]:
    """Parts that a finding speaks of, by any of their names; a name that may be several is left out."""
    found: dict[str, Press] = {}
    for finding in job.findings.all():
        try:
            part = find_part(construction, finding.part)
        except NotOnePart:
            continue
        if part.ways and part.id not in {*asked.reach, *asked.off}:
            press = Press(says=part.name, beside=finding.condition, href=links.to(asked.reaching(part.id)))
            found.setdefault(part.id, press)
    return tuple(found.values())


@require_safe
def job_way_in(request: HttpRequest, number: int) -> HttpResponse:
    """The way in, from what is off already."""
    return _show(request, _page(job_numbered(number), request.GET.get("view") == "whole"))


def _show(request: HttpRequest, page: JobWayInPage, *, status: int = 200) -> HttpResponse:
    shown = {"page": page, "way": page.way, "job": page.job}
    return render(request, "bench/job_way_in.html", shown, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def take(request: HttpRequest, number: int) -> HttpResponse:
    """
    Keep what is to be reached, and how. A part that is said to be off is logged on its own page.

    A browser that is opened again asks for the address of a refusal: it is sent to the page.
    """
    job = job_numbered(number)
    if request.method != "POST":
        return HttpResponseRedirect(reverse("job_way_in", args=[number]))
    construction = construction_of(strip_down_of(job).family)
    here = reverse("job_way_in", args=[number])
    if construction is None:
        return go_to(request, here)
    wanted = request.POST if any(name in request.POST for name in FIELDS) else request.GET
    asked, amiss = asked_from(wanted, construction)
    off = off_now(steps_of(job))
    if logged := [part for part in asked.off if part not in off]:
        return go_to(request, f"{reverse('strip', args=[number])}?{urlencode({'part': logged[0]})}")
    if amiss:
        page = _page(job, False, amiss=amiss, typed=request.POST.get("find", ""))
        return _show(request, page, status=CANNOT)
    aim = Aim(
        reach=asked.reach,
        spare=asked.spare,
        avoid=asked.avoid,
        only_from=asked.only_from,
        without=asked.without,
    )
    try:
        take_aim(job, aim, by=who(request))
    except Refused as reason:
        return _show(request, _page(job, False, refused=str(reason)), status=CANNOT)
    return HttpResponseRedirect(here + ("?view=whole" if asked.whole else ""))


urlpatterns = [
    path("job/<int:number>/way-in/", job_way_in, name="job_way_in"),
    path("job/<int:number>/way-in/take/", take, name="job_way_in_take"),
]
