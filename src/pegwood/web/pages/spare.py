"""One spare: where it lies, how many there are, what moved, what was measured of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.book.families import construction_of
from pegwood.book.models import Job, Spare, SpareMeasure, SpareMove
from pegwood.book.refusal import Refused
from pegwood.book.spares import taking
from pegwood.book.spares.ageing import Ageing, ageing_of
from pegwood.book.spares.moves import Count, count_of
from pegwood.book.spares.putting import amend_spare, measure_spare, put_more, strike_out_measure
from pegwood.book.workshop import workshop
from pegwood.web.bench_request import CANNOT, go_to, who, whole_number
from pegwood.web.forms.findings import StrikeOutForm
from pegwood.web.forms.shelf import MeasureForm, MoveForm, SpareForm
from pegwood.web.pages.shelf import kind_of

MOST_MOVES = 60
#: How far ahead it is told what a fading spare will still have, [years].
AHEAD = (0, 1, 2, 5)


@dataclass(frozen=True)
class Then:
    """What a fading spare has then, with twice its uncertainty, and how likely it is still of use."""

    years: int
    value: str
    good: float | None


@dataclass(frozen=True)
class AgeingShown:
    """How a spare fades, in words."""

    ageing: Ageing
    a_year: str
    then: tuple[Then, ...]


@dataclass(frozen=True)
class MoveLine:
    """A move, and whether it can still be undone."""

    move: SpareMove
    can_undo: bool


@dataclass(frozen=True, kw_only=True)
class SparePage:
    """
    A spare.

    `refused` is why something was not done; `of_part` is what the part is called in its family.
    """

    spare: Spare
    kind: str
    of_part: str
    count: Count
    held: tuple[tuple[Job, int], ...]
    moves: tuple[MoveLine, ...]
    measures: tuple[SpareMeasure, ...]
    ageing: tuple[AgeingShown, ...]
    form: SpareForm
    move_form: MoveForm
    measure_form: MeasureForm
    refused: str = ""

    @property
    def next(self) -> str:
        """One sentence: what to do on this page now."""
        if not self.count.lies:
            return "none is left: put more in, or see what else fits"
        if not self.spare.place:
            return "say where it lies"
        if not self.count.free:
            return "all that lies there is reserved"
        return "take it for a job, or keep it for one"


@require_http_methods(["GET", "HEAD", "POST"])
def spare(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a spare, or correct what is known of it."""
    known = _spare(pk)
    ours = workshop()
    if request.method != "POST":
        return _show(request, known)
    form = SpareForm(request.POST, now=ours)
    if form.is_valid():
        try:
            amend_spare(known, form.details, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Written down.")
            return _back(request, pk)
    return _show(request, known, form=form, status=CANNOT)


@require_POST
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Take, keep, put back, write off, count: what the pressed button says."""
    known = _spare(pk)
    form = MoveForm(request.POST)
    if not form.is_valid():
        return _show(request, known, move_form=form, status=CANNOT)
    try:
        says = _move(known, request.POST.get("do", ""), form.cleaned_data, who(request))
    except Refused as reason:
        return _show(request, known, move_form=form, refused=str(reason), status=CANNOT)
    messages.success(request, says)
    return _back(request, pk)


def _move(known: Spare, do: str, said: dict[str, Any], by: str) -> str:
    count = 1 if said["count"] is None else said["count"]
    if do in FOR_JOB:
        job = _job(said["job"])
        FOR_JOB[do](known, job, count, by=by)
        return f"{known.name}: {SAID[do]} job {job.number}."
    if do == "let go":
        job = _job(said["job"])
        taking.let_go(known, job, by=by)
        return f"{known.name}: no longer kept for job {job.number}."
    if do == "more":
        put_more(known, count, by=by, reason=said["reason"])
    elif do == "write off":
        taking.write_off(known, count, said["reason"], by=by)
    elif do == "count":
        taking.recount(known, count, said["reason"], by=by)
    else:
        raise Refused(f"{do[:40]!r} is nothing that is done with a spare here.")
    return f"{known.name}: {count_of(known).lies} there now."


FOR_JOB: dict[str, Callable[..., SpareMove]] = {
    "use": taking.use,
    "keep": taking.reserve,
    "back": taking.give_back,
}
SAID = {"use": "used in", "keep": "kept for", "back": "came back from"}


def _job(number: int | None) -> Job:
    if number is None:
        raise Refused("Which job is it for? Write its number.")
    job = Job.objects.filter(number=number).first() if 0 <= number < 2**31 else None
    if job is None:
        raise Refused(f"There is no job {str(number)[:12]}.")
    return job


@require_POST
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo a move that was a slip, by its counter-entry."""
    known = _spare(pk)
    key = whole_number(request.POST.get("move", ""))
    row = SpareMove.objects.filter(spare=known, pk=key).first() if key else None
    try:
        if row is None:
            raise Refused("That move is none of this spare's.")
        taking.undo(row, by=who(request))
    except Refused as reason:
        return _show(request, known, refused=str(reason), status=CANNOT)
    messages.success(request, "Undone. Both stay in the book.")
    return _back(request, pk)


@require_POST
def measure(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down what was measured of it."""
    known = _spare(pk)
    form = MeasureForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        try:
            row = measure_spare(known, **said, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Measured: {row}.")
            return _back(request, pk)
    return _show(request, known, measure_form=form, status=CANNOT)


@require_POST
def measure_strike(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a reading that was wrong."""
    row = get_object_or_404(SpareMeasure.everything.select_related("spare"), pk=pk)
    form = StrikeOutForm(request.POST)
    if not form.is_valid():
        return _show(request, row.spare, refused="Say why it is struck out.", status=CANNOT)
    strike_out_measure(row, form.cleaned_data["reason"], by=who(request))
    messages.info(request, f"Struck out: {row}.")
    return _back(request, row.spare.pk)


def _spare(pk: int) -> Spare:
    return get_object_or_404(Spare.objects.select_related("donor"), pk=pk)


def _back(request: HttpRequest, pk: int) -> HttpResponse:
    return go_to(request, reverse("spare", args=[pk]))


def _show(
    request: HttpRequest,
    known: Spare,
    *,
    form: SpareForm | None = None,
    move_form: MoveForm | None = None,
    measure_form: MeasureForm | None = None,
    refused: str = "",
    status: int = 200,
) -> HttpResponse:
    known.refresh_from_db()
    rows = list(known.moves.select_related("job", "undone_by", "undoes").order_by("-pk")[:MOST_MOVES])
    measures = tuple(known.measures.all())
    construction = construction_of(known.family)
    part = construction.parts.get(known.part) if construction else None
    last = measures[-1] if measures else None
    begun = {"what": last.what, "unit": last.unit, "u": f"{last.u:g}", "note": last.note} if last else {}
    page = SparePage(
        spare=known,
        kind=kind_of(known),
        of_part=part.name if part and part.name != known.name else "",
        count=count_of(known),
        held=_held(known),
        moves=tuple(MoveLine(row, _can_undo(row)) for row in rows),
        measures=measures,
        ageing=tuple(_shown(one, known) for one in ageing_of(measures)),
        form=form or SpareForm.of(known, workshop()),
        move_form=move_form or MoveForm(),
        measure_form=measure_form or MeasureForm(initial=begun),
        refused=refused,
    )
    return render(request, "bench/spare.html", {"page": page}, status=status)


def _can_undo(row: SpareMove) -> bool:
    return row.kind != SpareMove.Kind.UNDONE and not hasattr(row, "undone_by")


def _held(known: Spare) -> tuple[tuple[Job, int], ...]:
    found: dict[int, int] = {}
    jobs: dict[int, Job] = {}
    for row in known.moves.exclude(job=None).exclude(held=0).select_related("job"):
        assert row.job is not None
        jobs[row.job.pk] = row.job
        found[row.job.pk] = found.get(row.job.pk, 0) + row.held
    return tuple((jobs[pk], held) for pk, held in found.items() if held > 0)


def _shown(one: Ageing, known: Spare) -> AgeingShown:
    fading = one.fading
    if fading is None:
        return AgeingShown(one, "", ())
    today = one.years(timezone.localdate())
    then = []
    for years in AHEAD:
        value, u = fading.value(today + years)
        good = None if known.good_from is None else fading.still_good(today + years, known.good_from)
        then.append(Then(years, f"{value:.3g} ± {2 * u:.2g} {one.unit}", good))
    loses = f"{100 * fading.per_year:.2g} % ± {200 * fading.u_per_year:.2g} % a year"
    return AgeingShown(one, loses, tuple(then))


urlpatterns = [
    path("spare/<int:pk>/", spare, name="spare"),
    path("spare/<int:pk>/move/", move, name="spare_move"),
    path("spare/<int:pk>/undo/", undo, name="spare_undo"),
    path("spare/<int:pk>/measure/", measure, name="spare_measure"),
    path("spare-reading/<int:pk>/strike/", measure_strike, name="spare_measure_strike"),
]
