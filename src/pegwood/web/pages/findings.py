"""What is seen on a camera: noted in one line and two taps, corrected, struck out."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.forms import BoundField
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.book.files.pictures import LARGEST_FILE
from pegwood.book.looking import FINDING_FIELDS, amend_finding, note_finding, strike_out
from pegwood.book.models import Finding, Job
from pegwood.book.models.bench import GRADES
from pegwood.book.refusal import Refused
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who
from pegwood.web.forms.findings import FindingForm, FindingLineForm, StrikeOutForm
from pegwood.web.onward import onward
from pegwood.web.touching import Touching, touching


@dataclass(frozen=True)
class FindingsSection:
    """The findings on a job card, and the line to note another in."""

    job: Job
    findings: list[Finding]
    parts: tuple[str, ...]
    grades: dict[int, str]
    form: FindingLineForm
    noted: Finding | None
    open: bool


@dataclass(frozen=True)
class FindingPage:
    """One finding, to be corrected, photographed or struck out."""

    finding: Finding
    form: FindingForm
    strike: StrikeOutForm
    touching: Touching | None
    largest_mb: int = LARGEST_FILE // 1024**2

    @property
    def taps(self) -> tuple[BoundField, BoundField]:
        """What is answered by a tap."""
        return self.form["grade"], self.form["outlook"]


def section(job: Job, form: FindingLineForm | None = None, noted: Finding | None = None) -> FindingsSection:
    """What the findings' part of a job card needs."""
    parts = job.camera.kind.parts
    findings = job.findings.prefetch_related("photos")
    return FindingsSection(
        job=job,
        findings=list(findings),
        parts=parts,
        grades=GRADES,
        form=form or FindingLineForm(parts=parts),
        noted=noted,
        open=form is not None or not job.is_over,
    )


@require_POST
def note(request: HttpRequest, number: int) -> HttpResponse:
    """Write down something seen."""
    job = job_numbered(number)
    form = FindingLineForm(request.POST, parts=job.camera.kind.parts)
    if form.is_valid():
        try:
            noted = note_finding(job, form.details, by=who(request))
        except Refused as refused:
            form.add_error("line", str(refused))
        else:
            if is_live(request):
                return _section(request, section(job, noted=noted))
            return go_to(request, reverse("job", args=[number]) + "#findings")
    return _section(request, section(job, form), status=CANNOT)


def _section(request: HttpRequest, findings: FindingsSection, *, status: int = 200) -> HttpResponse:
    shown = {"job": findings.job, "findings": findings}
    if is_live(request):
        return render(
            request, "bench/parts/findings.html", shown | onward(request, findings.job), status=status
        )
    return render(request, "bench/findings.html", shown, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def finding(request: HttpRequest, pk: int) -> HttpResponse:
    """One finding, to be corrected."""
    found = _finding(pk)
    if request.method != "POST":
        now = {name: getattr(found, name) for name in FINDING_FIELDS}
        return _show(request, found, FindingForm(initial=now), StrikeOutForm())
    form = FindingForm(request.POST)
    if form.is_valid():
        try:
            amend_finding(found, form.details, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            return go_to(request, reverse("job", args=[found.job.number]) + "#findings")
    return _show(request, found, form, StrikeOutForm(), status=CANNOT)


@require_POST
def strike(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a mistaken finding off the card; the diary keeps it, with the reason."""
    found = _finding(pk, struck_out_too=True)
    form = StrikeOutForm(request.POST)
    if not form.is_valid():
        now = {name: getattr(found, name) for name in FINDING_FIELDS}
        return _show(request, found, FindingForm(initial=now), form, status=CANNOT)
    strike_out(found, form.cleaned_data["reason"], by=who(request))
    messages.info(request, f"Struck out: {found}.")
    return go_to(request, reverse("job", args=[found.job.number]) + "#findings")


def _show(
    request: HttpRequest, found: Finding, form: FindingForm, strike: StrikeOutForm, *, status: int = 200
) -> HttpResponse:
    page = FindingPage(found, form, strike, touching(found))
    return render(
        request, "bench/finding.html", {"page": page, "job": found.job, "form": form}, status=status
    )


def _finding(pk: int, *, struck_out_too: bool = False) -> Finding:
    findings = Finding.everything if struck_out_too else Finding.objects
    related = findings.select_related("job__owner", "job__camera").prefetch_related("photos")
    return get_object_or_404(related, pk=pk)


urlpatterns = [
    path("job/<int:number>/findings/", note, name="finding_note"),
    path("finding/<int:pk>/", finding, name="finding"),
    path("finding/<int:pk>/strike/", strike, name="finding_strike"),
]
