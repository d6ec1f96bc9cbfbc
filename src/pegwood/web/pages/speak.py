"""Speaking at the bench: hold a key, say it, let go. All of it can be written instead."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from importlib.util import find_spec
from uuid import UUID

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.request import UnreadablePostError
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from pegwood.book.hearing.obeying import FOR_THE_PAGE, NextStep, obey, take_back
from pegwood.book.hearing.voice import forget_voice, mark_of_voice
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.hearing.spoken import AskAgain, Command, NoRecogniser, Sayings, sayings, sentences_to_read
from pegwood.web.bench_request import CANNOT, job_numbered, who
from pegwood.web.speaking import listening, typed
from pegwood.web.strip.stage import stage_of

ADD_IT = "Speaking needs pocketsphinx. Add it with: pip install 'pegwood[spoken]'"


@dataclass(frozen=True, kw_only=True)
class SpeakPage:
    """The page on which somebody speaks."""

    job: Job
    can_hear: bool
    add_it: str
    said: Sayings
    parts: tuple[str, ...]
    read: tuple[str, ...]
    knows_voice: bool


@require_safe
def speak(request: HttpRequest, number: int) -> HttpResponse:
    """What can be said, and the key to hold."""
    job = job_numbered(number)
    can_hear = find_spec("pocketsphinx") is not None
    slug = job.camera.family
    if can_hear and not job.is_over:
        threading.Thread(target=listening.ready, args=(slug,), name="ears", daemon=True).start()
    page = SpeakPage(
        job=job,
        can_hear=can_hear,
        add_it=ADD_IT,
        said=sayings(),
        parts=tuple(job.camera.kind.parts),
        read=sentences_to_read(),
        knows_voice=bool(mark_of_voice()),
    )
    return render(request, "bench/speak.html", {"job": job, "page": page})


@require_POST
def sound(request: HttpRequest, number: int, ticket: UUID) -> HttpResponse:
    """Take a piece of what is being said: ``?at=`` the byte it begins at."""
    job = job_numbered(number)
    at = request.GET.get("at", "")
    try:
        _open(job)
        if not (at.isascii() and at.isdecimal() and len(at) <= 9):
            raise Refused("A piece of sound says at which byte it begins.")
        return JsonResponse({"have": listening.take(job.camera.family, ticket, int(at), _body(request))})
    except (Refused, NoRecogniser) as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)


@require_POST
def said(request: HttpRequest, number: int, ticket: UUID) -> HttpResponse:
    """The key was let go: do what was told, or ask again."""
    job = job_numbered(number)
    try:
        _open(job)
        return _done(request, job, listening.finish(ticket))
    except (Refused, NoRecogniser) as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)


@require_POST
def whole(request: HttpRequest, number: int) -> HttpResponse:
    """Do what a WAV file tells."""
    job = job_numbered(number)
    try:
        _open(job)
        return _done(request, job, listening.whole(job.camera.family, _body(request)))
    except (Refused, NoRecogniser) as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)


@require_POST
def written(request: HttpRequest, number: int) -> HttpResponse:
    """Do what was written instead of spoken."""
    job = job_numbered(number)
    try:
        _open(job)
        return _done(request, job, typed(job.camera.family, request.POST.get("words", "")))
    except Refused as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)


@require_POST
def back(request: HttpRequest, number: int) -> HttpResponse:
    """Take back what was told last."""
    job = job_numbered(number)
    try:
        done = take_back(job, request.POST.get("token", "")[:80], by=who(request))
    except Refused as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)
    return JsonResponse({"kind": "undo", "says": done.says})


@require_POST
def read(request: HttpRequest, number: int, at: int) -> HttpResponse:
    """Take one of the sentences that teach a voice: 16-bit samples at 16 kHz."""
    job_numbered(number)
    try:
        return JsonResponse({"have": listening.read(at, _body(request))})
    except Refused as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)


@require_POST
def learned(request: HttpRequest, number: int) -> HttpResponse:  # noqa: ARG001
    """All that was to be read was read: learn the voice."""
    job = job_numbered(number)
    try:
        voice = listening.learn()
    except (Refused, NoRecogniser) as refusal:
        return JsonResponse({"refused": str(refusal)}, status=CANNOT)
    listening.ready(job.camera.family)
    return JsonResponse({"says": f"The bench knows your voice, from {voice.sentences} sentences."})


@require_POST
def forget(request: HttpRequest, number: int) -> HttpResponse:  # noqa: ARG001
    """Forget the voice."""
    job_numbered(number)
    forget_voice()
    return JsonResponse({"says": "Your voice is forgotten."})


def _done(request: HttpRequest, job: Job, told: Command | AskAgain) -> JsonResponse:
    if isinstance(told, AskAgain):
        may_be = [{"words": one.words} for one in told.may_be[:4]]
        return JsonResponse({"ask": told.why, "may_be": may_be})
    answer = {"kind": told.kind, "words": told.words}
    if told.kind in FOR_THE_PAGE:
        go = reverse("job", args=[job.number]) + "#photos" if told.kind == "photograph" else ""
        return JsonResponse({**answer, "says": "", "go": go})
    done = obey(job, told, by=who(request), upcoming=_upcoming(job) if told.kind == "next" else None)
    return JsonResponse({**answer, "says": done.says, "token": done.token})


def _upcoming(job: Job) -> NextStep | None:
    stage = stage_of(job)
    if stage.plan is None or not stage.plan.steps:
        return None
    step = stage.plan.steps[0]
    return NextStep(part=step.part, way=step.way)


def _open(job: Job) -> None:
    if job.is_over:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'.")


def _body(request: HttpRequest) -> bytes:
    try:
        return bytes(request.body)
    except RequestDataTooBig:
        raise Refused("What is said is at most a megabyte in one piece.") from None
    except UnreadablePostError:
        raise Refused("The line broke; say it again.") from None


urlpatterns = [
    path("job/<int:number>/speak/", speak, name="speak"),
    path("job/<int:number>/speak/whole/", whole, name="speak_whole"),
    path("job/<int:number>/speak/written/", written, name="speak_written"),
    path("job/<int:number>/speak/learned/", learned, name="speak_learned"),
    path("job/<int:number>/speak/forget/", forget, name="speak_forget"),
    path("job/<int:number>/speak/read/<int:at>/", read, name="speak_read"),
    path("job/<int:number>/speak/back/", back, name="speak_back"),
    path("job/<int:number>/speak/<uuid:ticket>/sound/", sound, name="speak_sound"),
    path("job/<int:number>/speak/<uuid:ticket>/said/", said, name="speak_said"),
]
