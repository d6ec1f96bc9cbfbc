"""Taking a camera apart: one press for each part that comes off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.forms import BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django_htmx.http import replace_url

from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.anatomy.parts import Note, Part, Way
from pegwood.book.families import construction_learned
from pegwood.book.files.pictures import LARGEST_FILE
from pegwood.book.looking import add_photo
from pegwood.book.models import Finding, Job, Photo, StripDown, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.stripping.back import explain, let_part_wait
from pegwood.book.stripping.off import amend_step, log_off
from pegwood.book.stripping.undo import undo
from pegwood.book.stripping.way_in import run_clock, stop_clock, strip_down_of
from pegwood.web.bench_request import CANNOT, content_of, go_to, is_live, job_numbered, who, whole_number
from pegwood.web.forms.strip import KeptForm, OffForm, details_of, kept_forms, of_family, of_step
from pegwood.web.strip.asked import told
from pegwood.web.strip.stage import Stage, stage_of

#: Photographs from earlier jobs that stand at a step.
MOST_BEFORE = 3
SAID = {
    TakenOff.Met.THERE: "is off",
    TakenOff.Met.MISSING: "is missing",
    TakenOff.Met.NEVER: "was never fitted to this one",
}


@dataclass(frozen=True, kw_only=True)
class OffPage:
    """
    The page of a strip-down.

    `part` is the one that comes off next, by the plan or as chosen; none for one that no family knows.
    `early` is what the family would have off first.
    """

    stage: Stage
    part: Part | None
    way: Way | None
    number: int
    form: OffForm
    kept: BaseFormSet[KeptForm]
    early: tuple[Part, ...]
    is_proposed: bool
    last: TakenOff | None
    refused: str = ""
    may_mean: tuple[Part, ...] = ()

    @property
    def photos_before(self) -> tuple[Photo, ...]:
        """How this part looked in other such cameras, the latest first."""
        if self.part is None:
            return ()
        others = Photo.objects.exclude(job=self.stage.job).filter(
            taken_off__part=self.part.id,
            taken_off__struck_out=False,
            job__strip_down__family=self.stage.strip_down.family,
        )
        return tuple(others.select_related("job").order_by("-at")[:MOST_BEFORE])

    @property
    def form_id(self) -> str:
        """What was typed for one part does not come back for the next."""
        return f"off-{self.number}-{self.part.id.replace('.', '-') if self.part else 'other'}"


def off_page(stage: Stage, chosen: str = "", way_named: str = "") -> OffPage:
    """The page with the step that is proposed, or with the part that was chosen; "?" for one nobody knows."""
    known = stage.construction.parts if stage.construction else {}
    proposed = stage.plan.steps[0].part if stage.plan and stage.plan.steps else None
    part = known.get(chosen) if chosen else proposed
    way = stage.way_of(part, way_named) if part else None
    asks: tuple[Note, ...] = way.before if way else ()
    initial = {
        "part": part.id if part else "",
        "name": part.name if part else "",
        "way": way.name if way else "",
        "pocket": stage.next_pocket,
    }
    return _page(stage, part, way, OffForm(asks=asks, initial=initial), kept_forms(None, of_family(part)))


def _page(
    stage: Stage,
    part: Part | None,
    way: Way | None,
    form: OffForm,
    kept: BaseFormSet[KeptForm],
    refused: str = "",
) -> OffPage:
    proposed = stage.plan.steps[0].part if stage.plan and stage.plan.steps else None
    return OffPage(
        stage=stage,
        part=part,
        way=way,
        number=max((row.number for row in stage.rows), default=0) + 1,
        form=form,
        kept=kept,
        early=stage.early(part, way) if part else (),
        is_proposed=part is not None and proposed is not None and part.id == proposed.id,
        last=stage.rows[-1] if stage.rows else None,
        refused=refused,
    )


@require_safe
def strip(request: HttpRequest, number: int) -> HttpResponse:
    """The step that comes next, the trays, and what is off."""
    stage = stage_of(job_numbered(number))
    said = request.GET.get("name", "").strip()
    chosen = request.GET.get("part", "")
    if said and stage.construction:
        try:
            chosen = find_part(stage.construction, said).id
        except NotOnePart as reason:
            page = replace(off_page(stage, "?"), refused=told(said, reason), may_mean=reason.candidates)
            page.form.initial["name"] = said
            return _show(request, page)
    if again := whole_number(request.GET.get("again", "")):
        return _show(request, _again(stage, get_object_or_404(_taken_back(number), pk=again)))
    page = off_page(stage, chosen, request.GET.get("way", ""))
    if said and not stage.construction:
        page.form.initial["name"] = said
    return _show(request, page)


def _taken_back(number: int) -> QuerySet[TakenOff]:
    return TakenOff.everything.filter(job__number=number, struck_out=True)


def _again(stage: Stage, row: TakenOff) -> OffPage:
    """A step that was taken back, with all that had been written of it."""
    part, way = _meant(stage.strip_down, row.part, row.way)
    asks, fields, rows = of_step(row, part, way)
    seen = Finding.everything.filter(taken_off=row).first()
    if seen is not None:
        fields |= {"condition": seen.condition, "grade": seen.grade, "place": seen.place}
    for one in rows:
        del one["row"]
    return _page(stage, part, way, OffForm(asks=asks, initial=fields), kept_forms(None, rows))


def _show(request: HttpRequest, page: OffPage, *, says: str = "", status: int = 200) -> HttpResponse:
    template = "bench/parts/strip_off.html" if is_live(request) else "bench/strip_off.html"
    return render(request, template, {"page": page, "job": page.stage.job, "told": says}, status=status)


@require_POST
def off(request: HttpRequest, number: int) -> HttpResponse:
    """Write a step down: the part is off, missing, or was never there."""
    job = job_numbered(number)
    strip_down = strip_down_of(job)
    part, way = _meant(strip_down, request.POST.get("part", ""), request.POST.get("way", ""))
    form = OffForm(request.POST, asks=way.before if way else ())
    kept = kept_forms(request.POST)
    met = request.POST.get("met", "there")
    if not (form.is_valid() and kept.is_valid()):
        stage = stage_of(job)
        return _show(
            request, _page(stage, part, way, form, kept, "Look again at what is marked."), status=CANNOT
        )
    try:
        details = details_of(form, kept, met=met, part=part, way=way, strip_down=strip_down)
        step = log_off(job, details, by=who(request))
    except ValidationError as amiss:
        form.add_error(None, amiss)
        return _show(request, _page(stage_of(job), part, way, form, kept), status=CANNOT)
    except Refused as reason:
        return _show(request, _page(stage_of(job), part, way, form, kept, str(reason)), status=CANNOT)
    refused = _photographs(request, job, step)
    words = f"{step.number}. {step.name} {SAID[TakenOff.Met(step.met)]}."
    if refused:
        messages.warning(request, refused)
    if is_live(request):
        answer = _show(request, off_page(stage_of(job)), says=words)
        return replace_url(answer, reverse("strip", args=[number]))  # a reload shows what comes next
    messages.success(request, words)
    return go_to(request, reverse("strip", args=[number]))


def _photographs(request: HttpRequest, job: Job, step: TakenOff) -> str:
    """Those that came along; why one was refused."""
    for file in request.FILES.getlist("photos"):
        try:
            add_photo(job, content_of(file), name=file.name or "", step=step, by=who(request))
        except Refused as reason:
            return f"{file.name}: {reason}"
    return ""


def _meant(strip_down: StripDown, part: str, way: str) -> tuple[Part | None, Way | None]:
    """The part of the family that is meant, and the way of that name; its only one where none is named."""
    construction = construction_learned(strip_down.family)
    known = construction.parts.get(part) if construction else None
    if known is None:
        return None, None
    return known, next((one for one in known.ways if one.name == way), None)


@require_POST
def take_back(request: HttpRequest, number: int) -> HttpResponse:
    """Take the last press back, whichever page it was made on."""
    job = job_numbered(number)
    to = request.POST.get("to", "strip")
    try:
        step = undo(job, by=who(request))
    except Refused as reason:
        messages.warning(request, str(reason))
    else:
        is_out = "is out again" if not step.struck_out else "is as it was"
        messages.success(request, f"Taken back: {step.number}. {step.name} {is_out}.")
        if step.struck_out:
            return go_to(request, f"{reverse('strip', args=[number])}?{urlencode({'again': step.pk})}")
    return go_to(request, reverse("way_back" if to == "back" else "strip", args=[number]))


@require_POST
def clock(request: HttpRequest, number: int) -> HttpResponse:
    """Let the clock run, or stand."""
    job = job_numbered(number)
    to = request.POST.get("to", "strip")
    try:
        (run_clock if request.POST.get("clock") == "run" else stop_clock)(job, by=who(request))
    except Refused as reason:
        messages.warning(request, str(reason))
    return go_to(request, reverse("way_back" if to == "back" else "strip", args=[number]))


@dataclass(frozen=True)
class StepPage:
    """One step, to be corrected, photographed, let wait or explained."""

    step: TakenOff
    stage: Stage
    form: OffForm
    kept: BaseFormSet[KeptForm]
    refused: str = ""
    largest_mb: int = LARGEST_FILE // 1024**2

    @property
    def pk(self) -> str:
        """The step's, as it stands in an address."""
        return str(self.step.pk)

    @property
    def awaits(self) -> list[tuple[str, str]]:
        """Where a part may be, and as a button says it."""
        return [(value, str(words)) for value, words in TakenOff.Awaits.choices]


@require_http_methods(["GET", "HEAD", "POST"])
def step(request: HttpRequest, pk: int) -> HttpResponse:
    """One step of a strip-down."""
    row = _step(pk)
    stage = stage_of(row.job)
    part, way = _meant(stage.strip_down, row.part, row.way)
    asks, fields, rows = of_step(row, part, way)
    if request.method != "POST":
        page = StepPage(row, stage, OffForm(asks=asks, initial=fields), kept_forms(None, rows))
        return render(request, "bench/strip_step.html", {"page": page, "job": row.job})
    form, kept = OffForm(request.POST, asks=asks), kept_forms(request.POST)
    why = "Look again at what is marked."
    if form.is_valid() and kept.is_valid():
        try:
            met = request.POST.get("met", row.met)
            details = details_of(form, kept, met=met, part=part, way=way, strip_down=stage.strip_down)
            amend_step(row, details, by=who(request))
        except ValidationError as amiss:
            form.add_error(None, amiss)
        except Refused as reason:
            why = str(reason)
        else:
            messages.success(request, f"{row.number}. {row.name}: written down.")
            return go_to(request, reverse("strip", args=[row.job.number]) + f"#step-{row.pk}")
    page = StepPage(row, stage, form, kept, why)
    return render(request, "bench/strip_step.html", {"page": page, "job": row.job}, status=CANNOT)


@require_POST
def wait(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a part wait for cleaning, mending or a spare; or have it at hand again."""
    row = _step(pk)
    awaits, note = request.POST.get("awaits", ""), request.POST.get("note", "")
    return _then(request, row, lambda: let_part_wait(row, awaits, by=who(request), note=note))


@require_POST
def explain_part(request: HttpRequest, pk: int) -> HttpResponse:
    """Say why a part does not go back."""
    row = _step(pk)
    return _then(request, row, lambda: explain(row, request.POST.get("why", ""), by=who(request)))


def _then(request: HttpRequest, row: TakenOff, act: Callable[[], object]) -> HttpResponse:
    try:
        act()
    except Refused as reason:
        messages.warning(request, str(reason))
    to = request.POST.get("to", "")
    if to == "back":
        return go_to(request, reverse("way_back", args=[row.job.number]))
    return go_to(request, reverse("strip_step", args=[row.pk]))


def _step(pk: int) -> TakenOff:
    related = TakenOff.objects.select_related("job__owner", "job__camera").prefetch_related("kept", "photos")
    return get_object_or_404(related, pk=pk)


urlpatterns = [
    path("job/<int:number>/strip/", strip, name="strip"),
    path("job/<int:number>/strip/off/", off, name="strip_off"),
    path("job/<int:number>/strip/undo/", take_back, name="strip_undo"),
    path("job/<int:number>/strip/clock/", clock, name="strip_clock"),
    path("strip-step/<int:pk>/", step, name="strip_step"),
    path("strip-step/<int:pk>/wait/", wait, name="strip_wait"),
    path("strip-step/<int:pk>/explain/", explain_part, name="strip_explain"),
]
