"""Dictation on a job: it is typed or sent here, and what was heard in it is kept, mended or dropped."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.book import hearing
from pegwood.book.families import construction_of
from pegwood.book.hearing.teaching import words_for_part
from pegwood.book.models import Job, Narration, SaidProposal
from pegwood.book.refusal import Refused
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.hearing import NamedPart
from pegwood.web.bench_request import CANNOT, content_of, go_to, is_live, job_numbered, who, whole_number
from pegwood.web.forms.findings import StrikeOutForm
from pegwood.web.forms.hearing import DropForm, MendForm, MissedForm, NarrationForm
from pegwood.web.told.page import MISSED, page_of
from pegwood.web.told.rows import Card

Kind, State = SaidProposal.Kind, SaidProposal.State


@dataclass(frozen=True)
class HearPage:
    """Where narration is typed or sent, and what was dictated on the job before."""

    job: Job
    form: NarrationForm
    narrations: list[Narration]
    can_place: bool


@require_http_methods(["GET", "HEAD", "POST"])
def hear(request: HttpRequest, number: int) -> HttpResponse:
    """Take narration in."""
    job = job_numbered(number)
    form = NarrationForm(request.POST, request.FILES) if request.method == "POST" else NarrationForm()
    if form.is_valid():
        file = form.cleaned_data["file"]
        try:
            if file is None:
                narration = hearing.take_narration(job, text=form.cleaned_data["text"], by=who(request))
            else:
                narration = hearing.take_narration(
                    job,
                    file=content_of(file),
                    name=file.name or "",
                    how=Narration.How.FILE,
                    by=who(request),
                )
        except Refused as refused:
            form.add_error("text" if file is None else "file", str(refused))
        else:
            return go_to(request, reverse("narration", args=[narration.pk]))
    page = HearPage(job, form, _narrations(job), construction_of(strip_down_of(job).family) is not None)
    return render(
        request,
        "bench/hear.html",
        {"page": page, "job": job, "form": form},
        status=CANNOT if form.errors else 200,
    )


@require_http_methods(["GET", "HEAD", "POST"])
def narration(request: HttpRequest, pk: int) -> HttpResponse:
    """A narration with all that was heard in it; and what a person decides about one of them."""
    told = get_object_or_404(Narration.objects.select_related("job__owner", "job__camera"), pk=pk)
    if request.method != "POST":
        wanted = whole_number(request.GET.get("mend", "") or request.GET.get("drop", ""))
        return _show(request, told, wanted=wanted)
    proposal = _proposal(told, request.POST.get("proposal", ""))
    form: MendForm | DropForm | None = None
    try:
        act = request.POST.get("do", "")
        if act == "mend" and proposal is not None:
            form = MendForm(request.POST, auto_id=_ids(proposal.order))
            if form.is_valid():
                hearing.mend(proposal, form.mended, by=who(request))
        elif act == "drop" and proposal is not None:
            form = DropForm(request.POST, auto_id=_ids(proposal.order))
            if form.is_valid():
                hearing.drop(proposal, by=who(request), **form.cleaned_data)
        elif act == "missed":
            missed = MissedForm(request.POST, auto_id=MISSED)
            if missed.is_valid():
                try:
                    hearing.add_missed(told, missed.cleaned_data["missed"], missed.mended, by=who(request))
                except Refused as refused:
                    missed.add_error(None, str(refused))
            if missed.errors:
                return _show(request, told, missed=missed)
        elif act == "keep" and proposal is not None:
            hearing.keep(proposal, by=who(request), signs=_signs(request))
        elif act == "plain":
            hearing.keep_plain(told, by=who(request))
        elif act == "undo":
            hearing.undo(told, by=who(request))
        else:
            raise Refused("That one is not in this narration. Look at it again.")
    except Refused as refused:
        if form is not None and proposal is not None:
            form.add_error(None, str(refused))
        else:
            return _show(request, told, refused=str(refused), at=proposal)
    if form is not None and form.errors:
        return _show(request, told, form=form, at=proposal)
    # Not `go_to`: htmx follows by itself, and takes of the page only what has changed.
    return HttpResponse(status=302, headers={"Location": _onward(request, told, proposal)})


def _onward(request: HttpRequest, told: Narration, settled: SaidProposal | None) -> str:
    """To the next that is open; a script stays on the part of the page where the settled one stands."""
    page = reverse("narration", args=[told.pk])
    if is_live(request):
        return f"{page}?at={settled.order}" if settled else page
    following = told.proposals.filter(state=State.OPEN).order_by("begins", "order")
    told_of_it = following.exclude(kind=Kind.REMARK)  # knowledge stands below the rest of the page
    behind = told_of_it.filter(begins__gte=settled.begins) if settled else told_of_it
    next_one = behind.first() or told_of_it.first() or following.first()
    return f"{page}?at={next_one.order}#p-{next_one.order}" if next_one else page


@require_POST
def aside(request: HttpRequest, pk: int) -> HttpResponse:
    """A narration that was sent to the wrong job."""
    told = get_object_or_404(Narration.objects.select_related("job__owner", "job__camera"), pk=pk)
    form = StrikeOutForm(request.POST)
    if form.is_valid():
        try:
            hearing.set_aside(told, form.cleaned_data["reason"], by=who(request))
        except Refused as refused:
            form.add_error("reason", str(refused))
        else:
            messages.info(request, "Struck out: the narration. The diary keeps that it was there.")
            return go_to(request, reverse("hear", args=[told.job.number]))
    return _show(request, told, aside=form)


def _narrations(job: Job) -> list[Narration]:
    counted = {
        "heard": Count("proposals"),
        "still_open": Count("proposals", filter=Q(proposals__state=State.OPEN)),
    }
    return list(job.narrations.annotate(**counted).order_by("-at", "-pk"))


def _proposal(narration: Narration, sent: str) -> SaidProposal | None:
    pk = whole_number(sent)
    return None if pk is None else narration.proposals.filter(pk=pk).first()


def _signs(request: HttpRequest) -> dict[str, str]:
    """Signs confirmed with a finding: fields "sign SIGN" with the answer that was tapped."""
    return {
        name.removeprefix("sign "): str(answer)
        for name, answer in request.POST.items()
        if name.startswith("sign ") and answer
    }


def _show(
    request: HttpRequest,
    narration: Narration,
    *,
    wanted: int | None = None,
    form: MendForm | DropForm | None = None,
    at: SaidProposal | None = None,
    aside: StrikeOutForm | None = None,
    missed: MissedForm | None = None,
    refused: str = "",
) -> HttpResponse:
    open_only = request.GET.get("show") == "open"
    here = at.order if at is not None else wanted or whole_number(request.GET.get("at", ""))
    portion = whole_number(request.GET.get("part", ""))
    page = page_of(narration, here, portion, open_only=open_only, aside=aside, missed=missed)
    cards = [card for row in page.rows for card in row.cards] + page.remarks
    for card in cards:
        is_it = at is not None and card.proposal.pk == at.pk
        if is_it:
            card.refused = refused
        if not card.proposal.is_open:
            continue
        if is_it:
            card.mend = form if isinstance(form, MendForm) else None
            card.drop = form if isinstance(form, DropForm) else None
        elif wanted == card.number and "drop" in request.GET:
            card.drop = DropForm(auto_id=_ids(card.number))
        elif wanted == card.number or (card.told.kind == Kind.UNPLACED and card.is_next and not at):
            card.mend = MendForm.of(card.told, _called(card), _ids(card.number))
    shown = {"page": page, "job": narration.job, "refused_here": "" if at is not None else refused}
    is_refused = bool(refused or aside or missed or (form is not None and form.errors))
    return render(request, "bench/narration.html", shown, status=CANNOT if is_refused else 200)


def _ids(number: int) -> str:
    """Several forms may stand on the page: each field's id says of which card it is."""
    return f"id_{number}_%s"


def _called(card: Card) -> str:
    """Which of the words most likely named the part."""
    told = card.told
    return words_for_part(told.words, NamedPart(id=told.part_id, name=told.part) if told.part else None)


urlpatterns = [
    path("job/<int:number>/hear/", hear, name="hear"),
    path("narration/<int:pk>/", narration, name="narration"),
    path("narration/<int:pk>/aside/", aside, name="narration_aside"),
]
