"""One reading: its recording, what the instrument made of it, and whether it is taken as the truth."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST, require_safe

from pegwood.book.measuring import accept_measurement, set_aside, tell_of_recording
from pegwood.book.models import Job, Measurement
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.book.taken import Taken
from pegwood.web import charts, readouts
from pegwood.web.bench_request import CANNOT, who, whole_number
from pegwood.web.forms.shutter import MIRRORS, FilmForm, SetAsideForm, initial_of_taken
from pegwood.web.local import locale
from pegwood.web.pages.chart_library import library_url, scheme
from pegwood.web.pages.gate import Gate, gate_of
from pegwood.web.pages.laid_over import LaidOver, curve_of, laid_over
from pegwood.web.reading import Progress, reader
from pegwood.web.readout_beside import arrangement_words
from pegwood.web.stored import as_it_came
from pegwood.web.tables import as_csv

FOUND, LEFT = Measurement.Phase.FOUND, Measurement.Phase.LEFT
#: Firings drawn on one page; the rest is a page further on.
DRAWN = 8


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A firing with the place its curve takes, in pixels; none where there is nothing to draw."""

    firing: readouts.Firing
    height: int | None


@dataclass(frozen=True, kw_only=True)
class ReadingPage:
    """One recording and what the instrument read from it."""

    job: Job
    measurement: Measurement
    progress: Progress | None
    group: readouts.Group | None
    firings: tuple[readouts.Firing, ...]
    shown: tuple[Drawn, ...]
    first_shown: int
    pages: tuple[tuple[int, str], ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    likelier: str
    other: str
    on_the_card: tuple[str, ...]
    aside_form: SetAsideForm
    film_form: FilmForm | None
    library_url: str
    arrangement: str
    by: str
    how: str
    cannot_tell: tuple[readouts.CannotTell, ...]
    gate: Gate | None
    laid: LaidOver | None

    @property
    def lacks_rate(self) -> bool:
        """Whether a film was refused and nobody has said how fast it was filmed: mostly it is that."""
        is_refused = self.measurement.progress == Measurement.Progress.REFUSED
        told = Taken.of(self.measurement.settings).captured_fps
        return is_refused and self.film_form is not None and told is None

    @property
    def is_live(self) -> bool:
        """Whether it is being read now."""
        return self.progress is not None and not self.progress.trouble

    @property
    def trouble(self) -> str:
        return self.progress.trouble if self.progress else ""

    @property
    def percent(self) -> int:
        return round(100 * self.progress.share) if self.progress else 0


def _reading_page(
    request: HttpRequest, measurement: Measurement, aside_form: SetAsideForm, film_form: FilmForm | None
) -> ReadingPage:
    written = locale()
    progress = reader.progress_of(measurement)
    result = measurement.result if measurement.progress == Measurement.Progress.READ else None
    firings = readouts.firings(result, written) if result else ()
    first = _first_shown(request, len(firings))
    pages = tuple((i, f"{i + 1} to {min(i + DRAWN, len(firings))}") for i in range(0, len(firings), DRAWN))
    on_the_card = _on_the_card(measurement)
    likelier = _likelier(measurement, on_the_card)
    return ReadingPage(
        job=measurement.job,
        measurement=measurement,
        progress=progress,
        group=readouts.group(result, written) if result else None,
        firings=firings,
        shown=tuple(_drawn(measurement, firing) for firing in firings[first : first + DRAWN]),
        first_shown=first,
        pages=pages if len(pages) > 1 else (),
        warnings=tuple((measurement.result or {}).get("warnings", ())),
        notes=tuple((measurement.result or {}).get("notes", ())),
        likelier=likelier,
        other=LEFT if likelier == FOUND else FOUND,
        on_the_card=on_the_card,
        aside_form=aside_form,
        film_form=_film_form(measurement, film_form),
        library_url=library_url(),
        arrangement=arrangement_words(measurement.settings),
        by=Taken.of(measurement.settings).by,
        how=_how(Taken.of(measurement.settings)),
        cannot_tell=readouts.cannot_tell(measurement.result or {}),
        gate=gate_of(measurement) if result else None,
        laid=laid_over(request, measurement),
    )


def _film_form(measurement: Measurement, sent: FilmForm | None) -> FilmForm | None:
    """For a film that is nobody's truth yet: what it can be read again by."""
    taken = Taken.of(measurement.settings)
    if taken.by != "video" or measurement.phase or measurement.set_aside or measurement.job.is_over:
        return None
    return sent or FilmForm(initial=initial_of_taken(taken))


def _drawn(measurement: Measurement, firing: readouts.Firing) -> Drawn:
    curve = curve_of(measurement, firing.number)
    return Drawn(firing=firing, height=charts.light_curve_height(curve) if curve else None)


def _how(taken: Taken) -> str:
    """What was said of a recording that holds no light."""
    if taken.by == "sound":
        return f"mirror: {dict(MIRRORS)[taken.mirror]}"
    if taken.by == "video":
        fps = "" if taken.captured_fps is None else f"filmed at {taken.captured_fps:g} frames a second"
        part = "" if taken.region is None else f"part of the picture {','.join(map(str, taken.region))}"
        return "; ".join(filter(None, [fps, part]))
    return ""


def _on_the_card(measurement: Measurement) -> tuple[str, ...]:
    """As what another reading of this speed stands on the card: accepting this one would set that aside."""
    others = measurement.job.measurements.filter(
        instrument=measurement.instrument, marked=measurement.marked, set_aside=False
    )
    return tuple(others.exclude(phase="").exclude(pk=measurement.pk).values_list("phase", flat=True))


def _first_shown(request: HttpRequest, n: int) -> int:
    first = whole_number(request.GET.get("from", "")) or 0
    return first // DRAWN * DRAWN if first < n else 0


def _likelier(measurement: Measurement, on_the_card: tuple[str, ...]) -> str:
    """Whether a reading is rather as found or as left: as it was meant, or from where the job stands."""
    stands = measurement.job.stands
    if measurement.phase:
        return str(measurement.phase)
    if meant := (measurement.settings.get("live") or {}).get("phase"):
        return str(meant)
    if stands in (Standing.PROVING, Standing.READY):
        return LEFT
    return LEFT if stands is Standing.ON_THE_BENCH and FOUND in on_the_card else FOUND


def _measurement(pk: int) -> Measurement:
    return get_object_or_404(
        Measurement.objects.select_related("job__owner", "job__camera", "recording", "gear"),
        pk=pk,
        instrument="shutter",
    )


@require_safe
def reading(request: HttpRequest, pk: int) -> HttpResponse:
    """A recording and what was read from it; while it is being read, how far that has come."""
    return _render_reading(request, _measurement(pk), SetAsideForm())


@require_safe
def reading_state(request: HttpRequest, pk: int) -> HttpResponse:
    """The live part of that page. It stops asking once there is an answer."""
    return _render_reading(request, _measurement(pk), SetAsideForm(), template="bench/parts/reading.html")


def _render_reading(
    request: HttpRequest,
    measurement: Measurement,
    aside_form: SetAsideForm,
    *,
    film_form: FilmForm | None = None,
    refused: str = "",
    template: str = "bench/reading.html",
) -> HttpResponse:
    page = _reading_page(request, measurement, aside_form, film_form)
    context = {"job": measurement.job, "page": page, "refused": refused}
    is_amiss = refused or aside_form.errors or film_form is not None
    return render(request, template, context, status=CANNOT if is_amiss else 200)


@require_POST
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a reading as the truth, as found or as left."""
    measurement = _measurement(pk)
    phase = request.POST.get("phase", "")
    try:
        accept_measurement(measurement, phase, by=who(request))
    except Refused as refusal:
        return _render_reading(request, measurement, SetAsideForm(), refused=str(refusal))
    messages.success(request, f"{measurement.marked} is written down {phase}.")
    return redirect("shutter", measurement.job.number)


@require_POST
def put_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a reading off the card, with the reason."""
    measurement = _measurement(pk)
    form = SetAsideForm(request.POST)
    if not form.is_valid():
        return _render_reading(request, measurement, form)
    try:
        set_aside(measurement, form.cleaned_data["reason"], by=who(request))
    except Refused as refusal:
        return _render_reading(request, measurement, form, refused=str(refusal))
    messages.success(request, f"The reading of {measurement.marked} is set aside. Its recording stays.")
    return redirect("shutter", measurement.job.number)


@require_POST
def read_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Have a recording read that a stopped server left unread, or that was refused."""
    measurement = _measurement(pk)
    if measurement.progress == Measurement.Progress.READ:
        return _render_reading(request, measurement, SetAsideForm(), refused="This recording has been read.")
    reader.take(measurement, by=who(request))
    return redirect("reading", pk)


@require_POST
def film(request: HttpRequest, pk: int) -> HttpResponse:
    """Say how a kept film was filmed, and have it read by that."""
    measurement = _measurement(pk)
    form, refused = FilmForm(request.POST), ""
    progress = reader.progress_of(measurement)
    if progress is not None and not progress.trouble:
        return redirect("reading", pk)  # it is being read: the page says so
    if form.is_valid():
        try:
            measurement = tell_of_recording(measurement, form.cleaned_data["taken"], by=who(request))
        except Refused as refusal:
            refused = str(refusal)
        else:
            reader.take(measurement, by=who(request))
            return redirect("reading", pk)
    return _render_reading(request, measurement, SetAsideForm(), film_form=form, refused=refused)


@require_safe
def firing_chart(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """What the light curve of one firing is drawn from; firings count from 1."""
    measurement = _measurement(pk)
    curve = curve_of(measurement, number)
    if curve is None:
        raise Http404("no such curve")
    shot = (measurement.result or {})["shots"][number - 1]
    item = charts.light_curve(
        curve,
        effective_s=shot["effective_s"],
        half_height_s=shot.get("half_height_s"),
        scheme=scheme(request),
    )
    return JsonResponse(item)


@require_safe
def recording(_request: HttpRequest, pk: int) -> HttpResponseBase:
    """The recording as it came, checked against its hash."""
    return as_it_came(_measurement(pk).recording, "recording")


@require_safe
def result_json(_request: HttpRequest, pk: int) -> HttpResponse:
    """The instrument's own result, whole."""
    measurement = _measurement(pk)
    if not measurement.result:
        raise Http404("not read")
    answer = JsonResponse(measurement.result, json_dumps_params={"indent": 1, "ensure_ascii": False})
    answer["Content-Disposition"] = content_disposition_header(True, f"reading-{pk}.json") or ""
    return answer


@require_safe
def result_csv(_request: HttpRequest, pk: int) -> HttpResponse:
    """Every firing of a reading, one row each, SI units."""
    measurement = _measurement(pk)
    if not measurement.result:
        raise Http404("not read")
    names = (
        "channel", "at_s", "effective_s", "effective_u_s", "effective_df", "total_s", "total_u_s",
        "opening_s", "opening_u_s", "closing_s", "closing_u_s", "half_height_s", "efficiency", "efficiency_u",
        "bounce", "bounce_extra_s",
    )  # fmt: skip
    return as_csv(f"reading-{pk}.csv", names, measurement.result["shots"])


urlpatterns = [
    path("reading/<int:pk>/", reading, name="reading"),
    path("reading/<int:pk>/state/", reading_state, name="reading_state"),
    path("reading/<int:pk>/accept/", accept, name="reading_accept"),
    path("reading/<int:pk>/set-aside/", put_aside, name="reading_set_aside"),
    path("reading/<int:pk>/read-again/", read_again, name="reading_read_again"),
    path("reading/<int:pk>/film/", film, name="reading_film"),
    path("reading/<int:pk>/firing-<int:number>.json", firing_chart, name="firing_chart"),
    path("reading/<int:pk>/recording", recording, name="reading_recording"),
    path("reading/<int:pk>/result.json", result_json, name="reading_json"),
    path("reading/<int:pk>/result.csv", result_csv, name="reading_csv"),
]
