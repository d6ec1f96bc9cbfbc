"""How kinds of cameras come apart: the families, and the way in to parts of one. No job is needed."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from pegwood.anatomy.construction import Construction
from pegwood.book.families import known
from pegwood.book.stripping.learned import learned_family
from pegwood.book.trade_tables import tables
from pegwood.web.bench_request import is_live
from pegwood.web.strip.asked import QueryLinks, asked_from, coverings
from pegwood.web.strip.parts import parts_shown
from pegwood.web.strip.way_in import FIRST, WayIn, way_in


@dataclass(frozen=True)
class FamilyLine:
    """A family in the list: its id, its name, how many parts it has, whether it is the workshop's own."""

    id: str
    name: str
    parts: int
    own: bool


@dataclass(frozen=True)
class WayInPage:
    """
    The way in to parts of a family.

    `typed` is the name that was looked for and could not be taken.
    """

    family: Construction
    way: WayIn
    typed: str


@require_safe
def families(request: HttpRequest) -> HttpResponse:
    """The families whose construction is known."""
    all_known = known()
    lines = [
        FamilyLine(one.id, one.name, len(one.parts), one.ground.own)
        for one in all_known.constructions.values()
    ]
    context = {"families": lines, "slips": all_known.slips, "first": FIRST}
    return render(request, "bench/families.html", context)


@require_safe
def way_in_page(request: HttpRequest, family: str) -> HttpResponse:
    """The way in, all of it asked for in the address."""
    construction = _known(family)
    links = QueryLinks(reverse("way_in", args=[family]), coverings(construction))
    asked, amiss = asked_from(request.GET, construction)
    typed = request.GET.get("find", "").strip()
    if typed and not amiss:
        return HttpResponseRedirect(links.to(asked))  # an address to keep, without the search in it
    page = WayInPage(
        family=construction,
        way=way_in(construction, asked, links, tables()[0], amiss),
        typed=typed,
    )
    return render(request, "bench/way_in.html", {"page": page, "way": page.way})


@require_safe
@vary_on_headers("HX-Request")
def way_in_parts(request: HttpRequest, family: str) -> HttpResponse:
    """A family's parts: as a part for the fold on its page, or as a page of its own where no script runs."""
    construction = _known(family)
    parts = parts_shown(construction, tables()[0])
    template = "bench/parts/_way_parts.html" if is_live(request) else "bench/way_in_parts.html"
    return render(request, template, {"family": construction, "parts": parts, "first": FIRST})


def _known(family: str) -> Construction:
    found = known().constructions.get(family)
    if found is None:
        raise Http404(f"No construction is known of a family {family!r}. /strip/ lists them.")
    return learned_family(found).construction


urlpatterns = [
    path("strip/", families, name="families"),
    path("strip/<slug:family>/", way_in_page, name="way_in"),
    path("strip/<slug:family>/parts/", way_in_parts, name="way_in_parts"),
]
