"""One gauging: what was sent, what the instrument says of it, whether it is taken."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST, require_safe

from pegwood.book.gauging import way_of
from pegwood.book.measuring import accept_measurement, set_aside
from pegwood.book.models import Job, Measurement
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.web.bench_request import (
    CANNOT,
    is_live,
    who,
)
from pegwood.web.forms.shutter import SetAsideForm
from pegwood.web.gauges import Face
from pegwood.web.gauges.answer import Answer, answer_of
from pegwood.web.gauges.face import Chart
from pegwood.web.pages.chart_library import library_url, scheme
from pegwood.web.pages.gauge import face_or_404
from pegwood.web.reading import Progress, reader
from pegwood.web.stored import as_it_came

FOUND, LEFT = Measurement.Phase.FOUND, Measurement.Phase.LEFT


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


def _gauging(pk: int) -> tuple[Measurement, Face]:
    rows = Measurement.objects.select_related("job__owner", "job__camera", "recording", "gear")
    measurement = get_object_or_404(rows.exclude(instrument="shutter"), pk=pk)
    way = way_of(measurement)
    if way is None:
        raise Http404("this Pegwood does not know that way of gauging")
    return measurement, face_or_404(way.id)


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
        instrument=measurement.instrument,
        settings__way=measurement.settings.get("way"),
        marked=measurement.marked,
        set_aside=False,
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
    path("gauging/<int:pk>/", gauging, name="gauging"),
    path("gauging/<int:pk>/accept/", gauging_accept, name="gauging_accept"),
    path("gauging/<int:pk>/set-aside/", gauging_set_aside, name="gauging_set_aside"),
    path("gauging/<int:pk>/read-again/", gauging_again, name="gauging_again"),
    path("gauging/<int:pk>/<slug:name>.chart.json", gauging_chart, name="gauging_chart"),
    path("gauging/<int:pk>/file-<int:number>", gauging_file, name="gauging_file"),
    path("gauging/<int:pk>/result.json", gauging_json, name="gauging_json"),
]
