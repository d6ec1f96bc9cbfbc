"""The shelf: what lies where, and putting something on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_safe

from pegwood.anatomy.parts import Part
from pegwood.book.families import construction_of, family
from pegwood.book.models import Donor, Spare
from pegwood.book.refusal import Refused
from pegwood.book.spares.finding import LONGEST_QUERY, find_spares
from pegwood.book.spares.putting import put_on_shelf
from pegwood.book.workshop import workshop
from pegwood.web.bench_request import CANNOT, go_to, is_live, who
from pegwood.web.forms.shelf import MOST_BY_TAP, PutForm

MOST_SHOWN = 60
MOST_PLACES = 12


@dataclass(frozen=True)
class ShelfLine:
    """A spare in the list, with `lies`, `held` and `free`, and its kind of camera in words."""

    spare: Any
    kind: str


@dataclass(frozen=True)
class ShelfPage:
    """What was looked for on the shelf and what was found; `donors` is how many there are."""

    query: str
    everything: bool
    lines: tuple[ShelfLine, ...]
    is_full: bool
    donors: int


@dataclass(frozen=True)
class PutPage:
    """Something new for the shelf: its form, the parts to tap, the places there are."""

    form: PutForm
    parts: tuple[Part, ...]
    places: tuple[str, ...]
    counts: tuple[int, ...] = tuple(range(1, MOST_BY_TAP + 1))


@require_safe
def shelf(request: HttpRequest) -> HttpResponse:
    """What lies on the shelf and holds every word typed; to htmx only the list: it follows the typing."""
    query = request.GET.get("q", "").replace("\0", "").strip()[:LONGEST_QUERY]
    everything = "all" in request.GET
    found = list(find_spares(query, with_none=everything, limit=MOST_SHOWN + 1))
    page = ShelfPage(
        query=query,
        everything=everything,
        lines=tuple(ShelfLine(one, kind_of(one)) for one in found[:MOST_SHOWN]),
        is_full=len(found) > MOST_SHOWN,
        donors=Donor.objects.count(),
    )
    template = "bench/parts/_shelf_list.html" if is_live(request) else "bench/shelf.html"
    return render(request, template, {"page": page})


def kind_of(spare: Spare) -> str:
    """The kind of camera a spare is of, in words; empty for none."""
    return family(spare.family).name if spare.family else ""


@require_http_methods(["GET", "HEAD", "POST"])
def put(request: HttpRequest) -> HttpResponse:
    """Put something on the shelf that was not there before."""
    ours = workshop()
    if request.method != "POST":
        asked = {name: request.GET.get(name, "") for name in ("family", "pick", "place")}
        begun = {name: said.replace("\0", "")[:120] for name, said in asked.items()}
        form = PutForm(initial={"count": 1, **begun}, now=ours)
        return _show_put(request, form)
    form = PutForm(_tapped(request), now=ours)
    if form.is_valid():
        try:
            count = form.cleaned_data["count"]
            spare = put_on_shelf(form.details, 1 if count is None else count, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            where = f", in {spare.place}" if spare.place else ""
            messages.success(request, f"On the shelf: {spare.name}{where}.")
            return go_to(request, reverse("spare", args=[spare.pk]))
    return _show_put(request, form, status=CANNOT)


def _tapped(request: HttpRequest) -> QueryDict:
    """A tap on a number counts more than what may stand in the field."""
    typed: QueryDict = request.POST
    if not typed.get("tapped"):
        return typed
    typed = typed.copy()
    typed["count"] = str(typed["tapped"])
    return typed


def _show_put(request: HttpRequest, form: PutForm, *, status: int = 200) -> HttpResponse:
    construction = construction_of(str(form["family"].value() or ""))
    parts = tuple(one for one in construction.parts.values() if one.ways) if construction else ()
    page = PutPage(form, parts, places())
    live = is_live(request) and request.method == "GET"
    template = "bench/parts/_put_parts.html" if live else "bench/shelf_put.html"
    return render(request, template, {"page": page, "form": form}, status=status)


def places() -> tuple[str, ...]:
    """Where something was laid of late."""
    named = Spare.objects.exclude(place="").order_by("-pk").values_list("place", flat=True)[:200]
    return tuple(dict.fromkeys(named))[:MOST_PLACES]


urlpatterns = [
    path("shelf/", shelf, name="shelf"),
    path("shelf/put/", put, name="shelf_put"),
]
