"""Measuring a shutter: a recording for each marked speed, and all speeds against their limits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_safe

from pegwood.book.arrangement import Arrangement
from pegwood.book.measuring import gear_last_used, keep_recording
from pegwood.book.models import Job, Measurement
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.book.taken import Taken
from pegwood.papers.beside import Beside, beside
from pegwood.web import charts, readouts
from pegwood.web.bench_request import CANNOT, job_numbered, refused_json, sent_on, wants_json, who
from pegwood.web.forms.arrangement import initial_of
from pegwood.web.forms.shutter import RecordingForm, initial_of_taken
from pegwood.web.local import locale
from pegwood.web.pages.chart_library import library_url, scheme
from pegwood.web.reading import reader
from pegwood.web.tables import as_csv

FOUND, LEFT = Measurement.Phase.FOUND, Measurement.Phase.LEFT
MOST_LISTED = 60

# --- what the pages show --------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Accepted:
    """A reading of one speed that was taken as the truth."""

    pk: int
    n: int
    by: str
    effective: str
    error: str
    verdict: str
    limit: str
    limit_source: str
    limit_mark: str


@dataclass(frozen=True, kw_only=True)
class SpeedRow:
    """One marked speed, as found and as left."""

    marked: str
    found: Accepted | None
    left: Accepted | None


@dataclass(frozen=True, kw_only=True)
class ShutterSummary:
    """All that is accepted of a job's shutter: for the job card and the head of the shutter's page."""

    job: Job
    rows: tuple[SpeedRow, ...]
    limits: tuple[str, ...]
    beside: tuple[Beside, ...]
    charted: int
    chart_url: str
    library_url: str
    url: str
    not_accepted: int

    @property
    def chart_height(self) -> int:
        return charts.speeds_height(self.charted)


@dataclass(frozen=True, kw_only=True)
class Listed:
    """A reading that nobody has accepted yet, in a list. `share` is in per cent, None while none reads it."""

    measurement: Measurement
    share: int | None
    trouble: str
    group: readouts.Group | None
    by: str
    cannot_tell: bool

    @property
    def is_read(self) -> bool:
        return self.measurement.progress == Measurement.Progress.READ


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """The readings that wait for a word, and whether any of them is still being read."""

    job: Job
    readings: tuple[Listed, ...]

    @property
    def is_live(self) -> bool:
        return any(reading.share is not None for reading in self.readings)

    @property
    def first_read(self) -> Listed | None:
        """The oldest one that can be accepted."""
        return next((r for r in reversed(self.readings) if r.is_read), None)


@dataclass(frozen=True, kw_only=True)
class ShutterPage:
    """The page on which the shutter is measured."""

    job: Job
    summary: ShutterSummary
    form: RecordingForm
    marked: str
    dials: tuple[readouts.Dial, ...]
    waiting: Waiting
    aside: tuple[Measurement, ...]
    next: str


def summary(job: Job) -> ShutterSummary:
    """What is known of a job's shutter: for the job card's part `parts/shutter_summary.html`."""
    measured = list(job.measurements.filter(instrument="shutter", set_aside=False).defer("curves"))
    rows = tuple(_row(marked, both) for marked, both in _by_speed(measured))
    limits = dict.fromkeys(
        f"{it.limit_source} ({it.limit_mark})"
        for row in rows
        for it in (row.found, row.left)
        if it is not None and it.limit
    )
    return ShutterSummary(
        job=job,
        rows=rows,
        limits=tuple(limits),
        beside=tuple(one for marked, both in _by_speed(measured) for one in _beside(marked, both)),
        charted=len(_chart_rows(measured)),
        chart_url=reverse("shutter_chart", args=[job.number]),
        library_url=library_url(),
        url=reverse("shutter", args=[job.number]),
        not_accepted=sum(not m.phase and m.progress == Measurement.Progress.READ for m in measured),
    )


def _by_speed(measured: Iterable[Measurement]) -> list[tuple[str, dict[str, Measurement]]]:
    """The accepted readings by marking and phase, in the order of the dial."""
    speeds: dict[str, dict[str, Measurement]] = {}
    for measurement in measured:
        if measurement.phase and not measurement.set_aside:
            speeds.setdefault(measurement.marked, {})[measurement.phase] = measurement
    return sorted(speeds.items(), key=lambda item: readouts.slowest_first(item[0]))


def _row(marked: str, both: dict[str, Measurement]) -> SpeedRow:
    return SpeedRow(marked=marked, found=_accepted(both.get(FOUND)), left=_accepted(both.get(LEFT)))


def _beside(marked: str, both: dict[str, Measurement]) -> tuple[Beside, ...]:
    found, left = (it.result if (it := both.get(phase)) else None for phase in (FOUND, LEFT))
    return beside(marked, found, left, locale())


def _accepted(measurement: Measurement | None) -> Accepted | None:
    if measurement is None or not measurement.result:
        return None
    group = readouts.group(measurement.result, locale())
    return Accepted(
        pk=measurement.pk,
        n=group.n,
        by=Taken.of(measurement.settings).words,
        effective=group.effective or "no time",
        error=group.error,
        verdict=group.verdict,
        limit=group.limit,
        limit_source=group.limit_source,
        limit_mark=group.limit_mark,
    )


def _chart_rows(measured: Iterable[Measurement]) -> list[charts.Speed]:
    rows = []
    for marked, both in _by_speed(measured):
        readings = {phase: reading for phase, m in both.items() if (reading := _charted(m))}
        if not readings:
            continue  # B and T have no error
        limits = both[LEFT if LEFT in readings else FOUND].summary
        rows.append(
            charts.Speed(
                marked=_charted_as(marked, both),
                limit_low_ev=limits.get("limit_low_ev"),  # type: ignore[arg-type]
                limit_high_ev=limits.get("limit_high_ev"),  # type: ignore[arg-type]
                found=readings.get(FOUND),
                left=readings.get(LEFT),
            )
        )
    return rows


def _charted_as(marked: str, both: dict[str, Measurement]) -> str:
    """A speed's name on the chart: what was not measured by light says so."""
    by = {phase: Taken.of(m.settings).by for phase, m in both.items()}
    if len(set(by.values())) == 1:
        (one,) = set(by.values())
        return marked if one == "light" else f"{marked}\n{one}"
    told = (f"{phase.removeprefix('as ')} {one}" for phase, one in by.items() if one != "light")
    return "\n".join([marked, *told])


def _charted(measurement: Measurement) -> charts.Reading | None:
    found: dict[str, Any] = dict(measurement.summary)
    error = found.get("error_ev")
    if error is None:
        return None
    low, high = found.get("error_95_ev") or (error, error)
    return charts.Reading(
        error_ev=error,
        low_ev=error if low is None else low,
        high_ev=error if high is None else high,
        verdict=found["verdict"],
    )


def _shutter_page(job: Job, form: RecordingForm) -> ShutterPage:
    head, waiting = summary(job), _waiting(job)
    aside = job.measurements.filter(instrument="shutter", set_aside=True).defer("curves", "result")
    found = [row.marked for row in head.rows if row.found]
    left = [row.marked for row in head.rows if row.left]
    measured = [*found, *left, *(r.measurement.marked for r in waiting.readings)]
    return ShutterPage(
        job=job,
        summary=head,
        form=form,
        marked=form["marked"].value() or "",
        dials=readouts.dials(job.camera.kind.shutter, job.camera.year_made, measured, found, left),
        waiting=waiting,
        aside=tuple(aside.order_by("-pk")[:MOST_LISTED]),
        next=next_words(job, found, left, waiting.first_read is not None),
    )


def _waiting(job: Job) -> Waiting:
    known = job.measurements.filter(instrument="shutter", set_aside=False, phase="")
    newest_first = known.select_related("recording").defer("curves").order_by("-pk")[:MOST_LISTED]
    return Waiting(job=job, readings=tuple(_listed(m) for m in newest_first))


def _listed(measurement: Measurement) -> Listed:
    progress = reader.progress_of(measurement)
    is_read = measurement.progress == Measurement.Progress.READ
    return Listed(
        measurement=measurement,
        share=None if progress is None or progress.trouble else round(100 * progress.share),
        trouble=progress.trouble if progress else "",
        group=readouts.group(measurement.result or {}, locale()) if is_read else None,
        by=Taken.of(measurement.settings).words,
        cannot_tell=bool(readouts.cannot_tell(measurement.result or {})),
    )


def next_words(job: Job, found: Sequence[str], left: Sequence[str], is_read: bool) -> str:
    """One sentence: what to do on this page now."""
    if job.is_over:
        return f"nothing, the job stands at '{job.standing}'"
    if is_read:
        return "say of each reading whether it is as found or as left"
    missing = [marked for marked in found if marked not in left]
    if job.stands is Standing.PROVING and missing:
        return f"measure as left what was measured as found: {', '.join(missing)}"
    if not found and not left:
        return "tap the speed on the dial and record a few firings"
    return "measure the next speed, or go on with the job"


@require_http_methods(["GET", "HEAD", "POST"])
def shutter(request: HttpRequest, number: int) -> HttpResponse:
    """Choose a speed, send or record its firings; see all speeds against their limits."""
    job = job_numbered(number)
    if request.method != "POST":
        known = {
            "gear": gear_last_used(by_light=True),
            "recorded_with": gear_last_used(by_light=False),
            "marked": request.GET.get("marked", ""),
        }
        form = RecordingForm(initial={**known, **last_arrangement(job)}, shutter=job.camera.kind.shutter)
        return render(request, "bench/shutter.html", {"job": job, "page": _shutter_page(job, form)})
    form = RecordingForm(request.POST, request.FILES, shutter=job.camera.kind.shutter)
    if form.is_valid():
        sent = form.cleaned_data
        try:
            measurement = keep_recording(
                job,
                sent["recording"].file,
                sent["recording"].name,
                marked=sent["speed"].text,
                gear=sent["gear"],
                arrangement=sent["arrangement"],
                taken=sent["taken"],
                by=who(request),
            )
        except Refused as refusal:
            form.add_error(None if job.is_over else "recording", str(refusal))
        else:
            reader.take(measurement, by=who(request))
            return sent_on(request, reverse("reading", args=[measurement.pk]))
    if wants_json(request):
        return refused_json(form)
    return render(
        request, "bench/shutter.html", {"job": job, "page": _shutter_page(job, form)}, status=CANNOT
    )


@require_safe
def shutter_waiting(request: HttpRequest, number: int) -> HttpResponse:
    """The live list of readings that wait for a word; it stops asking once all are read."""
    return render(request, "bench/parts/readings_waiting.html", {"waiting": _waiting(job_numbered(number))})


def last_arrangement(job: Job) -> dict[str, Any]:
    """How the job's last recording was made, as the form shows it: rarely another way for the next speed."""
    last = job.measurements.order_by("-pk").only("settings", "progress").first()
    if last is None:
        return {}
    taken = Taken.of(last.settings)
    if last.progress == Measurement.Progress.REFUSED:
        taken = replace(taken, region=None)  # perhaps it was this that was refused
    return {**initial_of(Arrangement.of(last.settings)), **initial_of_taken(taken)}


@require_safe
def shutter_chart(request: HttpRequest, number: int) -> HttpResponse:
    """What the chart of all speeds is drawn from."""
    rows = _chart_rows(
        job_numbered(number).measurements.filter(instrument="shutter", set_aside=False).defer("curves")
    )
    if not rows:
        raise Http404("nothing accepted yet")
    return JsonResponse(charts.speeds(rows, scheme(request)))


@require_safe
def shutter_csv(_request: HttpRequest, number: int) -> HttpResponse:
    """All accepted readings of a job's shutter, one row each, SI units."""
    job = job_numbered(number)
    accepted = (
        job.measurements.filter(instrument="shutter", set_aside=False).exclude(phase="").defer("curves")
    )
    ordered = [m for _, both in _by_speed(accepted) for _, m in sorted(both.items())]
    columns = (
        "n", "effective_s", "effective_u_s", "effective_df", "spread_ev", "error_ev", "error_u_ev",
        "error_df", "verdict", "limit_low_ev", "limit_high_ev", "limit_source", "limit_mark",
    )  # fmt: skip
    rows = [
        {
            "job": job.number,
            "marked": m.marked,
            "phase": m.phase,
            "read_at": m.at.isoformat(),
            "reading": m.settings.get("reading"),
            "by": Taken.of(m.settings).by,
            "gear": _gear_name(m),
            "recording_sha256": m.recording_id,
            **{name: m.summary.get(name) for name in columns},
        }
        for m in ordered
    ]
    names = ("job", "marked", "phase", "read_at", "reading", "by", "gear", "recording_sha256", *columns)
    return as_csv(f"job-{job.number}-shutter.csv", names, rows)


def _gear_name(measurement: Measurement) -> str:
    return str(measurement.gear) if measurement.gear else ""


urlpatterns = [
    path("job/<int:number>/shutter/", shutter, name="shutter"),
    path("job/<int:number>/shutter/waiting/", shutter_waiting, name="shutter_waiting"),
    path("job/<int:number>/shutter/chart.json", shutter_chart, name="shutter_chart"),
    path("job/<int:number>/shutter/readings.csv", shutter_csv, name="shutter_csv"),
]
