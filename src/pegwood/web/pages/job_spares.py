"""The spares of a job: what it may need, whether one is there and where, and what it has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.models import Job, Spare, SpareMove
from pegwood.book.refusal import Refused
from pegwood.book.spares import taking
from pegwood.book.spares.needs import Supplied, needs_of, supplied
from pegwood.book.states import Standing
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who, whole_number

MOST_SHOWN = 8
DO: dict[str, Callable[..., Any]] = {
    "keep": taking.reserve,
    "use": taking.use,
    "let go": taking.let_go,
    "back": taking.give_back,
}
SAID = {"keep": "Kept for this job", "use": "Used", "let go": "Free again", "back": "On the shelf again"}


@dataclass(frozen=True)
class Has:
    """A spare that is in a job's camera, or reserved for it, and how many."""

    spare: Spare
    used: int
    held: int


@dataclass(frozen=True, kw_only=True)
class SparesSection:
    """
    The spares' part of a job card.

    Attributes
    ----------
    has : tuple of Has
    needs : tuple of Supplied
        What it may need; empty while `later`, and for a job that is over.
    later : bool
        Whether what it may need is still to be asked for.
    open : bool
        Whether anything can be taken for it.
    may_be_donor : bool
        Whether the camera was kept for its parts and is no donor yet; `donor` is its number where it is.
    """

    job: Job
    has: tuple[Has, ...]
    needs: tuple[Supplied, ...]
    later: bool
    open: bool
    may_be_donor: bool
    donor: int | None
    said: str = ""
    refused: str = ""


def section(job: Job, *, later: bool = False, said: str = "", refused: str = "") -> SparesSection:
    """What the spares' part of a job card needs; `later` leaves what takes a while to a second request."""
    is_open = not job.is_over
    donor = getattr(job, "donor", None)
    needs = () if later or not is_open else needs_of(job)
    return SparesSection(
        job=job,
        has=_has(job),
        needs=tuple(supplied(job, needs))[:MOST_SHOWN] if needs else (),
        later=later and is_open,
        open=is_open,
        may_be_donor=job.stands is Standing.KEPT and donor is None,
        donor=donor.pk if donor else None,
        said=said,
        refused=refused,
    )


def _has(job: Job) -> tuple[Has, ...]:
    rows = SpareMove.objects.filter(job=job).order_by().values_list("spare")
    sums = {pk: (-lies, held) for pk, lies, held in rows.annotate(lies=Sum("lies"), held=Sum("held"))}
    spares = Spare.objects.in_bulk([pk for pk, sums_of in sums.items() if any(sums_of)])
    return tuple(Has(spare, *sums[pk]) for pk, spare in sorted(spares.items()))


@require_http_methods(["GET", "HEAD", "POST"])
def job_spares(request: HttpRequest, number: int) -> HttpResponse:
    """What a job may need; or keep, use, let go or give back a spare."""
    job = job_numbered(number)
    if request.method != "POST":
        return _show(request, section(job))
    do, said = request.POST.get("do", ""), ""
    try:
        said = _do(job, do, request.POST.get("spare", ""), request.POST.get("part", ""), who(request))
    except Refused as reason:
        return _show(request, section(job, refused=str(reason)), status=CANNOT)
    if is_live(request):
        return _show(request, section(job, said=said))
    messages.success(request, said)
    return go_to(request, reverse("job_spares", args=[number]))


def _do(job: Job, do: str, key: str, part: str, by: str) -> str:
    number = whole_number(key)
    spare = Spare.objects.filter(pk=number).first() if number else None
    if spare is None:
        raise Refused("That spare is not in the book. Look it up on the shelf.")
    if do not in DO:
        raise Refused(f"{do[:40]!r} is nothing that is done with a spare here.")
    for_part = {"for_part": part.replace("\0", "")[:120]} if do in ("keep", "use") else {}
    DO[do](spare, job, by=by, **for_part)
    return f"{SAID[do]}: {spare.name}."


def _show(request: HttpRequest, spares: SparesSection, *, status: int = 200) -> HttpResponse:
    template = "bench/parts/job_spares.html" if is_live(request) else "bench/job_spares.html"
    return render(request, template, {"job": spares.job, "spares": spares}, status=status)


urlpatterns = [path("job/<int:number>/spares/", job_spares, name="job_spares")]
