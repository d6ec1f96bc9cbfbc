"""The way back: one press for each part that goes in again, and a look into every pocket."""

from __future__ import annotations

from dataclasses import dataclass, field

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.anatomy.rebuilding import BackStep, Leftover, WayBack, way_back
from pegwood.book.families import construction_of
from pegwood.book.models import Job, Kept, StripDown, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.stripping.back import explain, lies_there, log_back
from pegwood.book.stripping.kept import SHIM_U_MM, described
from pegwood.book.stripping.pockets import pocket_name
from pegwood.book.stripping.record import as_log, steps_of
from pegwood.book.stripping.trays import TrayShown, trays_of
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.book.trade_tables import tables
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who, whole_number
from pegwood.web.forms.fields import NumberField, PlainForm, line


class BackForm(PlainForm):
    """What goes in with a part: how much of it stays out, and shims as measured in the hand."""

    anyway = forms.BooleanField(label="It goes in all the same", required=False)

    def __init__(self, *args: object, kept: tuple[Kept, ...] = (), **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.kept = kept
        for one in kept:
            self.fields[f"left_{one.pk}"] = forms.IntegerField(
                label="Stays in the pocket",
                required=False,
                min_value=0,
                max_value=one.count,
                widget=line(inputmode="numeric", size="4"),
            )
            if one.kind in {Kept.Kind.SHIM, Kept.Kind.WASHER}:
                self.fields[f"hand_{one.pk}"] = NumberField(
                    label=f"In the hand, mm (± {2 * SHIM_U_MM:.3f}, k = 2)",
                    such_as="0.2",
                    min_value=0.001,
                    max_value=10,
                    widget=line(inputmode="decimal", size="7"),
                )

    @property
    def left(self) -> dict[int, int]:
        """How many of each stay out."""
        return {one.pk: self.cleaned_data[f"left_{one.pk}"] or 0 for one in self.kept}

    @property
    def shims_mm(self) -> dict[int, float]:
        """Shims measured now, [mm]."""
        hands = {one.pk: self.cleaned_data.get(f"hand_{one.pk}") for one in self.kept}
        return {key: mm for key, mm in hands.items() if mm is not None}


@dataclass(frozen=True)
class Bringing:
    """Something that goes in with a part: what it is, where it lies, and what is asked about it."""

    kept: Kept
    words: str
    lies: str
    left: forms.BoundField
    hand: forms.BoundField | None


@dataclass(frozen=True, kw_only=True)
class BackPage:
    """The page of the way back; `step` is the one that is shown large."""

    job: Job
    strip_down: StripDown
    rows: tuple[TakenOff, ...]
    way: WayBack
    step: BackStep | None
    row: TakenOff | None
    form: BackForm
    trays: tuple[TrayShown, ...]
    refused: str = ""
    of: dict[str, TakenOff] = field(default_factory=dict)

    @property
    def stage(self) -> BackPage:
        """For the bar that both pages have."""
        return self

    @property
    def last(self) -> TakenOff | None:
        return self.rows[-1] if self.rows else None

    @property
    def bring(self) -> tuple[Bringing, ...]:
        """What goes in with the part."""
        return tuple(
            Bringing(
                one,
                described(one),
                pocket_name(one.tray, one.pocket) or "beside the trays",
                self.form[f"left_{one.pk}"],
                self.form[f"hand_{one.pk}"] if f"hand_{one.pk}" in self.form.fields else None,
            )
            for one in self.form.kept
        )

    @property
    def lies(self) -> str:
        """Where the part lies."""
        if self.row is None:
            return ""
        if self.row.met == TakenOff.Met.MISSING:
            return "the spares"
        return pocket_name(self.row.tray, self.row.pocket) or "beside the trays"

    @property
    def left_over(self) -> tuple[Leftover, ...]:
        """What is out though the part it came with is in, or stays out."""
        return tuple(one for one in self.way.leftovers if one.of.is_back or one.of.explained)

    @property
    def done(self) -> int:
        return sum(step.state in {"back", "stays out"} for step in self.way.steps)

    @property
    def may_force(self) -> bool:
        """Whether somebody may know better than the log."""
        held = self.step is not None and bool(self.step.held_by)
        return held or bool(self.refused and not self.form.errors)

    @property
    def others(self) -> tuple[BackStep, ...]:
        """What could be done now beside the step that is shown."""
        return tuple(one for one in self.way.now if one is not self.step)

    @property
    def held(self) -> tuple[BackStep, ...]:
        """What waits, or has something in its way."""
        return tuple(one for one in self.way.steps if one.state in {"waits", "held up"})


def back_page(job: Job, chosen: str = "", form: BackForm | None = None, refused: str = "") -> BackPage:
    """The page with the next step, or with the chosen one."""
    rows = tuple(steps_of(job))
    strip_down = strip_down_of(job)
    now = timezone.now()
    since = {str(row.pk): (now - row.back_at).total_seconds() for row in rows if row.back_at}
    way = way_back(as_log(list(rows)), construction_of(strip_down.family), tables()[0], since)
    of = {str(row.pk): row for row in rows}
    wanted = next((one for one in way.steps if one.entry.id == chosen and one.state != "back"), None)
    step = wanted or (way.now[0] if way.now else None)
    row = of[step.entry.id] if step else None
    if form is None:
        form = BackForm(kept=_out(row), initial={})
    return BackPage(
        job=job,
        strip_down=strip_down,
        rows=rows,
        way=way,
        step=step,
        row=row,
        form=form,
        trays=trays_of(strip_down, rows),
        refused=refused,
        of=of,
    )


def _out(row: TakenOff | None) -> tuple[Kept, ...]:
    return tuple(one for one in row.kept.all() if not one.explained) if row else ()


@require_safe
def back(request: HttpRequest, number: int) -> HttpResponse:
    """What goes back next, what waits, what lies in the trays."""
    return _show(request, back_page(job_numbered(number), request.GET.get("step", "")))


def _show(request: HttpRequest, page: BackPage, *, told: str = "", status: int = 200) -> HttpResponse:
    template = "bench/parts/strip_back.html" if is_live(request) else "bench/strip_back.html"
    return render(request, template, {"page": page, "job": page.job, "told": told}, status=status)


@require_POST
def put_back(request: HttpRequest, number: int) -> HttpResponse:
    """Write down that a part is in the camera again."""
    job = job_numbered(number)
    key = whole_number(request.POST.get("step", ""))
    row = TakenOff.objects.prefetch_related("kept").filter(job=job, pk=key or 0).first()
    if row is None:
        page = back_page(job, refused="That step is not in the log any more. Here is what goes back next.")
        return _show(request, page, status=CANNOT)
    form = BackForm(request.POST, kept=_out(row))
    if not form.is_valid():
        page = back_page(job, str(row.pk), form, "Look again at what is marked.")
        return _show(request, page, status=CANNOT)
    try:
        anyway = form.cleaned_data["anyway"]
        log_back(row, left=form.left, shims_mm=form.shims_mm, anyway=anyway, by=who(request))
    except Refused as reason:
        return _show(request, back_page(job, str(row.pk), form, str(reason)), status=CANNOT)
    words = f"{row.name} is in again."
    if is_live(request):
        return _show(request, back_page(job), told=words)
    messages.success(request, words)
    return go_to(request, reverse("way_back", args=[number]))


@dataclass(frozen=True)
class PocketPage:
    """A pocket looked into: what lay there, and what is believed of it."""

    name: str
    parts: tuple[TakenOff, ...]
    kept: tuple[Kept, ...]
    refused: str = ""


@require_http_methods(["GET", "HEAD", "POST"])
def pocket(request: HttpRequest, number: int, tray: int, place: int) -> HttpResponse:
    """A look into a pocket: how much of what lay there still does."""
    job = job_numbered(number)
    rows = TakenOff.objects.filter(job=job)
    kept = Kept.objects.filter(taken_off__in=rows, tray=tray, pocket=place).select_related("taken_off")
    parts = rows.filter(tray=tray, pocket=place, met=TakenOff.Met.THERE)
    if not (kept or parts):
        raise Http404("Nothing was ever laid into that pocket.")
    refused = ""
    if request.method == "POST":
        refused = _looked(request, list(kept))
        if not refused:
            return go_to(request, reverse("way_back", args=[number]))
    page = PocketPage(pocket_name(tray, place), tuple(parts), tuple(kept.all()), refused)
    status = CANNOT if refused else 200
    return render(request, "bench/strip_pocket.html", {"page": page, "job": job}, status=status)


def _looked(request: HttpRequest, kept: list[Kept]) -> str:
    """Write down what was seen in a pocket; why that cannot be."""
    for one in kept:
        typed = request.POST.get(f"lie_{one.pk}", "").strip()
        how_many = whole_number(typed) if typed else one.count - one.back
        if how_many is None:
            return f"{typed!r} is no number. How many of {described(one)} lie there?"
        try:
            lies_there(one, how_many, by=who(request))
            explain(one, request.POST.get(f"why_{one.pk}", one.explained), by=who(request))
        except Refused as reason:
            return str(reason)
    return ""


urlpatterns = [
    path("job/<int:number>/back/", back, name="way_back"),
    path("job/<int:number>/back/in/", put_back, name="put_back"),
    path("job/<int:number>/tray/<int:tray>/<int:place>/", pocket, name="strip_pocket"),
]
