"""Gauging with one of the other instruments: readings typed or photographed, and what they say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.forms import BaseForm, Form
from django.forms.formsets import BaseFormSet
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.book.gauging import GaugeFile, Sent, keep_gauging, typed_figures, way_of
from pegwood.book.measuring import accept_measurement, read_recording, set_aside
from pegwood.book.models import Job, Measurement
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.instruments.readings import RefusedReadings
from pegwood.papers.beside import Beside
from pegwood.papers.gauged import Said, says_of
from pegwood.web.bench_request import (
    CANNOT,
    content_of,
    go_to,
    is_live,
    job_numbered,
    refused_json,
    sent_on,
    wants_json,
    who,
)
from pegwood.web.budgets import BudgetLine
from pegwood.web.forms.gauge import MarkForm, PicturesForm, RowForm, cells, rows
from pegwood.web.forms.shutter import SetAsideForm
from pegwood.web.gauges import FACES, Face, SaidForm, face_of
from pegwood.web.gauges.budgets import budgets_of
from pegwood.web.gauges.face import Chart
from pegwood.web.gauges.summary import by_mark
from pegwood.web.gauges.summary import gauged as gauged_on
from pegwood.web.local import locale
from pegwood.web.pages.chart_library import library_url, scheme
from pegwood.web.reading import Progress, reader
from pegwood.web.stored import as_it_came

FOUND, LEFT = Measurement.Phase.FOUND, Measurement.Phase.LEFT
MOST_LISTED = 40

# --- what the pages show --------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What an instrument made of readings, kept or not."""

    said: Said
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    advice: tuple[str, ...]
    budgets: tuple[tuple[str, tuple[BudgetLine, ...]], ...]


@dataclass(frozen=True)
class Forms:
    """What a way is told by: beside what readings, of which mark, typed or photographed."""

    form: SaidForm
    mark: MarkForm | None
    sheet: BaseFormSet[RowForm] | None
    pictures: PicturesForm | None

    @property
    def all(self) -> tuple[BaseForm | BaseFormSet[RowForm], ...]:
        """Those the way has."""
        return tuple(one for one in (self.mark, self.sheet, self.pictures, self.form) if one is not None)

    @property
    def are_valid(self) -> bool:
        """Whether all can be taken; each is looked at, so that all that is amiss is marked at once."""
        valid = [one.is_valid() for one in self.all]
        return all(valid)

    @property
    def told(self) -> dict[str, Any]:
        """What was told beside the readings. Only of forms that are valid."""
        return self.form.said()

    @property
    def marked(self) -> str:
        """The mark; empty where the way has none. Only of forms that are valid."""
        return str(self.mark.cleaned_data["marked"]) if self.mark else ""


@dataclass(frozen=True, kw_only=True)
class GaugePage:
    """The page of one way: its form, what stands on the card, what waits for a word."""

    job: Job
    face: Face
    forms: Forms
    accepted: tuple[Beside, ...]
    waiting: tuple[Measurement, ...]
    aside: tuple[Measurement, ...]
    amiss: str
    others: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class GaugingPage:
    """One gauging: what was sent, what the instrument says, whether it is taken."""

    job: Job
    face: Face
    measurement: Measurement
    progress: Progress | None
    answer: Answer | None
    charts: tuple[Chart, ...]
    library_url: str
    likelier: str
    other: str
    on_the_card: tuple[str, ...]
    aside_form: SetAsideForm
    refused: str

    @property
    def is_live(self) -> bool:
        """Whether it is being read now."""
        return self.progress is not None and not self.progress.trouble

    @property
    def trouble(self) -> str:
        return self.progress.trouble if self.progress else ""


def _face(way: str) -> Face:
    face = face_of(way)
    if face is None:
        raise Http404("no such way of gauging")
    return face


def answer_of(way: str, result: dict[str, Any]) -> Answer:
    """An instrument's answer as a page shows it."""
    return Answer(
        said=says_of(way, result, locale()),
        warnings=tuple(result.get("warnings") or ()),
        notes=tuple(result.get("notes") or ()),
        advice=tuple(result.get("advice") or ()),
        budgets=budgets_of(result, locale()),
    )


# --- taking readings ------------------------------------------------------------------------------------


@require_safe
def gauges(request: HttpRequest, number: int) -> HttpResponse:
    """Every instrument there is a page for, and what was read with it."""
    job = job_numbered(number)
    shown = {"job": job, "faces": [face for way in FACES if (face := face_of(way))], "gauged": gauged_on(job)}
    return render(request, "bench/gauges.html", shown)


@require_http_methods(["GET", "HEAD", "POST"])
def gauge(request: HttpRequest, number: int, way: str) -> HttpResponse:
    """Take readings one after another, or photographs; see what they say."""
    job, face = job_numbered(number), _face(way)
    if request.method != "POST":
        return _show(request, job, face, _fresh(job, face))
    if request.POST.get("do") == "more":
        return _show(request, job, face, _fresh(job, face, request))
    typed = _typed(face, request)
    if not typed.are_valid:
        if wants_json(request):
            amiss = (one for one in typed.all if isinstance(one, Form) and one.errors)
            return refused_json(next(amiss))
        return _show(request, job, face, typed, amiss="Look again at what is marked.", status=CANNOT)
    try:
        measurement = keep_gauging(
            job, face.way, _sent(face, typed), said=typed.told, marked=typed.marked, by=who(request)
        )
        if face.way.takes == "figures":
            read_recording(measurement, by=who(request))
    except Refused as refusal:
        if wants_json(request):
            return JsonResponse({"refused": str(refusal), "field": ""}, status=CANNOT)
        return _show(request, job, face, typed, amiss=str(refusal), status=CANNOT)
    if face.way.takes == "photographs":
        reader.take(measurement, by=who(request))
        return sent_on(request, reverse("gauging", args=[measurement.pk]))
    return go_to(request, reverse("gauging", args=[measurement.pk]))


@require_POST
def gauge_so_far(request: HttpRequest, number: int, way: str) -> HttpResponse:
    """What the figures typed so far say; nothing is kept."""
    job, face = job_numbered(number), _face(way)
    shown: dict[str, Any] = {"job": job, "face": face}
    if face.columns and (typed := _typed(face, request)).are_valid:
        try:
            shown["answer"] = answer_of(face.way.id, _read_as_typed(face, typed))
        except (Refused, RefusedReadings) as refusal:
            shown["why_not"] = str(refusal)
    return render(request, "bench/parts/gauge_so_far.html", shown)


def _read_as_typed(face: Face, typed: Forms) -> dict[str, Any]:
    (table,) = _sent(face, typed)
    told = typed.told | ({"marked": typed.marked} if typed.marked else {})
    return face.way.read([GaugeFile(table.content, table.name, "text/csv")], told)


def _fresh(job: Job, face: Face, request: HttpRequest | None = None) -> Forms:
    """Empty forms; what was told the last time stands in them. Asked for more rows, what was typed stays."""
    last = job.measurements.filter(instrument=face.way.instrument, settings__way=face.way.id).last()
    said = (last.settings.get("said") or {}) if last else {}
    form, begun = face.form(initial=said), []
    if request is not None:
        form = face.form(request.POST)
        begun = _rows_typed(face, request)
    return Forms(
        form,
        _mark(face, request.POST if request else None),
        rows(face.columns, begun=begun) if face.columns else None,
        None if face.columns else PicturesForm(labels=face.pictures, series=face.is_series),
    )


def _rows_typed(face: Face, request: HttpRequest) -> list[dict[str, str]]:
    sent = rows(face.columns, request.POST)
    return [{name: str(form[name].data or "") for name in form.fields} for form in sent if form.has_changed()]


def _typed(face: Face, request: HttpRequest) -> Forms:
    pictures = None
    if not face.columns:
        pictures = PicturesForm(request.POST, request.FILES, labels=face.pictures, series=face.is_series)
    return Forms(
        face.form(request.POST),
        _mark(face, request.POST),
        rows(face.columns, request.POST) if face.columns else None,
        pictures,
    )


def _mark(face: Face, typed: Any) -> MarkForm | None:
    return MarkForm(typed, what=face.way.marked) if face.way.marked else None


def _sent(face: Face, typed: Forms) -> Sequence[Sent]:
    if typed.sheet is not None:
        columns = [column.name for column in face.columns]
        return [typed_figures(columns, cells(typed.sheet), f"{face.way.id}.csv")]
    assert typed.pictures is not None, "a way takes figures or photographs"
    return [Sent(content_of(one), one.name or "picture") for one in typed.pictures.sent]


def _show(
    request: HttpRequest,
    job: Job,
    face: Face,
    typed: Forms,
    *,
    amiss: str = "",
    status: int = 200,
) -> HttpResponse:
    of_way = job.measurements.filter(instrument=face.way.instrument, settings__way=face.way.id)
    page = GaugePage(
        job=job,
        face=face,
        forms=typed,
        accepted=by_mark(list(of_way.filter(set_aside=False).exclude(phase=""))),
        waiting=tuple(of_way.filter(set_aside=False, phase="").order_by("-pk")[:MOST_LISTED]),
        aside=tuple(of_way.filter(set_aside=True).order_by("-pk")[:MOST_LISTED]),
        amiss=amiss,
        others=tuple((one, other.title) for one in FACES if one != face.way.id and (other := face_of(one))),
    )
    return render(request, "bench/gauge.html", {"job": job, "page": page}, status=status)


# --- one gauging ----------------------------------------------------------------------------------------


def _gauging(pk: int) -> tuple[Measurement, Face]:
    rows = Measurement.objects.select_related("job__owner", "job__camera", "recording", "gear")
    measurement = get_object_or_404(rows.exclude(instrument="shutter"), pk=pk)
    way = way_of(measurement)
    if way is None:
        raise Http404("this Pegwood does not know that way of gauging")
    return measurement, _face(way.id)


@require_safe
def gauging(request: HttpRequest, pk: int) -> HttpResponse:
    """What was sent and what the instrument says; while it is being read, how far that has come."""
    return _show_one(request, pk)


def _show_one(
    request: HttpRequest, pk: int, *, aside_form: SetAsideForm | None = None, refused: str = ""
) -> HttpResponse:
    measurement, face = _gauging(pk)
    progress = reader.progress_of(measurement)
    result = measurement.result if measurement.progress == Measurement.Progress.READ else None
    on_the_card = _on_the_card(measurement)
    likelier = _likelier(measurement, on_the_card)
    page = GaugingPage(
        job=measurement.job,
        face=face,
        measurement=measurement,
        progress=progress,
        answer=answer_of(face.way.id, result) if result else None,
        charts=face.charts(result) if result else (),
        library_url=library_url(),
        likelier=likelier,
        other=LEFT if likelier == FOUND else FOUND,
        on_the_card=on_the_card,
        aside_form=aside_form or SetAsideForm(),
        refused=refused,
    )
    amiss = bool(refused or (aside_form and aside_form.errors))
    template = "bench/parts/gauging.html" if is_live(request) and not amiss else "bench/gauging.html"
    shown = {"job": measurement.job, "page": page}
    return render(request, template, shown, status=CANNOT if amiss else 200)


def _on_the_card(measurement: Measurement) -> tuple[str, ...]:
    others = measurement.job.measurements.filter(
        instrument=measurement.instrument, marked=measurement.marked, set_aside=False
    )
    return tuple(others.exclude(phase="").exclude(pk=measurement.pk).values_list("phase", flat=True))


def _likelier(measurement: Measurement, on_the_card: tuple[str, ...]) -> str:
    if measurement.phase:
        return str(measurement.phase)
    stands = measurement.job.stands
    if stands in (Standing.PROVING, Standing.READY):
        return LEFT
    return LEFT if stands is Standing.ON_THE_BENCH and FOUND in on_the_card else FOUND


@require_POST
def gauging_accept(request: HttpRequest, pk: int) -> HttpResponse:
    """Take it as the truth, as found or as left."""
    measurement, face = _gauging(pk)
    phase = request.POST.get("phase", "")
    try:
        accept_measurement(measurement, phase, by=who(request))
    except Refused as refusal:
        return _show_one(request, pk, refused=str(refusal))
    messages.success(request, f"{measurement.in_words.capitalize()}: written down {phase}.")
    return redirect("gauge", measurement.job.number, face.way.id)


@require_POST
def gauging_set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Take it off the card, with the reason."""
    measurement, face = _gauging(pk)
    form = SetAsideForm(request.POST)
    if not form.is_valid():
        return _show_one(request, pk, aside_form=form)
    try:
        set_aside(measurement, form.cleaned_data["reason"], by=who(request))
    except Refused as refusal:
        return _show_one(request, pk, refused=str(refusal))
    messages.success(request, "Set aside. What was read stays in the book.")
    return redirect("gauge", measurement.job.number, face.way.id)


@require_POST
def gauging_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Have it read that a stopped server left unread, or that was refused."""
    measurement, _ = _gauging(pk)
    if measurement.progress == Measurement.Progress.READ:
        return _show_one(request, pk, refused="This has been read.")
    reader.take(measurement, by=who(request))
    return redirect("gauging", pk)


@require_safe
def gauging_chart(request: HttpRequest, pk: int, name: str) -> HttpResponse:
    """What one chart of an answer is drawn from."""
    measurement, face = _gauging(pk)
    charts = {chart.name: chart for chart in face.charts(measurement.result or {})}
    if name not in charts:
        raise Http404("no such chart")
    return JsonResponse(charts[name].draw(measurement.result or {}, scheme(request)))


@require_safe
def gauging_file(_request: HttpRequest, pk: int, number: int) -> HttpResponseBase:
    """A file as it came, checked against its hash; files count from 1."""
    measurement, _ = _gauging(pk)
    files = [measurement.recording, *(one.file for one in measurement.more_files.select_related("file"))]
    if not 1 <= number <= len(files):
        raise Http404("no such file")
    return as_it_came(files[number - 1], "readings")


@require_safe
def gauging_json(_request: HttpRequest, pk: int) -> HttpResponse:
    """The instrument's own answer, whole."""
    measurement, _ = _gauging(pk)
    if not measurement.result:
        raise Http404("not read")
    answer = JsonResponse(measurement.result, json_dumps_params={"indent": 1, "ensure_ascii": False})
    answer["Content-Disposition"] = content_disposition_header(True, f"gauging-{pk}.json") or ""
    return answer


urlpatterns = [
    path("job/<int:number>/gauges/", gauges, name="gauges"),
    path("job/<int:number>/gauges/<slug:way>/", gauge, name="gauge"),
    path("job/<int:number>/gauges/<slug:way>/so-far/", gauge_so_far, name="gauge_so_far"),
    path("gauging/<int:pk>/", gauging, name="gauging"),
    path("gauging/<int:pk>/accept/", gauging_accept, name="gauging_accept"),
    path("gauging/<int:pk>/set-aside/", gauging_set_aside, name="gauging_set_aside"),
    path("gauging/<int:pk>/read-again/", gauging_again, name="gauging_again"),
    path("gauging/<int:pk>/<slug:name>.chart.json", gauging_chart, name="gauging_chart"),
    path("gauging/<int:pk>/file-<int:number>", gauging_file, name="gauging_file"),
    path("gauging/<int:pk>/result.json", gauging_json, name="gauging_json"),
]
