"""A part of a family of the workshop's own: looked over, changed, added, taken out."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.learning.edited import own_parts
from pegwood.anatomy.parts import Part
from pegwood.book.family_files import FamilyFile, change_part, take_out_part
from pegwood.book.family_learning import taught
from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import tables
from pegwood.trade.materials import MATERIALS
from pegwood.web.bench_request import CANNOT, go_to, who
from pegwood.web.forms.family import PartForm
from pegwood.web.pages.families import file_named


@dataclass(frozen=True, kw_only=True)
class PartPage:
    """A part with its form; `next` is the one after it in the file, `part` none for a new one."""

    file: FamilyFile
    family: Construction
    part: Part | None
    number: int
    next: Part | None
    form: PartForm
    names: tuple[str, ...]
    materials: tuple[str, ...]
    refused: str = ""


@require_http_methods(["GET", "HEAD", "POST"])
def part(request: HttpRequest, stem: str, part: str) -> HttpResponse:
    """Change a part."""
    file = file_named(stem)
    if file.construction is None:
        return redirect("family", stem)
    found = _own(file.construction, part)
    return _page(request, file, file.construction, found)


@require_http_methods(["GET", "HEAD", "POST"])
def new_part(request: HttpRequest, stem: str) -> HttpResponse:
    """Add a part."""
    file = file_named(stem)
    if file.construction is None:
        return redirect("family", stem)
    return _page(request, file, file.construction, None)


@require_POST
def take_out(request: HttpRequest, stem: str, part: str) -> HttpResponse:
    """Take a part out; what waited for it waits for what it waited for."""
    file = file_named(stem)
    if file.construction is None:
        return redirect("family", stem)
    found = _own(file.construction, part)
    try:
        take_out_part(stem, part, seen=request.GET.get("seen", ""), by=who(request))
    except Refused as reason:
        return _page(request, file, file.construction, found, refused=str(reason))
    messages.success(
        request, f"{found.name} is out of the family. It stays out when more jobs are learned from."
    )
    return go_to(request, reverse("family", args=[stem]))


def _own(family: Construction, part: str) -> Part:
    found = next((one for one in own_parts(family) if one.id == part), None)
    if found is None:
        raise Http404(f"{family.name} has no part {part!r} of its own.")
    return found


def _page(
    request: HttpRequest, file: FamilyFile, family: Construction, part: Part | None, *, refused: str = ""
) -> HttpResponse:
    evidence = taught(file).evidence
    is_sent = request.method == "POST" and not refused
    form = PartForm(request.POST if is_sent else None, family=family, part=part, evidence=evidence)
    if is_sent:
        if form.is_valid():
            try:
                change_part(file.stem, form.edit, seen=request.GET.get("seen", ""), by=who(request))
            except Refused as reason:
                refused = str(reason)
            else:
                return _written(request, file, family, part, form)
        else:
            refused = "Look again at what is marked."
    mine = own_parts(family)
    number = mine.index(part) + 1 if part else len(mine) + 1
    page = PartPage(
        file=file,
        family=family,
        part=part,
        number=number,
        next=mine[number] if number < len(mine) else None,
        form=form,
        names=tuple(one.name for one in family.parts.values()),
        materials=tuple(one.name for one in tables()[0].rows(MATERIALS).values()),
        refused=refused,
    )
    return render(request, "bench/family_part.html", {"page": page}, status=CANNOT if refused else 200)


def _written(
    request: HttpRequest, file: FamilyFile, family: Construction, part: Part | None, form: PartForm
) -> HttpResponse:
    messages.success(request, f"{form.edit.name} is written down.")
    mine = own_parts(family)
    ahead = mine[mine.index(part) + 1 :] if part else ()
    if "next" in request.POST and ahead:
        return go_to(request, reverse("family_part", args=[file.stem, ahead[0].id]))
    return go_to(request, reverse("family", args=[file.stem]))


urlpatterns = [
    path("families/<str:stem>/new-part/", new_part, name="family_new_part"),
    path("families/<str:stem>/part/<str:part>/", part, name="family_part"),
    path("families/<str:stem>/part/<str:part>/take-out/", take_out, name="family_take_out"),
]
