"""The job card, and the moves that take a job on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import reselect, retarget

from pegwood.book import leaving, moving
from pegwood.book.models import DiaryEntry, Job
from pegwood.book.quoting.alarm import is_watched
from pegwood.book.refusal import Refused
from pegwood.book.states import Move, WaitingFor, open_moves
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.causes.summary import CausesSummary
from pegwood.web.causes.summary import summary as causes_summary
from pegwood.web.diary_words import Change, changes, is_move
from pegwood.web.facts import facts, with_facts
from pegwood.web.gauges.summary import Gauged, gauged
from pegwood.web.local import locale
from pegwood.web.next_step import Step, next_step
from pegwood.web.pages import clock, findings, job_spares, papers, photos, price, shutter, work
from pegwood.web.strip.summary import StripSummary, summary

LATEST_ENTRIES = 60
AT_ONCE = 6


@dataclass(frozen=True, kw_only=True)
class QuietMove:
    """A move that needs a word with it, as a form that is opened when wanted."""

    move: Move
    label: str
    asks: str
    button: str
    choices: tuple[str, ...] = ()
    needs_text: bool = False
    text: str = ""
    chosen: str = ""
    asks_long: str = ""
    long: str = ""
    refused: str = ""

    @property
    def slug(self) -> str:
        return self.move.replace(" ", "-")


QUIET = (
    QuietMove(
        move=Move.WAIT,
        label="Let it wait",
        asks="A word on it, if you like",
        button="Let it wait",
        choices=tuple(WaitingFor),
        asks_long="How long, if you know: 3 h, 2 days, or the glue: shellac",
    ),
    QuietMove(
        move=Move.BACK_TO_BENCH,
        label="Take it back to the bench",
        asks="What did it not do well?",
        button="Back to the bench",
    ),
    QuietMove(
        move=Move.SEND_BACK,
        label="Send it back unmended",
        asks="Why? The owner will ask",
        button="Send it back unmended",
        needs_text=True,
    ),
    QuietMove(
        move=Move.KEEP,
        label="Keep it for parts",
        asks="How did the owner leave it to you?",
        button="Keep it for parts",
        needs_text=True,
    ),
    QuietMove(
        move=Move.TAKE_BACK,
        label="That was a slip",
        asks="What was the slip? The diary keeps both",
        button="Take it back",
        needs_text=True,
    ),
)


@dataclass(frozen=True)
class AskedMove:
    """A move as the card's forms ask for it: its name, and what came with it as it was typed."""

    move: str
    text: str
    waiting_for: str
    long: str


@dataclass(frozen=True)
class Entry:
    """A diary entry with its words."""

    entry: DiaryEntry
    changes: list[Change]
    is_move: bool


@dataclass(frozen=True)
class DiarySection:
    """The diary of a job, the latest first; `older` is how many are not shown at all."""

    latest: tuple[Entry, ...]
    earlier: tuple[Entry, ...]
    older: int


@dataclass(frozen=True, kw_only=True)
class JobPage:
    """The job card. `refused` is why the move of the filled button was not made."""

    job: Job
    step: Step
    quiet: tuple[QuietMove, ...]
    shutter: shutter.ShutterSummary
    gauged: Gauged
    findings: findings.FindingsSection
    photos: photos.PhotosSection
    remark: work.RemarkSection
    work: work.WorkSection
    clock: clock.ClockSection
    causes: CausesSummary | None
    strip: StripSummary
    spares: job_spares.SparesSection
    price: price.PriceSection
    is_watched: bool
    papers: papers.PapersSection
    diary: DiarySection
    comebacks: tuple[int, ...]
    refused: str = ""


def job_page(request: HttpRequest, job: Job, *, refused: str = "", typed: QuietMove | None = None) -> JobPage:
    """What the job card shows. The job comes through `with_facts`."""
    moves = open_moves(job.stands)
    return JobPage(
        job=job,
        step=next_step(facts(job, request.workshop, timezone.now())),  # type: ignore[attr-defined]
        quiet=tuple(typed if typed and typed.move is one.move else one for one in QUIET if one.move in moves),
        diary=diary_of(job, LATEST_ENTRIES if request.GET.get("diary") != "all" else None),
        shutter=shutter.summary(job),
        gauged=gauged(job),
        findings=findings.section(job),
        photos=photos.section(job),
        work=work.section(job),
        clock=clock.section(job),
        causes=causes_summary(job, may_wait=True),
        strip=summary(job),
        spares=job_spares.section(job, later=True),
        price=price.section(job),
        is_watched=is_watched(job),
        papers=papers.section(job),
        remark=work.remark_section(job),
        comebacks=tuple(job.comebacks.order_by("number").values_list("number", flat=True)),
        refused=refused,
    )


def diary_of(job: Job, at_most: int | None) -> DiarySection:
    """The latest entries of a job's diary, and how many there are besides."""
    entries = list(job.diary.order_by("-at", "-pk")[: at_most and at_most + 1])
    older = job.diary.count() - at_most if at_most and len(entries) > at_most else 0
    shown = tuple(
        Entry(entry, changes(entry.old, entry.new, locale(), job.currency), is_move(entry.new))
        for entry in entries[:at_most]
    )
    return DiarySection(latest=shown[:AT_ONCE], earlier=shown[AT_ONCE:], older=older)


@require_safe
def card(request: HttpRequest, number: int) -> HttpResponse:
    """The job card."""
    page = job_page(request, _with_facts(number))
    return render(request, "bench/job.html", {"page": page, "job": page.job})


@require_POST
def move(request: HttpRequest, number: int) -> HttpResponse:
    """Take a job on to its next standing. Moves that cannot be made leave all as it was, and say why."""
    job = job_numbered(number)
    asked = AskedMove(**{f.name: request.POST.get(f.name, "") for f in fields(AskedMove)})
    try:
        moved = _move(job, asked, who(request))
    except Refused as reason:
        return _not_moved(request, number, asked, str(reason))
    messages.success(request, f"Job {number}: {moved.standing}{_waits(moved)}.")
    return go_to(request, reverse("job", args=[number]))


def _waits(job: Job) -> str:
    return f" for {job.waiting_for}" if job.waiting_for else ""


def _move(job: Job, asked: AskedMove, by: str) -> Job:
    name = asked.move
    if name == Move.WAIT:
        if not asked.waiting_for:
            raise Refused("What does it wait for? Choose one.")
        return moving.let_wait(job, asked.waiting_for, note=asked.text, long=asked.long, by=by)
    if name in WITH_TEXT:
        return WITH_TEXT[Move(name)](job, asked.text, by=by)
    if name in PLAIN:
        return PLAIN[Move(name)](job, by=by)
    raise Refused(f"'{name}' is not something that is done to a job here.")


#: Moves made by one press. Prices, the owner's yes and handing back have pages of their own.
PLAIN: dict[Move, Callable[..., Job]] = {
    Move.LOOK_OVER: moving.look_over,
    Move.TAKE_ON: moving.put_on_bench,
    Move.GO_ON: moving.go_on,
    Move.PROVE: moving.prove,
    Move.PASS: moving.call_ready,
}
WITH_TEXT: dict[Move, Callable[..., Job]] = {
    Move.BACK_TO_BENCH: moving.back_to_bench,
    Move.SEND_BACK: leaving.send_back_unmended,
    Move.KEEP: leaving.keep_for_parts,
    Move.TAKE_BACK: leaving.take_back,
}


def _not_moved(request: HttpRequest, number: int, asked: AskedMove, reason: str) -> HttpResponse:
    job = _with_facts(number)
    moves = open_moves(job.stands)
    quiet = next((one for one in QUIET if one.move == asked.move and one.move in moves), None)
    if quiet is not None:
        typed = replace(quiet, text=asked.text, chosen=asked.waiting_for, long=asked.long, refused=reason)
        page = job_page(request, job, typed=typed)
    else:
        page = job_page(request, job, refused=reason)
    answer = render(request, "bench/job.html", {"page": page, "job": job}, status=CANNOT)
    # A form of a move that is no longer open is not on the page any more: all of that is shown.
    return answer if quiet is not None else retarget(reselect(answer, "#main"), "#main")


def _with_facts(number: int) -> Job:
    return get_object_or_404(with_facts(Job.objects.all()), number=number)


urlpatterns = [
    path("job/<int:number>/", card, name="job"),
    path("job/<int:number>/move/", move, name="move"),
]
