"""What is asked for when the work is done: written, issued, taken back."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.forms.formsets import BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pegwood.book.agreeing import labour, tell_price, why_no_bill, write_bill
from pegwood.book.billing.done import lines_done
from pegwood.book.billing.issuing import Off, credit, issue_bill
from pegwood.book.billing.minutes import Minutes, minutes_of
from pegwood.book.billing.offers import limit_of, terms_as_told
from pegwood.book.billing.owing import balance, left_of, live_bill
from pegwood.book.models import Bill, Job, PriceLine, Spare
from pegwood.book.refusal import Refused
from pegwood.book.spares.used import spares_used
from pegwood.book.states import Move, Standing, open_moves
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.billing import CreditForm
from pegwood.web.forms.lines import (
    LineForm,
    rows_of,
    rows_of_lines,
    rows_typed,
    sheet_as_typed,
    sheet_with,
    written,
)
from pegwood.web.pages.price import amiss_in, reckoned_so_far
from pegwood.web.quoting.lately import reckoned_lately
from pegwood.web.reckoning import Reckoned


@dataclass(frozen=True, kw_only=True)
class BillPage:
    """The lines of a bill beside what was agreed; or the bill that is issued, with what can be done to it."""

    job: Job
    sheet: BaseFormSet[LineForm]
    reckoned: Reckoned
    rate: Money
    agreed_up_to: Money | None
    #: Whether these lines are the price's, and no bill was written yet.
    from_price: bool
    is_written: bool
    minutes: Minutes
    #: What the clock's minutes come to at the workshop's rate.
    by_clock: Money | None
    #: Whether the lines can be told to the owner as a new price.
    can_offer: bool
    #: Spares in the camera, and how many of each.
    used: tuple[tuple[Spare, int], ...]
    live: Bill | None
    left: Money | None
    balance: Money | None
    issued: tuple[Bill, ...]
    credit: CreditForm
    closed: str
    amiss: str


@require_http_methods(["GET", "HEAD", "POST"])
def bill(request: HttpRequest, number: int) -> HttpResponse:
    """The lines; and the bill written when they are sent, or told as a new price."""
    job = job_numbered(number)
    chosen = workshop()
    if request.method != "POST":
        return _show(request, job, sheet=_of_what_was_done(request, job))
    do = request.POST.get("do")
    if do == "more":
        return _show(request, job, sheet=sheet_with(rows_typed(request.POST), chosen, job.currency))
    sheet = sheet_as_typed(request.POST, chosen, job.currency)
    if not sheet.is_valid():
        return _show(request, job, sheet=sheet, amiss=amiss_in(sheet), status=CANNOT)
    try:
        if do == "offer":
            tell_price(
                job,
                written(sheet),
                note="The work grew.",
                terms=terms_as_told(job),
                by=who(request),
                reckoned=reckoned_lately(job),
            )
            messages.success(request, "The new price is written down. Now the owner's answer.")
            return go_to(request, reverse("price", args=[number]))
        total = write_bill(job, written(sheet), by=who(request))
    except Refused as refused:
        return _show(request, job, sheet=sheet, amiss=str(refused), status=CANNOT)
    messages.success(request, f"The bill is written: {total.format(chosen.locale)}.")
    return go_to(request, reverse("job", args=[number]))


def _of_what_was_done(request: HttpRequest, job: Job) -> BaseFormSet[LineForm] | None:
    """Lines of what was done and used, where they are asked for."""
    if request.GET.get("from") != "done":
        return None
    chosen = workshop()
    return sheet_with(rows_of_lines(lines_done(job, chosen), chosen), chosen, job.currency)


@require_POST
def so_far(request: HttpRequest, number: int) -> HttpResponse:
    """What the lines come to while they are being typed, beside what was agreed. Nothing is stored."""
    job = job_numbered(number)
    sheet = sheet_as_typed(request.POST, workshop(), job.currency)
    shown = {"reckoned": reckoned_so_far(job, sheet, limit_of(job)), "job": job}
    return render(request, "bench/parts/reckoned.html", shown)


@require_POST
def issue(request: HttpRequest, number: int) -> HttpResponse:
    """Issue the bill that is written."""
    job = job_numbered(number)
    try:
        done = issue_bill(job, by=who(request))
    except Refused as refused:
        return _show(request, job, amiss=str(refused), status=CANNOT)
    messages.success(request, f"Bill {done.number} is issued.")
    return go_to(request, reverse("bill", args=[number]))


@require_POST
def take_back(request: HttpRequest, number: int) -> HttpResponse:
    """Issue a credit note on the bill that stands."""
    job = job_numbered(number)
    chosen = workshop()
    form = CreditForm(request.POST, currency=job.currency, locale=chosen.locale)
    standing = live_bill(job)
    if standing is None:
        return _show(request, job, amiss="No bill is issued that could be taken back.", status=CANNOT)
    if form.is_valid():
        given = form.cleaned_data
        amount: Money | None = given["amount"]
        kind = given["kind"] or "labour"
        off = [Off(what=given["reason"][:160], amount=amount, kind=kind)] if amount is not None else []
        try:
            note = credit(standing, given["reason"], off=off, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Credit note {note.number} is issued.")
            return go_to(request, reverse("bill", args=[number]))
    return _show(request, job, credit=form, status=CANNOT)


@require_safe
def e_invoice_file(request: HttpRequest, number: int) -> HttpResponse:
    """A bill as an e-invoice, to be saved: the one named, or the latest."""
    from pegwood.papers.e_invoice import e_invoice, file_name

    job = job_numbered(number)
    of = request.GET.get("of", "").replace("\0", "")[:40]
    found = job.bills.filter(number=of).first() if of else job.bills.last()
    if found is None:
        return _show(request, job, amiss="No such bill is issued yet.", status=CANNOT)
    try:
        xml = e_invoice(found)
    except Refused as refused:
        return _show(request, job, amiss=str(refused), status=CANNOT)
    answer = HttpResponse(xml, content_type="application/xml")
    header = content_disposition_header(as_attachment=True, filename=file_name(found))
    answer["Content-Disposition"] = header or "attachment"
    return answer


def _show(
    request: HttpRequest,
    job: Job,
    *,
    sheet: BaseFormSet[LineForm] | None = None,
    credit: CreditForm | None = None,
    amiss: str = "",
    status: int = 200,
) -> HttpResponse:
    chosen = workshop()
    lines = list(job.lines.select_related("job"))
    billed = [line for line in lines if line.sheet == PriceLine.Sheet.BILL]
    told = [line for line in lines if line.sheet == PriceLine.Sheet.PRICE]
    if sheet is None:
        sheet = sheet_with(rows_of(billed or told, chosen), chosen, job.currency)
    live, minutes = live_bill(job), minutes_of(job)
    limit = limit_of(job)
    reckoned = reckoned_so_far(job, sheet, limit)
    priced_by_rate = minutes.by_clock and chosen.hourly_rate and chosen.currency == job.currency
    page = BillPage(
        job=job,
        sheet=sheet,
        reckoned=reckoned,
        rate=chosen.rate,
        agreed_up_to=limit,
        from_price=not billed and bool(told),
        is_written=bool(billed),
        minutes=minutes,
        by_clock=labour(minutes.real, chosen.rate) if priced_by_rate else None,
        can_offer=Move.TELL_PRICE in open_moves(job.stands) and job.stands is not Standing.PRICED,
        used=tuple(spares_used(job)),
        live=live,
        left=left_of(live) if live else None,
        balance=balance(job),
        issued=tuple(job.bills.order_by("issued_at", "pk")),
        credit=credit or CreditForm(currency=job.currency, locale=chosen.locale),
        closed="" if live else why_no_bill(job),
        amiss=amiss,
    )
    return render(request, "bench/bill.html", {"page": page, "job": job}, status=status)


urlpatterns = [
    path("job/<int:number>/bill/", bill, name="bill"),
    path("job/<int:number>/bill/so-far/", so_far, name="bill_so_far"),
    path("job/<int:number>/bill/issue/", issue, name="bill_issue"),
    path("job/<int:number>/bill/credit/", take_back, name="bill_credit"),
    path("job/<int:number>/bill/e-invoice/", e_invoice_file, name="bill_e_invoice"),
]
