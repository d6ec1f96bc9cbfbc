"""Looking things up, as it is typed."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from pegwood.book.models import Job, Spare
from pegwood.book.search import LONGEST_QUERY, Hit, look_up
from pegwood.book.spares.finding import find_spares

MOST_HITS = 40
#: The shelf has a page of its own to look in.
MOST_SPARES = 6


@dataclass(frozen=True)
class FindPage:
    """What was looked for and what was found. `exact` is the job whose number was typed."""

    query: str
    hits: tuple[Hit, ...]
    exact: Job | None
    is_full: bool
    spares: tuple[Spare, ...] = ()


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """What holds every word typed; to htmx only the list, so that it follows the typing."""
    page = find_page(request.GET.get("q", ""))
    live = getattr(request, "htmx", False)
    template = "bench/parts/_found.html" if live else "bench/find.html"
    return render(request, template, {"page": page, "query": page.query})


def find_page(query: str) -> FindPage:
    """What is found for a query."""
    query = query.replace("\0", "").strip()[:LONGEST_QUERY]
    exact = None
    if query.isdecimal() and len(query) < 9:
        exact = Job.objects.select_related("owner", "camera").filter(number=int(query)).first()
    found = [hit for hit in look_up(query, MOST_HITS) if exact is None or hit.job != exact]
    return FindPage(
        query=query,
        hits=tuple(found),
        exact=exact,
        is_full=len(found) >= MOST_HITS,
        spares=tuple(find_spares(query, limit=MOST_SPARES)) if query and exact is None else (),
    )


urlpatterns = [path("find/", find, name="find")]
