"""Families: those that came, and the workshop's own to be looked at, handed on, and changed as a file."""

from __future__ import annotations

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_safe

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.learning.edited import own_parts
from pegwood.anatomy.parts import Part
from pegwood.book.families import known
from pegwood.book.family_files import FamilyFile, family_file, family_files, rename, save
from pegwood.book.family_learning import Taught, learned_from, taught
from pegwood.book.refusal import Refused
from pegwood.book.stripping.learned import learned_family
from pegwood.web.bench_request import CANNOT, go_to, who
from pegwood.web.forms.family import FamilyNameForm

TOML = "application/toml"  # registered with IANA, as TOML 1.0 has it


@dataclass(frozen=True)
class FamilyLine:
    """A family in the list: with its file and the jobs it was learned from where it is the workshop's own."""

    family: Construction
    file: FamilyFile | None
    jobs: tuple[int, ...]


@dataclass(frozen=True)
class FamiliesPage:
    """All families; `broken` files are left aside, `replaced` tells what stands in place of what came."""

    own: tuple[FamilyLine, ...]
    came: tuple[FamilyLine, ...]
    broken: tuple[FamilyFile, ...]
    slips: tuple[str, ...]
    replaced: tuple[str, ...]


@dataclass(frozen=True)
class PartLine:
    """A part in the table: what must be off before it by name, and what nobody has said of it yet."""

    part: Part
    after: tuple[str, ...]
    minutes: str


@dataclass(frozen=True)
class FamilyPage:
    """A family of the workshop's own; `minutes` says what its minutes rest on."""

    file: FamilyFile
    family: Construction
    parts: tuple[PartLine, ...]
    more: int
    taught: Taught
    minutes: str
    form: FamilyNameForm


@dataclass(frozen=True)
class AsFilePage:
    """A family's file as text; `typed` is what stands in the field, `refused` why it was not taken."""

    file: FamilyFile
    typed: str
    refused: str


def file_named(stem: str) -> FamilyFile:
    """The family's file of that name, or a plain 404."""
    file = family_file(stem)
    if file is None:
        raise Http404(f"There is no file families/{stem}.toml in the workshop's folder.")
    return file


@require_safe
def families(request: HttpRequest) -> HttpResponse:
    """Every family, own ones marked, and what is amiss with files."""
    files = family_files()
    own = {one.construction.id: one for one in files if one.construction}
    lines = [
        FamilyLine(
            one,
            own.get(one.id),
            learned_from(one.id) if one.id in own else (),
        )
        for one in known().constructions.values()
    ]
    broken = tuple(one for one in files if one.construction is None)
    page = FamiliesPage(
        own=tuple(one for one in lines if one.file),
        came=tuple(one for one in lines if not one.file),
        broken=broken,
        slips=tuple(one for one in known().slips if not any(one.startswith(file.told) for file in broken)),
        replaced=known().replaced,
    )
    return render(request, "bench/own_families.html", {"page": page})


@require_http_methods(["GET", "HEAD", "POST"])
def family(request: HttpRequest, stem: str) -> HttpResponse:
    """A family of the workshop's own, part by part; or its file, where that is broken. A form renames it."""
    file = file_named(stem)
    if file.construction is None:
        return _show_file(request, AsFilePage(file, file.text, ""))
    if request.method != "POST":
        return _show(
            request, file, file.construction, FamilyNameForm(initial={"name": file.construction.name})
        )
    form = FamilyNameForm(request.POST)
    if form.is_valid():
        try:
            found = rename(stem, form.cleaned_data["name"], seen=request.GET.get("seen", ""), by=who(request))
        except Refused as reason:
            form.add_error(None, str(reason))
        else:
            messages.success(request, f"It is called {found.name} now.")
            return go_to(request, reverse("family", args=[stem]))
    return _show(request, file, file.construction, form, status=CANNOT)


def _show(
    request: HttpRequest, file: FamilyFile, found: Construction, form: FamilyNameForm, status: int = 200
) -> HttpResponse:
    learned = learned_family(found)
    mine = own_parts(found)
    page = FamilyPage(
        file=file,
        family=found,
        parts=tuple(_line(learned.construction, one) for one in mine),
        more=len(found.parts) - len(mine),
        taught=taught(file),
        minutes=learned.minutes.says,
        form=form,
    )
    return render(request, "bench/family.html", {"page": page}, status=status)


def _line(learned: Construction, part: Part) -> PartLine:
    way = learned.parts[part.id].ways[0] if part.ways else None
    after = dict.fromkeys(one for each in part.ways for one in each.after)
    return PartLine(
        part=part,
        after=tuple(learned.parts[one].name for one in after),
        minutes=way.minutes_from if way else "",
    )


@require_http_methods(["GET", "HEAD", "POST"])
def as_file(request: HttpRequest, stem: str) -> HttpResponse:
    """The whole file as text, for whoever wants it so; checked before it is taken."""
    file = file_named(stem)
    if request.method != "POST":
        return _show_file(request, AsFilePage(file, file.text, ""))
    typed = request.POST.get("text", "")
    try:
        found = save(stem, typed, seen=request.GET.get("seen", ""), by=who(request))
    except Refused as reason:
        return _show_file(request, AsFilePage(file, typed, str(reason)), status=CANNOT)
    messages.success(request, f"{file.told} is written: {found.name}, {len(found.parts)} parts.")
    return go_to(request, reverse("family", args=[stem]))


def _show_file(request: HttpRequest, page: AsFilePage, status: int = 200) -> HttpResponse:
    text = forms.Textarea(attrs={"rows": 30, "spellcheck": "false", "class": "as-file"})
    field = text.render("text", page.typed, attrs={"id": "text"})
    return render(request, "bench/family_file.html", {"page": page, "field": field}, status=status)


@require_safe
def export(request: HttpRequest, stem: str) -> HttpResponse:  # noqa: ARG001
    """The file to hand on, as it is."""
    file = file_named(stem)
    answer = HttpResponse(file.text.encode(), content_type=TOML)
    answer.headers["Content-Disposition"] = f'attachment; filename="{_plain_name(stem)}.toml"'
    return answer


def _plain_name(stem: str) -> str:
    """A file's name that every system takes."""
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_ ") else "-" for c in stem) or "family"


urlpatterns = [
    path("families/", families, name="own_families"),
    path("families/<str:stem>/", family, name="family"),
    path("families/<str:stem>/as-file/", as_file, name="family_file"),
    path("families/<str:stem>/export/", export, name="family_export"),
]
