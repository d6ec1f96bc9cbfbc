"""The live page: the bench listens to a sound input while a shutter is fired down its speeds."""

from __future__ import annotations

import json
import threading
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.request import UnreadablePostError
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from pegwood.book.files.spool import NotThere
from pegwood.book.listening import (
    LONGEST_S,
    Session,
    begin_listening,
    drop_session,
    keep_session,
    note_step,
    open_sessions,
    session_of,
)
from pegwood.book.measuring import gear_last_used
from pegwood.book.models import Job, Measurement
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.web import readouts
from pegwood.web.bench_request import CANNOT, job_numbered, refused_json, who
from pegwood.web.forms.live import ListeningForm
from pegwood.web.hearing import ears, heard_in, version_of
from pegwood.web.live_stage import Stage, stage_of
from pegwood.web.local import locale
from pegwood.web.reading import reader
from pegwood.web.warming import warm_up

CONFLICT = 409
_MANUAL = {"B", "T"}


@dataclass(frozen=True, kw_only=True)
class Tile:
    """A marked speed to be chosen."""

    marked: str
    is_chosen: bool
    has_found: bool
    has_left: bool


@dataclass(frozen=True, kw_only=True)
class LivePage:
    """The page on which the bench listens."""

    job: Job
    form: ListeningForm
    dials: tuple[tuple[str, tuple[Tile, ...]], ...]
    waiting: tuple[Session, ...]
    session: Session | None
    stage: Stage | None
    phase: str
    longest_min: int


@require_safe
def live(request: HttpRequest, number: int) -> HttpResponse:
    """Choose what is fired, and listen; a session that was begun can be taken up again."""
    job = job_numbered(number)
    waiting = tuple(open_sessions(job))
    asked = request.GET.get("session", "")
    session = next((one for one in waiting if str(one.ticket) == asked), None)
    if asked and session is None:
        return redirect("live", job.number)
    dials = _dials(job)
    form = ListeningForm(_markings(dials), initial={"gear": gear_last_used(by_light=True)})
    page = LivePage(
        job=job,
        form=form,
        dials=dials,
        waiting=waiting,
        session=session,
        stage=stage_of(job, session, heard_in(session.spool), locale()) if session else None,
        phase=_likelier(job),
        longest_min=LONGEST_S // 60,
    )
    return render(request, "bench/live.html", {"job": job, "page": page})


@require_POST
def begin(request: HttpRequest, number: int) -> HttpResponse:
    """Begin a session: the plan, and what the sound input is like."""
    job = job_numbered(number)
    form = ListeningForm(_markings(_dials(job)), request.POST)
    if not form.is_valid():
        return refused_json(form)
    sent = form.cleaned_data
    try:
        session = begin_listening(
            job,
            sent["ticket"],
            form.plan(),
            rate=sent["rate"],
            channels=sent["channels"],
            gear=sent["gear"],
            by=who(request),
        )
    except Refused as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)
    threading.Thread(target=warm_up, name="warm-up", daemon=True).start()
    return _state(request, job, session)


@require_safe
def state(request: HttpRequest, number: int, ticket: UUID) -> HttpResponse:
    """Where a session stands: for a page that takes it up again."""
    job = job_numbered(number)
    return _state(request, job, _session(job, ticket))


@require_POST
def sound(request: HttpRequest, number: int, ticket: UUID) -> HttpResponse:
    """
    Take a piece of sound: ``?at=`` the frame it begins at, ``voice=`` which page sends it, ``knows=`` what of
    the session that page shows.
    """
    job = job_numbered(number)
    session = _session(job, ticket)
    at = request.GET.get("at", "")
    try:
        if job.is_over:
            raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'.")
        if not (at.isascii() and at.isdecimal() and len(at) <= 12):
            raise Refused("A piece of sound says at which frame it begins.")
        if request.GET.get("voice", "") != session.walk.voice:
            return JsonResponse({"refused": "Another page listens for this session now."}, status=CONFLICT)
        if int(at) > session.spool.frames:
            return JsonResponse({"have": session.spool.frames}, status=CONFLICT)
        ears.take(session, int(at), _body(request))
    except Refused as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)
    return _state(request, job, session, knows=request.GET.get("knows", ""))


@require_POST
def step(request: HttpRequest, number: int, ticket: UUID) -> HttpResponse:
    """Write down what was done at the page: another speed, a firing struck out."""
    job = job_numbered(number)
    session = _session(job, ticket)
    try:
        note_step(session, _json(request))
    except Refused as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)
    return _state(request, job, session_of(job, ticket))


@require_POST
def keep_it(request: HttpRequest, number: int, ticket: UUID) -> HttpResponse:
    """Keep what was heard with the job, and have each speed read."""
    job = job_numbered(number)
    try:
        fired = ears.finish(session_of(job, ticket))
    except NotThere:
        fired = []
    try:
        kept = keep_session(job, ticket, fired, by=who(request))
    except NotThere as refusal:
        raise Http404(str(refusal)) from None
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(f"{reverse('live', args=[job.number])}?session={ticket}")
    ears.forget(ticket)
    for measurement in kept:
        if measurement.progress == Measurement.Progress.UNREAD:
            reader.take(measurement, by=who(request))
    speeds = ", ".join(measurement.marked for measurement in kept)
    messages.success(request, f"Kept: {speeds}. Each is read now, from the whole recording.")
    return redirect(reverse("shutter", args=[job.number]) + "#open-readings")


@require_POST
def drop(request: HttpRequest, number: int, ticket: UUID) -> HttpResponse:
    """Throw a session away."""
    job = job_numbered(number)
    ears.forget(ticket)
    drop_session(job, ticket)
    messages.info(request, "Thrown away. Nothing of it is in the job.")
    return redirect("live", job.number)


def _session(job: Job, ticket: UUID) -> Session:
    try:
        return session_of(job, ticket)
    except NotThere as refusal:
        raise Http404(str(refusal)) from None


def _state(request: HttpRequest, job: Job, session: Session, *, knows: str = "") -> JsonResponse:
    version = version_of(session)
    answer: dict[str, Any] = {
        "ticket": str(session.ticket),
        "rate": session.spool.rate,
        "channels": session.spool.channels,
        "have": session.spool.frames,
        "last": session.walk.last,
        "version": version,
    }
    if knows != version:
        stage = stage_of(job, session, heard_in(session.spool), locale())
        answer |= {
            "speed": stage.now.marked if stage.now else "",
            "speeds": [one.marked for one in stage.speeds],
            "standing": [one.number for one in stage.now.standing] if stage.now else [],
            "done": stage.is_done,
            "moves_on": session.plan.moves_on,
            "html": render_to_string("bench/parts/live_stage.html", {"job": job, "stage": stage}, request),
        }
    return JsonResponse(answer)


def _body(request: HttpRequest) -> bytes:
    try:
        return bytes(request.body)
    except RequestDataTooBig:
        raise Refused("A piece of sound is at most a megabyte.") from None
    except UnreadablePostError:
        raise Refused("The line broke; send it again.") from None


def _json(request: HttpRequest) -> dict[str, Any]:
    try:
        sent = json.loads(_body(request))
    except ValueError:
        sent = None
    if not isinstance(sent, dict):
        raise Refused("A step is sent as JSON.")
    return sent


def _dials(job: Job) -> tuple[tuple[str, tuple[Tile, ...]], ...]:
    """Series of markings, the likeliest first with all of its timed speeds chosen."""
    measured = list(
        job.measurements.filter(instrument="shutter", set_aside=False).values_list("marked", "phase")
    )
    found, left = ({m for m, p in measured if p == phase} for phase in ("as found", "as left"))
    offers = readouts.dials(
        job.camera.kind.shutter, job.camera.year_made, [m for m, _ in measured], found, left
    )
    return tuple(
        (
            dial.name,
            tuple(
                Tile(
                    marked=tile.marked,
                    is_chosen=not i and tile.marked not in _MANUAL,
                    has_found=tile.has_found,
                    has_left=tile.has_left,
                )
                for tile in dial.tiles
            ),
        )
        for i, dial in enumerate(offers)
    )


def _markings(dials: tuple[tuple[str, tuple[Tile, ...]], ...]) -> list[str]:
    """Every marking on offer, slowest first."""
    return sorted((tile.marked for _, tiles in dials for tile in tiles), key=readouts.slowest_first)


def _likelier(job: Job) -> str:
    """As what the camera is rather measured, from where the job stands."""
    return "as left" if job.stands in (Standing.PROVING, Standing.READY) else "as found"


urlpatterns = [
    path("job/<int:number>/shutter/live/", live, name="live"),
    path("job/<int:number>/shutter/live/begin/", begin, name="live_begin"),
    path("job/<int:number>/shutter/live/<uuid:ticket>/state/", state, name="live_state"),
    path("job/<int:number>/shutter/live/<uuid:ticket>/sound/", sound, name="live_sound"),
    path("job/<int:number>/shutter/live/<uuid:ticket>/step/", step, name="live_step"),
    path("job/<int:number>/shutter/live/<uuid:ticket>/keep/", keep_it, name="live_keep"),
    path("job/<int:number>/shutter/live/<uuid:ticket>/drop/", drop, name="live_drop"),
]
