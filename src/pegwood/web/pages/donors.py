"""Donors: cameras kept for their parts, and what comes out of them."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.anatomy.parts import Part
from pegwood.book.families import construction_of, family
from pegwood.book.models import Donor, DonorPart
from pegwood.book.refusal import Refused
from pegwood.book.spares.donors import (
    donor_from,
    is_in_it,
    keep_donor,
    let_donor_go,
    not_in_it,
    still_in,
    take_out,
)
from pegwood.book.workshop import workshop
from pegwood.trade.names import plain
from pegwood.web.bench_request import CANNOT, go_to, is_live, job_numbered, who, whole_number
from pegwood.web.forms.findings import StrikeOutForm
from pegwood.web.forms.shelf import DonorForm, TakeOutForm
from pegwood.web.pages.shelf import places

MOST_LISTED = 100


@dataclass(frozen=True)
class DonorLine:
    """A donor in the list: its kind of camera, and how many parts are still in it of how many."""

    donor: Donor
    kind: str
    still: int
    of: int


@dataclass(frozen=True)
class DonorsPage:
    """All donors, and the form for another."""

    lines: tuple[DonorLine, ...]
    form: DonorForm


@dataclass(frozen=True, kw_only=True)
class DonorPage:
    """
    A donor.

    Attributes
    ----------
    still : tuple of Part
        What is in it and has the words that were looked for.
    number, of : int
        How many are in it in all, and of how many.
    out : tuple of DonorPart
        What came out, and what is not in it.
    is_described : bool
        Whether anybody wrote down how such cameras are put together.
    """

    donor: Donor
    kind: str
    query: str
    still: tuple[Part, ...]
    number: int
    of: int
    out: tuple[DonorPart, ...]
    is_described: bool
    form: TakeOutForm
    gone: StrikeOutForm
    places: tuple[str, ...]
    refused: str = ""


@require_http_methods(["GET", "HEAD", "POST"])
def donors(request: HttpRequest) -> HttpResponse:
    """All donors; or keep another."""
    ours = workshop()
    form = DonorForm(request.POST, now=ours) if request.method == "POST" else DonorForm(now=ours)
    if request.method == "POST" and form.is_valid():
        try:
            made = keep_donor(form.details, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Among the donors: {made}.")
            return go_to(request, reverse("donor", args=[made.pk]))
    lines = tuple(_line(one) for one in Donor.objects.select_related("job")[:MOST_LISTED])
    page = DonorsPage(lines, form)
    return render(request, "bench/donors.html", {"page": page}, status=CANNOT if form.errors else 200)


@require_safe
def donor(request: HttpRequest, pk: int) -> HttpResponse:
    """What is still in a donor, and what came out of it."""
    return _show(request, _donor(pk))


@require_POST
def out(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a part out, and lay it on the shelf."""
    known = _donor(pk)
    form = TakeOutForm(request.POST)
    if not form.is_valid():
        return _show(request, known, form=form, status=CANNOT)
    part = request.POST.get("part", "")
    name = request.POST.get("name", "").replace("\0", "").strip()[:120]
    construction = construction_of(known.family)
    if construction and part in construction.parts:
        name = construction.parts[part].name
    try:
        spare = take_out(known, form.details(known, part, name), by=who(request))
    except Refused as reason:
        return _show(request, known, form=form, refused=str(reason), status=CANNOT)
    where = f", in {spare.place}" if spare.place else ""
    messages.success(request, f"Taken out and on the shelf: {spare.name}{where}.")
    return go_to(request, reverse("donor", args=[pk]))


@require_POST
def not_in(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that a part is not in it, or that it is after all."""
    known = _donor(pk)
    try:
        if row := _row(known, request.POST.get("row", "")):
            is_in_it(row, by=who(request))
        else:
            reason = request.POST.get("reason", "").replace("\0", "")
            not_in_it(known, request.POST.get("part", ""), reason=reason, by=who(request))
    except Refused as refused:
        return _show(request, known, refused=str(refused), status=CANNOT)
    return go_to(request, reverse("donor", args=[pk]))


@require_POST
def gone(request: HttpRequest, pk: int) -> HttpResponse:
    """Let what is left of it go."""
    known = _donor(pk)
    form = StrikeOutForm(request.POST)
    if not form.is_valid():
        return _show(request, known, gone=form, status=CANNOT)
    try:
        let_donor_go(known, form.cleaned_data["reason"], by=who(request))
    except Refused as reason:
        return _show(request, known, refused=str(reason), status=CANNOT)
    messages.info(request, f"Let go: {known}. Spares that came out of it stay.")
    return go_to(request, reverse("donors"))


@require_POST
def from_job(request: HttpRequest, number: int) -> HttpResponse:
    """Put a job's camera among the donors."""
    job = job_numbered(number)
    try:
        made = donor_from(job, by=who(request))
    except Refused as reason:
        messages.error(request, str(reason))
        return go_to(request, reverse("job", args=[number]))
    return go_to(request, reverse("donor", args=[made.pk]))


def _donor(pk: int) -> Donor:
    return get_object_or_404(Donor.everything.select_related("job"), pk=pk)


def _row(known: Donor, key: str) -> DonorPart | None:
    number = whole_number(key)
    return DonorPart.objects.filter(donor=known, pk=number).first() if number else None


def _parts(known: Donor) -> int:
    construction = construction_of(known.family)
    return sum(1 for part in construction.parts.values() if part.ways) if construction else 0


def _line(known: Donor) -> DonorLine:
    return DonorLine(known, family(known.family).name, len(still_in(known)), _parts(known))


def _show(
    request: HttpRequest,
    known: Donor,
    *,
    form: TakeOutForm | None = None,
    gone: StrikeOutForm | None = None,
    refused: str = "",
    status: int = 200,
) -> HttpResponse:
    query = request.GET.get("q", "").replace("\0", "").strip()[:120]
    still = still_in(known)
    words = plain(query).split()
    page = DonorPage(
        donor=known,
        kind=family(known.family).name,
        query=query,
        still=tuple(
            part
            for part in still
            if all(word in plain(" ".join((part.name, part.id, *part.also))) for word in words)
        ),
        number=len(still),
        of=_parts(known),
        out=tuple(DonorPart.objects.filter(donor=known).select_related("spare")),
        is_described=construction_of(known.family) is not None,
        form=form or TakeOutForm(initial={"place": request.GET.get("place", "").replace("\0", "")[:120]}),
        gone=gone or StrikeOutForm(),
        places=places(),
        refused=refused,
    )
    live = is_live(request) and request.method == "GET"
    template = "bench/parts/_donor_parts.html" if live else "bench/donor.html"
    return render(request, template, {"page": page}, status=status)


urlpatterns = [
    path("shelf/donors/", donors, name="donors"),
    path("donor/<int:pk>/", donor, name="donor"),
    path("donor/<int:pk>/out/", out, name="donor_out"),
    path("donor/<int:pk>/not-in/", not_in, name="donor_not_in"),
    path("donor/<int:pk>/gone/", gone, name="donor_gone"),
    path("job/<int:number>/donor/", from_job, name="job_donor"),
]
