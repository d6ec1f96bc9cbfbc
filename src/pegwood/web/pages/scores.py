"""How good the chances told were: against what was found, and against what was answered."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from pegwood.book.families import known
from pegwood.book.weighing.learnt import as_filed
from pegwood.book.weighing.scored import Scored, families_scored, predictions, scored
from pegwood.causes.scoring import Bin, Reliability, reliability
from pegwood.trade.numbers import figure
from pegwood.web import charts
from pegwood.web.pages.chart_library import library_url, scheme

#: Signs that are told of, those with most surprises.
MOST_SIGNS = 8
#: The chances are not right if the score lies beyond so many standard deviations of what it should be.
FAR_OFF = 2.0


@dataclass(frozen=True, kw_only=True)
class FamilyChoice:
    """A family whose chances can be looked at alone; the first, without an id, is all of them."""

    id: str
    name: str
    rulings: int
    is_chosen: bool


@dataclass(frozen=True, kw_only=True)
class BinLine:
    """A row of the table: about what was told, and how often it came true, in words."""

    span: str
    told: str
    came: str
    share: str
    interval: str
    agrees: bool


@dataclass(frozen=True, kw_only=True)
class SurpriseLine:
    """A sign that surprised: how often of how many answers, and how often would be usual."""

    asks: str
    surprises: int
    n: int
    usual: str


@dataclass(frozen=True, kw_only=True)
class ScoresPage:
    """All of it; `found` is None where nothing was ruled yet."""

    families: tuple[FamilyChoice, ...]
    chosen: str
    found: Scored | None
    bins: tuple[BinLine, ...] = ()
    surprises: tuple[SurpriseLine, ...] = ()
    check: str = ""

    height = charts.RELIABILITY_HEIGHT

    @property
    def chart_url(self) -> str:
        query = f"?{urlencode({'family': self.chosen})}" if self.chosen else ""
        return reverse("causes_scores_chart") + query

    @property
    def z(self) -> str:
        """How far the score lies from what it should be, in words."""
        assert self.found
        z = self.found.scores.z
        if math.isnan(z):
            return ""
        off = f"{abs(z):.1f} standard deviations {'above' if z >= 0 else 'below'}"
        if abs(z) < FAR_OFF:
            return f"The Brier score lies {off} what right chances would give: nothing unusual."
        return f"The Brier score lies {off} what right chances would give: they are not right."


@require_safe
def scores(request: HttpRequest) -> HttpResponse:
    """The page; `?family=` looks at one family alone."""
    family, choices = _chosen(request)
    found = scored(family)
    if found is None:
        return _show(request, ScoresPage(families=choices, chosen=family, found=None))
    names = _asked([family] if family else [one.id for one in choices if one.id])
    page = ScoresPage(
        families=choices,
        chosen=family,
        found=found,
        bins=tuple(map(_line, found.reliability.bins)),
        surprises=tuple(
            SurpriseLine(
                asks=names.get(one.sign, one.sign),
                surprises=one.surprises,
                n=one.n,
                usual=figure(one.expected, 2),
            )
            for one in found.check.worst[:MOST_SIGNS]
        ),
        check=found.check.told({sign: f"“{asks}”" for sign, asks in names.items()}),
    )
    return _show(request, page)


def _show(request: HttpRequest, page: ScoresPage) -> HttpResponse:
    return render(request, "bench/causes_scores.html", {"page": page, "library_url": library_url()})


def _chosen(request: HttpRequest) -> tuple[str, tuple[FamilyChoice, ...]]:
    family, known_here = request.GET.get("family", ""), known().constructions
    ruled = families_scored()
    if family and family not in ruled and family not in known_here:
        raise Http404("There is no such family.")
    names = {one: known_here[one].name if one in known_here else one for one in ruled}
    choices = (
        FamilyChoice(id="", name="All families", rulings=sum(ruled.values()), is_chosen=not family),
        *(
            FamilyChoice(id=one, name=name, rulings=ruled[one], is_chosen=one == family)
            for one, name in sorted(names.items(), key=lambda item: item[1].casefold())
        ),
    )
    return family, choices


def _asked(families: list[str]) -> Mapping[str, str]:
    """What signs ask, by id."""
    causes = [found for one in families if (found := as_filed(one))]
    return {sign.id: sign.asks for one in causes for sign in one.signs.values()}


def _line(one: Bin) -> BinLine:
    return BinLine(
        span=f"{100 * one.low:.0f} to {100 * one.high:.0f} %",
        told=f"{100 * one.told:.0f} %",
        came=f"{one.came} of {one.n}",
        share=f"{100 * one.share:.0f} %",
        interval=f"{100 * one.interval[0]:.0f} to {100 * one.interval[1]:.0f} %",
        agrees=one.agrees,
    )


@require_safe
def scores_chart(request: HttpRequest) -> HttpResponse:
    """What the reliability diagram is drawn from; with nothing ruled, the line alone."""
    family, _ = _chosen(request)
    told = predictions(family)
    return JsonResponse(charts.reliability(_charted(reliability(told)) if told else (), scheme(request)))


def _charted(found: Reliability) -> tuple[charts.Told, ...]:
    return tuple(
        charts.Told(
            middle=50 * (one.low + one.high),
            told=100 * one.told,
            came=100 * one.share,
            low=100 * one.interval[0],
            high=100 * one.interval[1],
            n=one.n,
            agrees=one.agrees,
        )
        for one in found.bins
    )


urlpatterns = [
    path("causes/scores/", scores, name="causes_scores"),
    path("causes/scores/chart.json", scores_chart, name="causes_scores_chart"),
]
