"""Gauging with one of the other instruments: readings typed or photographed, and what they say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.forms import BaseForm, Form
from django.forms.formsets import BaseFormSet
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, QueryDict
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.book.gauging import GaugeFile, Sent, keep_gauging, typed_figures
from pegwood.book.gauging.limits import KEY as LIMITS
from pegwood.book.gauging.limits import in_use
from pegwood.book.measuring import read_recording, set_aside
from pegwood.book.models import Job, Measurement
from pegwood.book.refusal import Refused
from pegwood.book.workshop import workshop
from pegwood.instruments.readings import RefusedReadings
from pegwood.papers.beside import Beside
from pegwood.web.bench_request import (
    CANNOT,
    content_of,
    go_to,
    job_numbered,
    refused_json,
    sent_on,
    wants_json,
    who,
)
from pegwood.web.forms.gauge import MarkForm, PicturesForm, RowForm, cells, rows
from pegwood.web.gauges import FACES, Face, SaidForm, face_of
from pegwood.web.gauges.again import rows_of
from pegwood.web.gauges.answer import answer_of
from pegwood.web.gauges.summary import by_mark
from pegwood.web.gauges.summary import gauged as gauged_on
from pegwood.web.reading import reader

FOUND, LEFT = Measurement.Phase.FOUND, Measurement.Phase.LEFT
MOST_LISTED = 40

# --- what the pages show --------------------------------------------------------------------------------


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
        if self.pictures is not None and self.pictures.is_valid():
            self.form.hold_against(len(self.pictures.sent))
        return all(valid) and not self.form.errors

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
    correcting: Measurement | None
    others: tuple[tuple[str, str], ...]

    @property
    def to_accept(self) -> Measurement | None:
        """The latest reading that waits for a word; one that the instrument refused waits for none."""
        return next((one for one in self.waiting if one.progress == Measurement.Progress.READ), None)

    @property
    def cautioned_elsewhere(self) -> bool:
        """Whether what can hurt stands beside the readings already: once is enough."""
        return bool(self.face.cautions) and not self.job.is_over


def face_or_404(way: str) -> Face:
    face = face_of(way)
    if face is None:
        raise Http404("no such way of gauging")
    return face


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
    job, face = job_numbered(number), face_or_404(way)
    if request.method != "POST":
        if wrong := _to_correct(request.GET, job, face):
            return _show(request, job, face, _once_more(wrong, face), amiss=wrong.reason, correcting=wrong)
        return _show(request, job, face, _fresh(job, face))
    wrong = _to_correct(request.POST, job, face)
    if request.POST.get("do") == "more":
        return _show(request, job, face, _fresh(job, face, request), correcting=wrong)
    typed = _typed(face, request)
    if not typed.are_valid:
        if wants_json(request):
            amiss = (one for one in typed.all if isinstance(one, Form) and one.errors)
            return refused_json(next(amiss))
        look = "Look again at what is marked."
        return _show(request, job, face, typed, amiss=look, status=CANNOT, correcting=wrong)
    try:
        measurement = keep_gauging(
            job, face.way, _sent(face, typed), said=typed.told, marked=typed.marked, by=who(request)
        )
        if face.way.takes == "figures":
            read_recording(measurement, by=who(request))
            if wrong is not None and wrong.pk != measurement.pk:
                set_aside(wrong, "corrected", by=who(request))
    except Refused as refusal:
        if wants_json(request):
            return JsonResponse({"refused": str(refusal), "field": ""}, status=CANNOT)
        return _show(request, job, face, typed, amiss=str(refusal), status=CANNOT, correcting=wrong)
    if face.way.takes == "photographs":
        reader.take(measurement, by=who(request))
        return sent_on(request, reverse("gauging", args=[measurement.pk]))
    return go_to(request, reverse("gauging", args=[measurement.pk]))


@require_POST
def gauge_so_far(request: HttpRequest, number: int, way: str) -> HttpResponse:
    """What the figures typed so far say; nothing is kept."""
    job, face = job_numbered(number), face_or_404(way)
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
    told[LIMITS] = in_use(face.way.instrument, workshop().gauge_limits)
    return face.way.read([GaugeFile(table.content, table.name, "text/csv")], told)


def _fresh(job: Job, face: Face, request: HttpRequest | None = None) -> Forms:
    """Empty forms; what was told the last time stands in them. Asked for more rows, what was typed stays."""
    last = job.measurements.filter(instrument=face.way.instrument, settings__way=face.way.id).last()
    said = (last.settings.get("said") or {}) if last else {}
    form, begun = face.form(initial=said), []
    if request is not None:
        form = face.form(request.POST)
        form.errors.clear()  # nobody has said yet that it is all
        begun = _rows_typed(face, request)
    return Forms(
        form,
        _mark(face, request.POST if request else None),
        rows(face.columns, begun=begun) if face.columns else None,
        None if face.columns else PicturesForm(**_asked(face)),
    )


def _to_correct(asked_by: QueryDict, job: Job, face: Face) -> Measurement | None:
    """Readings that the instrument refused and that are to be corrected, as their page offers."""
    asked = asked_by.get("correct", "")
    if not (face.columns and asked.isascii() and asked.isdecimal() and len(asked) < 19):
        return None
    of_way = job.measurements.filter(
        instrument=face.way.instrument, settings__way=face.way.id, set_aside=False
    )
    return of_way.filter(pk=int(asked), progress=Measurement.Progress.REFUSED).first()


def _once_more(wrong: Measurement, face: Face) -> Forms:
    """What was typed, to be corrected where it stood."""
    said = dict(wrong.settings.get("said") or {})
    form = face.form(initial=said)
    for name in form.each_time:  # these readings, and not the next ones
        if name in said:
            form.initial[name] = said[name]
    mark = _mark(face, None)
    if mark is not None:
        mark.initial["marked"] = wrong.marked
    return Forms(form, mark, rows(face.columns, begun=rows_of(wrong, face)), None)


def _rows_typed(face: Face, request: HttpRequest) -> list[dict[str, str]]:
    sent = rows(face.columns, request.POST)
    return [{name: str(form[name].data or "") for name in form.fields} for form in sent if form.has_changed()]


def _typed(face: Face, request: HttpRequest) -> Forms:
    pictures = None
    if not face.columns:
        pictures = PicturesForm(request.POST, request.FILES, **_asked(face))
    return Forms(
        face.form(request.POST),
        _mark(face, request.POST),
        rows(face.columns, request.POST) if face.columns else None,
        pictures,
    )


def _asked(face: Face) -> dict[str, Any]:
    return {"labels": face.pictures, "series": face.is_series, "fewest": face.way.fewest}


def _mark(face: Face, typed: Any) -> MarkForm | None:
    return MarkForm(typed, what=face.way.marked, marks=face.marks) if face.way.marked else None


def _sent(face: Face, typed: Forms) -> Sequence[Sent]:
    if typed.sheet is not None:
        kept_as = face.kept_as(typed.told)
        columns = [kept_as.get(column.name, column.name) for column in face.columns]
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
    correcting: Measurement | None = None,
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
        correcting=correcting,
        others=tuple((one, other.title) for one in FACES if one != face.way.id and (other := face_of(one))),
    )
    return render(request, "bench/gauge.html", {"job": job, "page": page}, status=status)


urlpatterns = [
    path("job/<int:number>/gauges/", gauges, name="gauges"),
    path("job/<int:number>/gauges/<slug:way>/", gauge, name="gauge"),
    path("job/<int:number>/gauges/<slug:way>/so-far/", gauge_so_far, name="gauge_so_far"),
]
