"""What the owner is told, and what the owner says to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.forms.formsets import BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.book.agreeing import record_yes, tell_price, total_of, why_no_bill
from pegwood.book.billing.answers import offer_again, record_no
from pegwood.book.billing.message import offer_text
from pegwood.book.billing.owing import balance, live_bill
from pegwood.book.billing.payments import deposit_open
from pegwood.book.leaving import still_to_pay
from pegwood.book.models import Bill, Job, Offer, PriceLine
from pegwood.book.quoting.lines import WHICH, offer_lines
from pegwood.book.quoting.quoted import can_be_reckoned
from pegwood.book.refusal import Refused
from pegwood.book.states import Move, NotNow, Standing, destination
from pegwood.book.stripping.whole import lacks
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.billing import AgainForm, TermsForm
from pegwood.web.forms.lines import (
    LineForm,
    NoForm,
    YesForm,
    rows_of,
    rows_of_lines,
    rows_to_mend,
    rows_typed,
    sheet_as_typed,
    sheet_with,
    written,
)
from pegwood.web.quoting.lately import quoted, reckoned_lately
from pegwood.web.reckoning import Reckoned, reckon


@dataclass(frozen=True)
class PriceSection:
    """Price and bill on a job card."""

    job: Job
    told: list[PriceLine]
    billed: list[PriceLine]
    billed_total: Money | None
    issued: tuple[Bill, ...]
    still_to_pay: Money | None
    give_back: Money | None
    deposit_open: Money | None
    older: int
    can_price: bool
    can_bill: bool
    can_reckon: bool


@dataclass(frozen=True)
class PricePage:
    """The lines of a price, its sum, and the answer to it."""

    job: Job
    sheet: BaseFormSet[LineForm]
    reckoned: Reckoned
    rate: Money
    note: str
    #: Why no price can be told now; empty if one can.
    closed: str
    amiss: str
    yes: YesForm | None
    no: NoForm | None
    terms: TermsForm
    #: The offer as a short text; and what the owner was told before.
    message: str
    latest: Offer | None
    older: tuple[Offer, ...]
    deposit_open: Money | None
    #: Whether a price can be reckoned from what is likely wrong.
    can_reckon: bool
    #: What is out of the camera, and so put together again after a no.
    apart: bool
    again: AgainForm | None


def section(job: Job) -> PriceSection:
    """What the part for price and bill of a job card needs."""
    owed = balance(job)
    lines = list(job.lines.all())
    for line in lines:
        line.job = job
    return PriceSection(
        job=job,
        told=[line for line in lines if line.sheet == PriceLine.Sheet.PRICE],
        billed=[line for line in lines if line.sheet == PriceLine.Sheet.BILL],
        billed_total=total_of(job, PriceLine.Sheet.BILL),
        issued=tuple(job.bills.order_by("issued_at", "pk")),
        still_to_pay=still_to_pay(job),
        give_back=-owed if owed is not None and owed.minor < 0 else None,
        deposit_open=deposit_open(job),
        older=max(0, job.offers.count() - 1),
        can_price=not why_closed(job),
        can_reckon=not job.is_over and can_be_reckoned(job, workshop()),
        can_bill=live_bill(job) is None and not why_no_bill(job),
    )


def why_closed(job: Job) -> str:
    """Why no price can be told now, in one line; empty if one can."""
    try:
        destination(job.stands, Move.TELL_PRICE)
    except NotNow as reason:
        return str(reason)
    return ""


@require_http_methods(["GET", "HEAD", "POST"])
def price(request: HttpRequest, number: int) -> HttpResponse:
    """The lines; and the price told when they are sent."""
    job = job_numbered(number)
    chosen = workshop()
    if request.method != "POST":
        return _show(request, job, sheet=_begun(request, job))
    if request.POST.get("do") == "more":
        return _show(request, job, sheet=sheet_with(rows_typed(request.POST), chosen, job.currency))
    sheet = sheet_as_typed(request.POST, chosen, job.currency)
    terms = TermsForm(request.POST, job=job, shop=chosen)
    typed: dict[str, Any] = {"sheet": sheet, "terms": terms, "note": request.POST.get("note", "")[:400]}
    if not (sheet.is_valid() and terms.is_valid()):
        amiss = amiss_in(sheet) or "Look again at what goes with the price."
        return _show(request, job, **typed, amiss=amiss, status=CANNOT)
    try:
        job = tell_price(
            job,
            written(sheet),
            note=typed["note"],
            terms=terms.terms,
            by=who(request),
            reckoned=reckoned_lately(job),
        )
    except Refused as refused:
        return _show(request, job, **typed, amiss=str(refused), status=CANNOT)
    messages.success(request, "The price is written down. Now the owner's answer.")
    return go_to(request, reverse("price", args=[number]))


def _begun(request: HttpRequest, job: Job) -> BaseFormSet[LineForm] | None:
    """Lines that come to a figure that was reckoned, where one is asked for."""
    which = request.GET.get("from", "")
    if which not in WHICH:
        return None
    try:
        basis, found = quoted(job, 0.0 if request.GET.get("covers") == "all" else None)
    except Refused:
        return None
    rows = rows_of_lines(offer_lines(basis, found, which), basis.shop)
    return sheet_with(rows, basis.shop, job.currency)


@require_POST
def so_far(request: HttpRequest, number: int) -> HttpResponse:
    """What the lines come to while they are being typed. Nothing is stored."""
    job = job_numbered(number)
    sheet = sheet_as_typed(request.POST, workshop(), job.currency)
    shown = {"reckoned": reckoned_so_far(job, sheet), "job": job}
    return render(request, "bench/parts/reckoned.html", shown)


@require_POST
def yes(request: HttpRequest, number: int) -> HttpResponse:
    """Write down that the owner said yes."""
    job = job_numbered(number)
    if job.price is None:
        return _show(request, job, amiss=f"No price was told for job {number} yet.", status=CANNOT)
    form = YesForm(request.POST, price=job.price, locale=workshop().locale)
    if form.is_valid():
        try:
            record_yes(job, how=form.said, up_to=form.cleaned_data["up_to"], by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Agreed.")
            return go_to(request, reverse("job", args=[number]))
    return _show(request, job, yes=form, status=CANNOT)


@require_POST
def no(request: HttpRequest, number: int) -> HttpResponse:
    """Write down that the owner said no: the camera goes back unmended."""
    job = job_numbered(number)
    form = NoForm(request.POST)
    if form.is_valid():
        try:
            given = form.cleaned_data
            after = record_no(job, given["words"], as_it_is=given["as_it_is"], by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            whole = after.is_over
            messages.info(
                request,
                "Written down. It goes back unmended." if whole else "Written down. Put it together first.",
            )
            return go_to(request, reverse("job", args=[number]))
    return _show(request, job, no=form, status=CANNOT)


@require_POST
def again(request: HttpRequest, number: int) -> HttpResponse:
    """Tell a new price where the work grows: what was told, and what comes on top."""
    job = job_numbered(number)
    form = AgainForm(request.POST, job=job, shop=workshop())
    if form.is_valid():
        try:
            offer_again(
                job,
                form.cleaned_data["expected"],
                form.cleaned_data["why"],
                by=who(request),
                reckoned=reckoned_lately(job),
            )
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The new price is written down. Now the owner's answer.")
            return go_to(request, reverse("price", args=[number]))
    return _show(request, job, again=form, status=CANNOT)


def _show(
    request: HttpRequest,
    job: Job,
    *,
    sheet: BaseFormSet[LineForm] | None = None,
    note: str = "",
    amiss: str = "",
    yes: YesForm | None = None,
    no: NoForm | None = None,
    terms: TermsForm | None = None,
    again: AgainForm | None = None,
    status: int = 200,
) -> HttpResponse:
    chosen = workshop()
    if sheet is None:
        told = job.lines.filter(sheet=PriceLine.Sheet.PRICE).select_related("job")
        sheet = sheet_with(rows_of(told, chosen) or rows_to_mend(job), chosen, job.currency)
    offers = list(job.offers.order_by("place"))
    if job.stands is Standing.PRICED and job.price is not None:
        yes = yes or YesForm(price=job.price, locale=chosen.locale)
        no = no or NoForm()
    page = PricePage(
        job=job,
        sheet=sheet,
        reckoned=reckoned_so_far(job, sheet),
        rate=chosen.rate,
        note=note,
        closed=why_closed(job),
        amiss=amiss,
        yes=yes,
        no=no,
        terms=terms or TermsForm(job=job, shop=chosen),
        message=offer_text(job, chosen),
        latest=offers[-1] if offers else None,
        older=tuple(reversed(offers[:-1])),
        deposit_open=deposit_open(job),
        can_reckon=can_be_reckoned(job, chosen),
        apart=bool(no is not None and lacks(job)),
        again=again or _again(job, offers),
    )
    return render(request, "bench/price.html", {"page": page, "job": job}, status=status)


def _again(job: Job, offers: list[Offer]) -> AgainForm | None:
    """The short way to a new price, once work has begun on the old one."""
    grows = job.stands in {Standing.ON_THE_BENCH, Standing.WAITING, Standing.AGREED} and bool(offers)
    return AgainForm(job=job, shop=workshop()) if grows and not why_closed(job) else None


def reckoned_so_far(job: Job, sheet: BaseFormSet[LineForm], agreed_up_to: Money | None = None) -> Reckoned:
    """The sum of what can be read on a sheet; lines that cannot be read are named as open."""
    chosen = workshop()
    lines, unread = [], []
    for place, form in enumerate(_as_sent(sheet, job), 1):
        if not form.has_changed():
            continue
        if form.is_valid():
            lines.append(form.line)
        else:
            unread.append(f"line {place} cannot be read yet")
    found = reckon(lines, job.currency, chosen.rate, agreed_up_to)
    return Reckoned(found.total, found.minutes, (*found.open, *unread), found.beyond)


def _as_sent(sheet: BaseFormSet[LineForm], job: Job) -> list[LineForm]:
    """Each line as if it had been sent as it is shown."""
    if sheet.is_bound:
        return list(sheet)
    chosen = workshop()
    return [
        LineForm(
            {name: str(form[name].value() or "") for name in form.fields},
            currency=job.currency,
            locale=chosen.locale,
        )
        for form in sheet
    ]


def amiss_in(sheet: BaseFormSet[LineForm]) -> str:
    """Where a sheet is amiss, in one line; each field says more."""
    wrong = [str(place) for place, errors in enumerate(sheet.errors, 1) if errors]
    return (
        f"Look again at line {', '.join(wrong)}."
        if wrong
        else " ".join(str(error) for error in sheet.non_form_errors())
    )


urlpatterns = [
    path("job/<int:number>/price/", price, name="price"),
    path("job/<int:number>/price/so-far/", so_far, name="price_so_far"),
    path("job/<int:number>/price/yes/", yes, name="price_yes"),
    path("job/<int:number>/price/no/", no, name="price_no"),
    path("job/<int:number>/price/again/", again, name="price_again"),
]
