"""What the closed jobs taught: seen, left out and taken in again, and handed on."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe
from django.views.decorators.vary import vary_on_headers

from pegwood.anatomy.construction import Construction
from pegwood.book.families import construction_learned, known
from pegwood.book.refusal import Refused
from pegwood.book.weighing.learnt import (
    SharedFiles,
    as_filed,
    family_of,
    handed_on,
    learnt_of,
    leave_out,
    shared_files,
    take_in_again,
    today_here,
    weights,
)
from pegwood.book.weighing.lesson_jobs import LessonJob, lesson_jobs
from pegwood.causes.learning import Learned
from pegwood.causes.own_knowledge import HANDED_ON
from pegwood.trade.numbers import figure
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who
from pegwood.web.causes.taught import ChangeShown, TaughtGroup, groups, most_moved, shown_of
from pegwood.web.pages.families import TOML

#: Jobs on a page before the rest are asked for.
JOBS_SHOWN = 25
LONGEST_REASON = 240


@dataclass(frozen=True)
class FamilyLine:
    """A family in the list: how many of its jobs teach, and how many are left out."""

    id: str
    name: str
    jobs: int
    left_out: int


@dataclass(frozen=True)
class LearntPage:
    """Families with lessons, the others, jobs of families nobody knows; what other workshops handed on."""

    taught: tuple[FamilyLine, ...]
    others: tuple[FamilyLine, ...]
    lost: tuple[FamilyLine, ...]
    shared: SharedFiles
    start: str

    folder = HANDED_ON

    @property
    def unknown(self) -> tuple[str, ...]:
        """What of the files handed on nobody knows here, a line each."""
        return tuple(line for one in self.shared.shared for line in one.unknown)


@dataclass(frozen=True, kw_only=True)
class FamilyLearntPage:
    """
    What was learned of one family.

    Attributes
    ----------
    groups : tuple of TaughtGroup
    opened : str
        The mechanism whose `changes` are told in full; empty: none.
    most : tuple of ChangeShown
        The largest of all.
    bench : tuple of ChangeShown
        What is of the whole bench.
    jobs : tuple of LessonJob
    more : int
        How many jobs more teach than are on the page.
    refused : str
        Why something was not done.
    """

    family: Construction
    learned: Learned
    groups: tuple[TaughtGroup, ...]
    opened: str
    changes: tuple[ChangeShown, ...]
    most: tuple[ChangeShown, ...]
    bench: tuple[ChangeShown, ...]
    jobs: tuple[LessonJob, ...]
    more: int
    start: str
    refused: str = ""


@require_safe
def learnt(request: HttpRequest) -> HttpResponse:
    """The families with lessons first; how to hand on, and what others handed on."""
    jobs, here = lesson_jobs(), known().constructions
    lines = [_line(family, here[family].name, jobs.get(family, ())) for family in here if as_filed(family)]
    page = LearntPage(
        taught=tuple(one for one in lines if one.jobs),
        others=tuple(one for one in lines if not one.jobs),
        lost=tuple(_line(family, family, of) for family, of in jobs.items() if family not in here),
        shared=shared_files(),
        start=_start(),
    )
    return render(request, "bench/causes_learnt.html", {"page": page})


def _line(family: str, name: str, jobs: tuple[LessonJob, ...] | list[LessonJob]) -> FamilyLine:
    return FamilyLine(family, name, len(jobs), sum(one.left_out is not None for one in jobs))


def _start() -> str:
    return figure(weights().start, 2)


@require_safe
@vary_on_headers("HX-Request")
def family_learnt(request: HttpRequest, family: str) -> HttpResponse:
    """Every change of a family; `?of=` tells a mechanism in full, `?jobs=all` names every job."""
    return _show(request, family)


def _show(request: HttpRequest, family: str, refused: str = "") -> HttpResponse:
    construction = construction_learned(family)
    if construction is None:
        raise Http404("There is no such family.")
    learned = learnt_of(construction)
    all_jobs = request.GET.get("jobs") == "all"
    there = groups(learned.changes, construction)
    asked = request.GET.get("of", "")
    opened = asked if asked in {one.called for one in there} else ""
    changes = shown_of(learned.changes, learned.causes, opened, all_jobs=all_jobs) if opened else ()
    context = {"changes": changes, "called": opened, "family": construction}
    if opened and is_live(request) and not refused:
        return render(request, "bench/parts/_taught.html", context)
    jobs = lesson_jobs().get(family, [])
    page = FamilyLearntPage(
        family=construction,
        learned=learned,
        groups=there,
        opened=opened,
        changes=changes,
        most=most_moved(learned.changes, learned.causes),
        bench=shown_of(learned.changes, learned.causes, "", all_jobs=all_jobs),
        jobs=tuple(jobs if all_jobs else jobs[:JOBS_SHOWN]),
        more=0 if all_jobs else max(0, len(jobs) - JOBS_SHOWN),
        start=_start(),
        refused=refused,
    )
    status = CANNOT if refused else 200
    return render(request, "bench/family_learnt.html", {"page": page} | context, status=status)


@require_POST
def lesson(request: HttpRequest, number: int) -> HttpResponse:
    """Leave a job's lesson out, with a reason, or take it in again; then its family's page."""
    job = job_numbered(number)
    family = family_of(job)
    if family not in known().constructions:
        raise Http404(f"Nobody has written down how the camera of job {number} is put together.")
    try:
        if request.POST.get("do") == "take in again":
            take_in_again(job, by=who(request))
            messages.success(request, f"Job {number} teaches again.")
        else:
            reason = " ".join(request.POST.get("reason", "").replace("\0", "").split())
            leave_out(job, reason[:LONGEST_REASON], by=who(request))
            messages.success(request, f"Nothing is learned from job {number} now.")
    except Refused as why:
        return _show(request, family, str(why))
    return go_to(request, reverse("family_learnt", args=[family]) + "#jobs")


@require_safe
def hand_on(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """What the workshop's own jobs taught, as a file for another one."""
    answer = HttpResponse(handed_on(today_here()).encode(), content_type=TOML)
    answer.headers["Content-Disposition"] = 'attachment; filename="lessons.toml"'
    return answer


urlpatterns = [
    path("causes/learnt/", learnt, name="causes_learnt"),
    path("causes/learnt/<slug:family>/", family_learnt, name="family_learnt"),
    path("causes/lessons.toml", hand_on, name="causes_hand_on"),
    path("job/<int:number>/causes/lesson/", lesson, name="causes_lesson"),
]
