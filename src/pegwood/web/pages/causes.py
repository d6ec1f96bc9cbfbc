"""What is wrong with a job's camera: its story by taps, the next look, what is likely, what was seen."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import replace_url

from pegwood.book.models import Job, SignAnswer
from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import tables
from pegwood.book.weighing.answering import answer_sign, take_back_answer
from pegwood.book.weighing.telling import tell_one
from pegwood.causes.story import denied
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who
from pegwood.web.causes import words
from pegwood.web.causes.advised import Advised, advised, is_at_hand
from pegwood.web.causes.answered import Answered, answered
from pegwood.web.causes.looking import LookShown, look
from pegwood.web.causes.reasons import FaultShown, fault_shown
from pegwood.web.causes.shown import Bars, StoryTap, bars, story
from pegwood.web.causes.stage import Stage, stage_of
from pegwood.web.causes.summary import NOTHING_YET, summary

#: What a tap of the story says: it is so, it is not, nobody knows.
TAPS = {"so": True, "not so": False, "": None}


@dataclass(frozen=True, kw_only=True)
class Said:
    """What was just written down, and the look whose answer a press takes back."""

    text: str
    undo: str = ""


@dataclass(frozen=True, kw_only=True)
class CausesPage:
    """
    The page; all but the job is empty where nobody wrote down how such cameras are put together.

    Attributes
    ----------
    advice : Advised or None
        What to do next; None for a job that is over.
    look : LookShown or None
        The one that is proposed, or was chosen; None where something else is proposed.
    opened : FaultShown or None
        The fault whose reasons stand open.
    telling : bool
        Whether the taps of the story stand open.
    later : bool
        Whether the next look is still to be asked for.
    """

    job: Job
    stage: Stage | None
    advice: Advised | None = None
    look: LookShown | None = None
    story: tuple[StoryTap, ...] = ()
    bars: Bars | None = None
    answered: Answered | None = None
    opened: FaultShown | None = None
    telling: bool = False
    later: bool = False
    said: Said | None = None
    refused: str = ""

    @property
    def opened_id(self) -> str:
        """Of the fault whose reasons are open; empty for none."""
        return self.opened.fault.id if self.opened else ""

    @property
    def told(self) -> tuple[str, ...]:
        """The story in words."""
        return tuple(one.says if one.so else denied(one.key) for one in self.story if one.so is not None)

    @property
    def seems(self) -> tuple[StoryTap, ...]:
        """What nobody told, and what was seen speaks for."""
        return tuple(one for one in self.story if one.seems)


def causes_page(
    job: Job,
    *,
    chosen: str = "",
    opened: str = "",
    telling: bool = False,
    said: Said | None = None,
    refused: str = "",
    may_wait: bool = False,
) -> CausesPage:
    """
    The page with a look that was chosen, and the fault whose reasons are open.

    Where it may wait, what takes a while to work out is left to a second request.
    """
    stage = stage_of(job)
    if stage is None:
        return CausesPage(job=job, stage=None, refused=refused)
    causes = stage.causes
    later = may_wait and not is_at_hand(stage)
    advice = None if job.is_over or later else advised(stage)
    wanted = causes.signs.get(chosen)
    proposed = advice.first.proposal if advice and advice.first else None
    sign = wanted or (causes.signs[proposed.id] if proposed and proposed.kind == "look" else None)
    return CausesPage(
        job=job,
        stage=stage,
        advice=advice,
        look=None if sign is None else look(stage, sign, is_chosen=wanted is not None),
        story=story(stage),
        bars=bars(stage, with_reasons=not later),
        answered=answered(stage),
        opened=shown_fault(stage, opened) if opened in causes.faults else None,
        telling=telling or stage.is_fresh,
        later=later and sign is None,
        said=said,
        refused=refused,
    )


def shown_fault(stage: Stage, fault: str) -> FaultShown:
    """A fault with all that bears on it."""
    return fault_shown(stage, fault, tables()[0])


def show(request: HttpRequest, page: CausesPage, *, status: int = 200) -> HttpResponse:
    """The page, or what a press changes of it."""
    template = "bench/parts/causes.html" if is_live(request) else "bench/causes.html"
    shown = {"page": page, "job": page.job, "stage": page.stage, "live": is_live(request)}
    return render(request, template, shown, status=status)


def done(request: HttpRequest, job: Job, said: Said, *, opened: str = "") -> HttpResponse:
    """The page after a press."""
    here = reverse("causes", args=[job.number])
    if is_live(request):
        answer = show(request, causes_page(job, said=said, opened=opened))
        return replace_url(answer, here)  # a reload shows what comes next
    messages.success(request, said.text)
    return go_to(request, here)


@require_safe
def causes(request: HttpRequest, number: int) -> HttpResponse:
    """The next look, what is likely, and what was told and seen."""
    chosen = request.GET.get("look", "")
    may_wait = not is_live(request) and "now" not in request.GET
    return show(request, causes_page(job_numbered(number), chosen=chosen, may_wait=may_wait))


@require_safe
def on_card(request: HttpRequest, number: int) -> HttpResponse:
    """What a job's card says of it, where the card did not wait for it."""
    job = job_numbered(number)
    return render(
        request, "bench/parts/_causes_on_card.html", {"job": job, "causes": summary(job) or NOTHING_YET}
    )


@require_POST
def tell(request: HttpRequest, number: int) -> HttpResponse:
    """One tap of the story: "dropped=so"."""
    job = job_numbered(number)
    key, _, state = request.POST.get("tap", "").partition("=")
    try:
        if state not in TAPS:
            raise Refused(f"{state!r} is no answer to that. They are: so, not so, or nothing.")
        tell_one(job, key, TAPS[state], by=who(request))
    except Refused as reason:
        return show(request, causes_page(job, telling=True, refused=str(reason)), status=CANNOT)
    if is_live(request):
        return show(request, causes_page(job, telling=True))
    return go_to(request, reverse("causes", args=[number]) + "#story")


@require_POST
def answer(request: HttpRequest, number: int) -> HttpResponse:
    """What was seen of a sign."""
    job = job_numbered(number)
    sign, said = request.POST.get("sign", ""), request.POST.get("answer", "")
    try:
        row = answer_sign(job, sign, said, by=who(request))
    except Refused as reason:
        return show(request, causes_page(job, chosen=sign, refused=str(reason)), status=CANNOT)
    stage = stage_of(job)
    known = stage.causes.signs.get(row.sign) if stage else None
    text = f"{words.seen(known, row.answer)}." if known else str(row)
    return done(request, job, Said(text=text, undo=row.sign))


@require_POST
def take_back(request: HttpRequest, number: int) -> HttpResponse:
    """As if a sign had not been asked."""
    job = job_numbered(number)
    row = SignAnswer.objects.filter(job=job, sign=request.POST.get("sign", "")).last()
    try:
        if row is None:
            raise Refused("That answer was taken back already.")
        take_back_answer(row, by=who(request))
    except Refused as reason:
        return show(request, causes_page(job, refused=str(reason)), status=CANNOT)
    return done(request, job, Said(text="Taken back."))


urlpatterns = [
    path("job/<int:number>/causes/", causes, name="causes"),
    path("job/<int:number>/causes/on-card/", on_card, name="causes_on_card"),
    path("job/<int:number>/causes/story/", tell, name="causes_story"),
    path("job/<int:number>/causes/answer/", answer, name="causes_answer"),
    path("job/<int:number>/causes/take-back/", take_back, name="causes_take_back"),
]
