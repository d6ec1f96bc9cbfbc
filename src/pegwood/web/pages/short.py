"""The shopping list: what to look for, and the price worth paying."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from pegwood.book.refusal import Refused
from pegwood.book.spares.putting import say_worth
from pegwood.book.spares.short import ShortPart, short_parts
from pegwood.book.workshop import workshop
from pegwood.web.bench_request import CANNOT, go_to, is_live, who
from pegwood.web.forms.shelf import WorthForm

MOST_SHOWN = 40


@dataclass(frozen=True)
class ShortLine:
    """A part to look for, with the form that says what having one is worth."""

    part: ShortPart
    form: WorthForm


@dataclass(frozen=True, kw_only=True)
class ShortPage:
    """The list; `later` where it is still to be asked for, `more` is how many are not shown."""

    lines: tuple[ShortLine, ...] = ()
    more: int = 0
    later: bool = False
    refused: str = ""


@require_safe
def short(request: HttpRequest) -> HttpResponse:
    """What to look for; it takes a while where many jobs are open, so the page comes first."""
    later = not is_live(request) and "now" not in request.GET
    return _show(request, ShortPage(later=True) if later else _page())


def _page(wrong: WorthForm | None = None, of: tuple[str, str] = ("", ""), refused: str = "") -> ShortPage:
    ours = workshop()
    found = short_parts(timezone.now())
    lines = []
    for n, one in enumerate(found[:MOST_SHOWN]):
        is_wrong = wrong is not None and (one.family, one.part) == of
        initial = {"worth": one.said.figure(ours.locale) if one.said else ""}
        form = wrong if wrong and is_wrong else WorthForm(initial=initial, now=ours, auto_id=f"id_%s_{n}")
        lines.append(ShortLine(one, form))
    return ShortPage(lines=tuple(lines), more=max(0, len(found) - MOST_SHOWN), refused=refused)


def _show(request: HttpRequest, page: ShortPage, *, status: int = 200) -> HttpResponse:
    template = "bench/parts/_short_list.html" if is_live(request) else "bench/shelf_short.html"
    return render(request, template, {"page": page, "ahead": workshop().last_buy_years}, status=status)


@require_POST
def worth(request: HttpRequest) -> HttpResponse:
    """Say what having a part is worth when a job needs it."""
    of = request.POST.get("family", ""), request.POST.get("part", "")
    form = WorthForm(request.POST, now=workshop(), auto_id="id_%s_said")
    if form.is_valid():
        said = form.cleaned_data["worth"]
        try:
            if said is None:
                raise Refused("What is having one worth to you when a job needs it? Write the sum.")
            say_worth(*of, said, by=who(request))
        except Refused as reason:
            form.add_error("worth", str(reason))
        else:
            if is_live(request):
                return _show(request, _page())
            messages.success(request, "Written down.")
            return go_to(request, reverse("shelf_short"))
    first = next(iter(form.errors.values()))[0]
    return _show(request, _page(form, of, str(first)), status=CANNOT)


urlpatterns = [
    path("shelf/short/", short, name="shelf_short"),
    path("shelf/short/worth/", worth, name="shelf_worth"),
]
