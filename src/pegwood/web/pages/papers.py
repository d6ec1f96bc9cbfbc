"""The papers of a job: made, filed, opened again byte for byte."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST, require_safe

from pegwood.book.files.store import read
from pegwood.book.models import Job, Paper
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.papers import KINDS
from pegwood.papers.words import ENGLISH
from pegwood.web.bench_request import CANNOT, job_numbered, who

#: The paper that is wanted next where the job stands; the others are one tap further.
WANTED = {
    Standing.ARRIVED: "receipt",
    Standing.LOOKED_OVER: "condition",
    Standing.PRICED: "price",
    Standing.PROVING: "certificate",
    Standing.READY: "bill",
    Standing.GONE_HOME: "care",
}


@dataclass(frozen=True)
class PaperKind:
    """A kind of paper, as it stands on its button."""

    kind: str
    title: str
    says: str
    wanted: bool = False


@dataclass(frozen=True)
class PapersSection:
    """The papers on a job card: those made, and the kinds there are. `refused` says why one was not made."""

    job: Job
    papers: tuple[tuple[Paper, str], ...]
    kinds: tuple[PaperKind, ...]
    refused: str = ""


def section(job: Job, refused: str = "") -> PapersSection:
    """What the papers' part of a job card needs."""
    made = list(job.papers.select_related("file").defer("content").order_by("-pk"))
    wanted = WANTED.get(job.stands)
    if wanted in {paper.kind for paper in made}:
        wanted = None
    return PapersSection(
        job=job,
        papers=tuple((paper, title(paper.kind)) for paper in made),
        kinds=tuple(
            PaperKind(kind, title(kind), ENGLISH.get(f"sub.{kind}", ""), kind == wanted) for kind in KINDS
        ),
        refused=refused,
    )


def title(kind: str) -> str:
    """What a kind of paper is called; a kind of an older version keeps its bare name."""
    return ENGLISH.get(f"title.{kind}", kind)


@require_POST
def make(request: HttpRequest, number: int) -> HttpResponse:
    """Make a paper from what the book says now, and file it."""
    from pegwood.papers import RefusedPaper, make_paper  # brings the typesetter along: only when it is needed

    job = job_numbered(number)
    try:
        kind, of = request.POST.get("kind", ""), request.POST.get("of", "").replace("\0", "")[:40]
        paper = make_paper(job, kind, by=who(request), of=of, at=timezone.now())
    except (Refused, RefusedPaper) as reason:
        shown = {"job": job, "papers": section(job, str(reason))}
        return render(request, "bench/papers_page.html", shown, status=CANNOT)
    messages.success(request, f"{title(paper.kind)} {paper.number} is made and filed.")
    return redirect(reverse("job", args=[number]) + "#papers")


@require_safe
def open_paper(request: HttpRequest, number: str) -> HttpResponse:
    """The very bytes that were filed, checked against their hash."""
    paper = get_object_or_404(Paper.objects.select_related("file"), number=number)
    try:
        content = read(paper.file)
    except Refused as reason:
        return render(
            request, "bench/error.html", {"title": "The paper is gone", "why": str(reason)}, status=410
        )
    response = HttpResponse(content, content_type="application/pdf")
    shown = content_disposition_header(as_attachment=False, filename=f"{paper.number}.pdf")
    response["Content-Disposition"] = shown or "inline"
    return response


urlpatterns = [
    path("job/<int:number>/papers/", make, name="papers"),
    path("paper/<slug:number>.pdf", open_paper, name="paper"),
]
