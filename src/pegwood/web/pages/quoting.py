"""What a job may cost: its figures, what drives and narrows them, parts, what is sensible; and the alarm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from pegwood.book.families import construction_of
from pegwood.book.models import Job
from pegwood.book.quoting.alarm import Alarm, alarm_of, covers_of, is_watched, passed
from pegwood.book.quoting.lines import why_dearer
from pegwood.book.quoting.parts import say_cost
from pegwood.book.quoting.quoted import Basis
from pegwood.book.quoting.worths import say_worths, worths_of
from pegwood.book.refusal import Refused
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.book.workshop import workshop
from pegwood.pricing.quote import Beyond, Quote
from pegwood.web import charts
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.quoting import CostForm, WorthForm
from pegwood.web.pages.chart_library import library_url, scheme
from pegwood.web.pages.price import why_closed
from pegwood.web.quoting.lately import quoted
from pegwood.web.quoting.shown import FigureShown, QuoteShown, figures, may_stay, parts, shown


@dataclass(frozen=True)
class WayOut:
    """What to do where nothing can be reckoned."""

    says: str
    address: str


def _way_out(job: Job) -> WayOut:
    shop = workshop()
    if not shop.hourly_rate or shop.currency != job.currency:
        return WayOut("Set the hourly rate", reverse("workshop"))
    if construction_of(strip_down_of(job).family) is None:
        return WayOut("Write the price by hand", reverse("price", args=[job.number]))
    return WayOut("Weigh what is wrong", reverse("causes", args=[job.number]))


def _refused(job: Job, reason: Refused) -> QuotePage:
    return QuotePage(job=job, refused=str(reason), way_out=_way_out(job))


def _alarm(job: Job) -> Alarm | None:
    """How a job stands to its agreed sum, by what the told price covered."""
    if not is_watched(job):
        return None
    try:
        return alarm_of(job, *quoted(job, covers_of(job)))
    except Refused:
        return passed(job)


@dataclass(frozen=True, kw_only=True)
class QuotePage:
    """
    The page; all but the job is empty where nothing can be reckoned, and `refused` says why.

    Attributes
    ----------
    may_price : bool
        Whether a price can be told now.
    alarm : Alarm or None
    """

    job: Job
    refused: str = ""
    way_out: WayOut | None = None
    shown: QuoteShown | None = None
    may_price: bool = False
    alarm: Alarm | None = None
    #: Whether the price of all there may be is shown, in place of what is likely.
    is_whole: bool = False
    cost: CostForm | None = None
    worth: WorthForm | None = None

    height = charts.SPREAD_HEIGHT

    @property
    def is_thin(self) -> bool:
        """Whether a price could be told but nothing is likely enough yet to stand in it."""
        fresh = self.may_price and self.job.agreed_up_to is None
        return fresh and not self.is_whole and self.shown is not None and not self.shown.covered

    @property
    def is_to_be_told(self) -> bool:
        """Whether a price is the next thing: none was agreed to, or the one that was will not hold."""
        rings = self.alarm is not None and self.alarm.rings
        return self.may_price and (self.job.agreed_up_to is None or rings)


def _cost_form(job: Job, basis: Basis, found: Quote, typed: Any = None) -> CostForm:
    shop = basis.shop
    named = {one.part: one.name for one in parts(basis, found)}
    initial = next(({"part": one.part} for one in parts(basis, found) if one.low is None), {})
    return CostForm(
        typed, parts=named, currency=job.currency, locale=shop.locale, initial=initial, prefix="cost"
    )


def _worth_form(job: Job, basis: Basis, found: Quote, typed: Any = None) -> WorthForm:
    now = worths_of(job)
    stays = may_stay(basis, found) | {
        fault: basis.causes.faults[fault].name
        for fault in (now.stays if now else ())
        if fault in basis.causes.faults
    }
    return WorthForm(
        typed, now=now, stays=stays, currency=job.currency, locale=basis.shop.locale, prefix="worth"
    )


def _covers(request: HttpRequest) -> float | None:
    return 0.0 if request.GET.get("covers") == "all" else None


def _page(
    job: Job, *, covers: float | None = None, cost: CostForm | None = None, worth: WorthForm | None = None
) -> QuotePage:
    try:
        basis, found = quoted(job, covers)
    except Refused as reason:
        return _refused(job, reason)
    return QuotePage(
        job=job,
        shown=shown(basis, found, quoted(job, 0.0)[1]),
        may_price=not why_closed(job),
        alarm=_alarm(job),
        is_whole=not found.price.covers,
        cost=cost or _cost_form(job, basis, found),
        worth=worth or (None if job.is_over else _worth_form(job, basis, found)),
    )


def _show(request: HttpRequest, page: QuotePage, *, status: int = 200) -> HttpResponse:
    given = {"page": page, "job": page.job, "library_url": library_url()}
    return render(request, "bench/quoting.html", given, status=status)


@require_safe
def quoting(request: HttpRequest, number: int) -> HttpResponse:
    """The figures, and all that bears on them; `?covers=all` for all that may be wrong."""
    return _show(request, _page(job_numbered(number), covers=_covers(request)))


@require_safe
def chart(request: HttpRequest, number: int) -> HttpResponse:
    """What the distribution is drawn from; nothing where nothing can be reckoned."""
    job = job_numbered(number)
    try:
        _, found = quoted(job, _covers(request))
    except Refused as reason:
        return JsonResponse({"refused": str(reason)}, status=CANNOT)
    price = found.price
    item = charts.price_spread(
        found.jobs.gross,
        *(one.money for one in (price.usual, price.not_more_than, price.worst)),
        locale=workshop().locale,
        agreed=job.agreed_up_to,
        scheme=scheme(request),
    )
    return JsonResponse(item)


@require_POST
def cost(request: HttpRequest, number: int) -> HttpResponse:
    """Say what a part costs to get."""
    job = job_numbered(number)
    try:
        basis, found = quoted(job)
    except Refused as reason:
        return _show(request, _refused(job, reason), status=CANNOT)
    form = _cost_form(job, basis, found, request.POST)
    if form.is_valid():
        try:
            say_cost(basis.construction.id, form.cleaned_data["part"], form.cost, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Written down; the price is reckoned with it.")
            return go_to(request, reverse("quoting", args=[number]) + "#parts")
    return _show(request, _page(job, cost=form), status=CANNOT)


@require_POST
def worth(request: HttpRequest, number: int) -> HttpResponse:
    """Say what the camera is worth."""
    job = job_numbered(number)
    try:
        basis, found = quoted(job)
    except Refused as reason:
        return _show(request, _refused(job, reason), status=CANNOT)
    form = _worth_form(job, basis, found, request.POST)
    if form.is_valid():
        try:
            say_worths(job, form.worths, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            return go_to(request, reverse("quoting", args=[number]) + "#sensible")
    return _show(request, _page(job, worth=form), status=CANNOT)


@dataclass(frozen=True, kw_only=True)
class Glance:
    """The price in a glance, for the card and the sheet of lines."""

    job: Job
    figures: tuple[FigureShown, ...] = ()
    beyond: Beyond | None = None
    refused: str = ""
    way_out: WayOut | None = None
    alarm: Alarm | None = None
    why: str = ""
    may_price: bool = False


@require_safe
def in_a_glance(request: HttpRequest, number: int) -> HttpResponse:
    """The three figures, beside the lines of a price."""
    job = job_numbered(number)
    try:
        _, found = quoted(job)
    except Refused as reason:
        glance = Glance(job=job, refused=str(reason), way_out=_way_out(job))
    else:
        glance = Glance(
            job=job, figures=figures(found), beyond=found.price.beyond, may_price=not why_closed(job)
        )
    return render(request, "bench/parts/_price_glance.html", {"glance": glance})


@require_safe
def on_card(request: HttpRequest, number: int) -> HttpResponse:
    """The alarm of a job's card; nothing where nothing rings."""
    job = job_numbered(number)
    alarm, why = _alarm(job), ""
    if alarm is not None and alarm.usual is not None:
        why = why_dearer(*quoted(job, covers_of(job)))
    glance = Glance(job=job, alarm=alarm, why=why, may_price=not why_closed(job))
    return render(request, "bench/parts/_alarm.html", {"glance": glance, "job": job})


urlpatterns = [
    path("job/<int:number>/price/reckoned/", quoting, name="quoting"),
    path("job/<int:number>/price/reckoned/chart.json", chart, name="quoting_chart"),
    path("job/<int:number>/price/reckoned/glance/", in_a_glance, name="quoting_glance"),
    path("job/<int:number>/price/reckoned/on-card/", on_card, name="quoting_on_card"),
    path("job/<int:number>/price/reckoned/cost/", cost, name="quoting_cost"),
    path("job/<int:number>/price/reckoned/worth/", worth, name="quoting_worth"),
]
