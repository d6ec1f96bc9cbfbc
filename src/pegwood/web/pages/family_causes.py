"""What the program believes of a family: its faults, its signs, and how they hang together."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from pegwood.anatomy.construction import Construction
from pegwood.book.families import construction_learned
from pegwood.book.weighing.about import causes_of
from pegwood.web.bench_request import is_live
from pegwood.web.causes.believed import Believed, GroupLine, believed, groups


@dataclass(frozen=True)
class FamilyCausesPage:
    """A family's mechanisms; `opened` is the one that is told in full."""

    family: Construction
    groups: tuple[GroupLine, ...]
    opened: Believed | None
    faults: int
    signs: int


@require_safe
@vary_on_headers("HX-Request")
def family_causes(request: HttpRequest, family: str) -> HttpResponse:
    """The mechanisms as folds; each is asked for when it is opened, or stands on the page by `?of=`."""
    construction = construction_learned(family)
    if construction is None:
        raise Http404(f"No construction is known of a family {family!r}. /strip/ lists them.")
    causes = causes_of(construction)
    known = groups(causes, construction)
    called = request.GET.get("of", "")
    opened = believed(causes, construction, called) if called in {one.called for one in known} else None
    if opened and is_live(request):
        return render(request, "bench/parts/_believed.html", {"told": opened})
    page = FamilyCausesPage(construction, known, opened, len(causes.faults), len(causes.signs))
    return render(request, "bench/family_causes.html", {"page": page})


urlpatterns = [path("families/<slug:family>/causes/", family_causes, name="family_causes")]
