"""Firings laid over one another, and the picture of the curtains: what is chosen, and what is drawn of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pegwood.book.arrangement import Arrangement
from pegwood.book.models import Measurement
from pegwood.web import charts, readouts
from pegwood.web.local import locale
from pegwood.web.pages.chart_library import scheme

#: Firings of one reading that are offered.
OFFERED = 60
FOUND, LEFT = Measurement.Phase.FOUND, Measurement.Phase.LEFT


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A firing to tap: what is sent for it, and what stands on it."""

    value: str
    label: str
    is_chosen: bool


@dataclass(frozen=True, kw_only=True)
class Choices:
    """The firings of one reading."""

    title: str
    firings: tuple[Choice, ...]


@dataclass(frozen=True, kw_only=True)
class Laid:
    """A chosen firing: its line, its name, its figures."""

    curve: charts.Laid
    name: str
    firing: readouts.Firing

    @property
    def dashes(self) -> str:
        return " ".join(map(str, self.curve.line.dashes)) or "none"


@dataclass(frozen=True, kw_only=True)
class LaidOver:
    """All of it: what may be chosen, what is, how it is aligned, and where the chart comes from."""

    choices: tuple[Choices, ...]
    laid: tuple[Laid, ...]
    too_many: int
    alignment: charts.Alignment
    chart_url: str

    height = charts.OVERLAY_HEIGHT
    most = len(charts.LINES)

    @property
    def not_aligned(self) -> tuple[str, ...]:
        """Firings in which the moment all are laid at was not seen."""
        return tuple(one.name for one in self.laid if one.curve.origin_s(self.alignment) is None)

    @property
    def can_be_drawn(self) -> bool:
        return len(self.not_aligned) < len(self.laid)


@dataclass(frozen=True, kw_only=True)
class _Offer:
    """A firing that can be drawn."""

    key: str
    group: str
    name: str
    firing: readouts.Firing
    curve: dict[str, Any]


def curve_of(measurement: Measurement, number: int) -> dict[str, Any] | None:
    """The light curve of a firing, counted from 1; None where there is none that could be drawn."""
    curves = measurement.curves or []
    if not 1 <= number <= len(curves):
        return None
    curve: dict[str, Any] = curves[number - 1]
    return curve if len(curve["t_s"]) > 1 and curve["t_s"][-1] > curve["t_s"][0] else None


def laid_over(request: HttpRequest, measurement: Measurement) -> LaidOver | None:
    """What lies over what on the page of a reading; None where nothing can be drawn."""
    offers = {offer.key: offer for one in _readings(measurement) for offer in _offers(one, measurement)}
    if not offers:
        return None
    asked = [key for key in dict.fromkeys(request.GET.getlist("firing")) if key in offers]
    chosen = asked[: len(charts.LINES)] or _usual(list(offers.values()))
    alignment: charts.Alignment = "half" if request.GET.get("align") == "half" else "first"
    groups = dict.fromkeys(offer.group for offer in offers.values())
    query = urlencode([*(("firing", key) for key in chosen), ("align", alignment)])
    return LaidOver(
        choices=tuple(
            Choices(
                title=group,
                firings=tuple(
                    Choice(value=key, label=_label(offer.firing), is_chosen=key in chosen)
                    for key, offer in offers.items()
                    if offer.group == group
                ),
            )
            for group in groups
        ),
        laid=tuple(
            Laid(
                curve=charts.Laid(curve=offers[key].curve, line=line),
                name=offers[key].name,
                firing=offers[key].firing,
            )
            for key, line in zip(chosen, charts.LINES, strict=False)
        ),
        too_many=max(0, len(asked) - len(charts.LINES)),
        alignment=alignment,
        chart_url=f"{reverse('laid_over_chart', args=[measurement.pk])}?{query}",
    )


def _readings(measurement: Measurement) -> list[Measurement]:
    """The reading itself and what else stands on the card of that speed; as found before as left."""
    if measurement.progress != Measurement.Progress.READ:
        return []
    others = measurement.job.measurements.filter(
        instrument=measurement.instrument, marked=measurement.marked, set_aside=False
    )
    beside = list(others.exclude(phase="").exclude(pk=measurement.pk))
    order = {FOUND: 0, "": 1, LEFT: 2}
    return sorted([measurement, *beside], key=lambda m: order.get(m.phase, 1))


def _offers(one: Measurement, shown: Measurement) -> Iterator[_Offer]:
    is_own = one.pk == shown.pk
    group = one.phase or "this reading"
    for firing in readouts.firings(one.result or {"shots": []}, locale())[:OFFERED]:
        curve = curve_of(one, firing.number)
        if curve is not None:
            yield _Offer(
                key=str(firing.number) if is_own else f"{one.pk}-{firing.number}",
                group=group,
                name=f"{_label(firing)}, {group}" if one.phase or not is_own else _label(firing),
                firing=firing,
                curve=curve,
            )


def _label(firing: readouts.Firing) -> str:
    return f"{firing.number} at {firing.seen_by}" if firing.seen_by else str(firing.number)


def _usual(offers: list[_Offer]) -> list[str]:
    """Of two readings the first firing each, as found and as left; of one its first and its last."""
    firsts = {offer.group: offer.key for offer in reversed(offers)}
    if len(firsts) > 1:
        return [firsts[group] for group in dict.fromkeys(offer.group for offer in offers)]
    return list(dict.fromkeys((offers[0].key, offers[-1].key)))


def _read(pk: int) -> Measurement:
    found = Measurement.objects.select_related("job").filter(pk=pk, instrument="shutter").first()
    if found is None:
        raise Http404("no such reading")
    return found


@require_safe
def laid_over_chart(request: HttpRequest, pk: int) -> HttpResponse:
    """What the chart of the chosen firings is drawn from."""
    shown = laid_over(request, _read(pk))
    if shown is None or not shown.can_be_drawn:
        return HttpResponse(status=204)
    curves = [one.curve for one in shown.laid]
    return JsonResponse(charts.overlay(curves, shown.alignment, scheme(request)))


@require_safe
def curtains_chart(request: HttpRequest, pk: int) -> HttpResponse:
    """What the picture of both curtains is drawn from; nothing where they were not timed."""
    measurement = _read(pk)
    found = (measurement.result or {}).get("curtains") or {}
    if not charts.can_draw_curtains(found):
        return HttpResponse(status=204)
    gate_m = Arrangement.of(measurement.settings).gate_m
    return JsonResponse(charts.curtains(found, gate_m, scheme(request)))


urlpatterns = [
    path("reading/<int:pk>/laid-over.json", laid_over_chart, name="laid_over_chart"),
    path("reading/<int:pk>/curtains.json", curtains_chart, name="curtains_chart"),
]
