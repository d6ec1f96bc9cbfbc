"""The workshop's own page: its name on the papers, its money, its limits, its gear, its mark."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django.contrib import messages
from django.forms import BaseFormSet, formset_factory
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.book.benchwork import list_gear
from pegwood.book.calibrating import in_use, state_of
from pegwood.book.looking import keep_photo
from pegwood.book.models import Calibration, DiaryEntry, Gear, StoredFile
from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop, change_settings, workshop
from pegwood.instruments.shutter import LimitRow, default_limits
from pegwood.web.bench_request import CANNOT, who
from pegwood.web.diary_words import Change, changes
from pegwood.web.forms.workshop import GearForm, LimitForm, MarkForm, SettingsForm, as_marked
from pegwood.web.local import locale
from pegwood.web.pages.photos import jpeg

LATEST_ENTRIES = 12
OWN_DEEDS = ("changed settings", "listed gear", "calibrated gear", "struck out a calibration")
FAMILY_DEEDS = ("learned a family", "changed a family")
Limits: type[BaseFormSet[LimitForm]] = formset_factory(LimitForm, extra=1, can_delete=True, max_num=60)


@dataclass(frozen=True)
class LimitLine:
    """A limit that comes with Pegwood, in words."""

    kind: str
    age: str
    slowest: str
    fastest: str
    low: str
    high: str
    source: str
    mark: str


@dataclass(frozen=True)
class GearLine:
    """A piece of gear, and those of its calibrations in use that are due soon or overdue, each with which."""

    gear: Gear
    to_do: tuple[tuple[Calibration, str], ...]


@dataclass(frozen=True, kw_only=True)
class WorkshopPage:
    """All that the workshop has chosen, each part with its form."""

    form: SettingsForm
    zones: tuple[str, ...]
    limits: BaseFormSet[LimitForm]
    limits_refused: str
    defaults: tuple[LimitLine, ...]
    gear: tuple[GearLine, ...]
    gear_form: GearForm
    mark: str
    mark_form: MarkForm
    diary: tuple[tuple[DiaryEntry, list[Change]], ...]


@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    """Show the settings, or set them."""
    if request.method != "POST":
        return _show(request)
    form = SettingsForm(request.POST, now=workshop())
    if form.is_valid() and form.save(who(request)):
        messages.success(request, "The workshop's settings are written down.")
        return redirect("workshop")
    return _show(request, form=form, status=CANNOT)


@require_POST
def limits(request: HttpRequest) -> HttpResponse:
    """Set the workshop's own limits: all lines of the table at once."""
    given = Limits(request.POST, prefix="limits")
    refused = ""
    if given.is_valid():
        rows = [form.row() for form in given if form.has_changed() and not form.cleaned_data.get("DELETE")]
        try:
            change_settings({"limits": rows}, by=who(request))
        except Refused as reason:
            refused = str(reason)
        else:
            messages.success(request, "The limits are written down. They hold for readings from now on.")
            return redirect(reverse("workshop") + "#limits")
    return _show(request, given=given, limits_refused=refused, status=CANNOT)


@require_POST
def gear(request: HttpRequest) -> HttpResponse:
    """Enter something the workshop measures with, or when it was last checked."""
    form = GearForm(request.POST)
    if form.is_valid():
        try:
            listed = list_gear(**form.cleaned_data, by=who(request))
        except Refused as reason:
            form.add_error(None, str(reason))
        else:
            messages.success(request, f"Listed: {listed}.")
            return redirect(reverse("workshop") + "#gear")
    return _show(request, gear_form=form, status=CANNOT)


@require_POST
def mark(request: HttpRequest) -> HttpResponse:
    """Take the workshop's mark, or take it off the papers again."""
    if "remove" in request.POST:
        change_settings({"mark": ""}, by=who(request))
        return redirect(reverse("workshop") + "#mark")
    form = MarkForm(request.POST, request.FILES)
    if form.is_valid():
        picture = form.cleaned_data["picture"]
        try:
            kept = keep_photo(picture, picture.name)
            change_settings({"mark": kept.sha256}, by=who(request))
        except Refused as reason:
            form.add_error("picture", str(reason))
        else:
            messages.success(request, "The mark is kept. It stands on papers made from now on.")
            return redirect(reverse("workshop") + "#mark")
    return _show(request, mark_form=form, status=CANNOT)


@require_safe
def mark_picture(request: HttpRequest, sha256: str) -> HttpResponse:
    """The workshop's mark, small; its address changes with it."""
    kept = StoredFile.objects.filter(sha256=sha256).first()
    if kept is None or sha256 != request.workshop.mark:  # type: ignore[attr-defined]
        raise Http404("The workshop has no mark.")
    return jpeg(kept, 480)


def _show(
    request: HttpRequest,
    *,
    form: SettingsForm | None = None,
    given: BaseFormSet[LimitForm] | None = None,
    limits_refused: str = "",
    gear_form: GearForm | None = None,
    mark_form: MarkForm | None = None,
    status: int = 200,
) -> HttpResponse:
    now = workshop()
    latest = DiaryEntry.objects.filter(job=None, what__in=(*OWN_DEEDS, *FAMILY_DEEDS)).order_by("-at", "-pk")[
        :LATEST_ENTRIES
    ]
    page = WorkshopPage(
        form=form or SettingsForm(now=now),
        zones=_zones(),
        limits=given if given is not None else Limits(prefix="limits", initial=_typed_limits(now)),
        limits_refused=limits_refused,
        defaults=tuple(_line(row) for row in default_limits()),
        gear=tuple(_gear_line(one) for one in Gear.objects.prefetch_related("calibrations")),
        gear_form=gear_form or GearForm(),
        mark=now.mark,
        mark_form=mark_form or MarkForm(),
        diary=tuple((one, changes(one.old, one.new, locale(), now.currency)) for one in latest),
    )
    return render(request, "bench/workshop.html", {"page": page}, status=status)


def _gear_line(one: Gear) -> GearLine:
    today = timezone.localdate()
    states = ((known, state_of(known, today)) for known in in_use(one))
    return GearLine(one, tuple((known, state) for known, state in states if state != "good"))


@cache
def _zones() -> tuple[str, ...]:
    return tuple(sorted(available_timezones()))


def _typed_limits(now: Workshop) -> list[dict[str, Any]]:
    rows = []
    for row in now.limits:
        rows.append({**row, "slowest": as_marked(row["slowest_s"]), "fastest": as_marked(row["fastest_s"])})
    return rows


def _line(row: LimitRow) -> LimitLine:
    unit = "EV" if row.unit == "ev" else "%"
    low, high = (
        "open" if side is None else f"{side:+.2g} {unit}".replace("-", "−") for side in (row.low, row.high)
    )
    return LimitLine(
        kind=row.kind,
        age=row.age,
        slowest=as_marked(row.slowest_s),
        fastest=as_marked(row.fastest_s),
        low=low,
        high=high,
        source=row.source,
        mark=row.mark,
    )


urlpatterns = [
    path("workshop/", settings, name="workshop"),
    path("workshop/limits/", limits, name="workshop_limits"),
    path("workshop/gear/", gear, name="workshop_gear"),
    path("workshop/mark/", mark, name="workshop_mark"),
    path("workshop/mark-<slug:sha256>.jpg", mark_picture, name="workshop_mark_picture"),
]
