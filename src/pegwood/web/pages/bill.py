"""What is asked for when the work is done."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.forms.formsets import BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.book.agreeing import BILLED_AT, write_bill
from pegwood.book.models import Job, PriceLine
from pegwood.book.refusal import Refused
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.lines import LineForm, rows_of, rows_typed, sheet_as_typed, sheet_with, written
from pegwood.web.pages.price import amiss_in, reckoned_so_far
from pegwood.web.reckoning import Reckoned


@dataclass(frozen=True)
class BillPage:
    """The lines of a bill beside what was agreed."""

    job: Job
    sheet: BaseFormSet[LineForm]
    reckoned: Reckoned
    rate: Money
    agreed_up_to: Money | None
    #: Whether these lines are the price's, and no bill was written yet.
    from_price: bool
    closed: str
    amiss: str


@require_http_methods(["GET", "HEAD", "POST"])
def bill(request: HttpRequest, number: int) -> HttpResponse:
    """The lines; and the bill written when they are sent."""
    job = job_numbered(number)
    chosen = workshop()
    if request.method != "POST":
        return _show(request, job)
    if request.POST.get("do") == "more":
        return _show(request, job, sheet=sheet_with(rows_typed(request.POST), chosen, job.currency))
    sheet = sheet_as_typed(request.POST, chosen, job.currency)
    if not sheet.is_valid():
        return _show(request, job, sheet=sheet, amiss=amiss_in(sheet), status=CANNOT)
    try:
        total = write_bill(job, written(sheet), by=who(request))
    except Refused as refused:
        return _show(request, job, sheet=sheet, amiss=str(refused), status=CANNOT)
    messages.success(request, f"The bill is written: {total.format(chosen.locale)}.")
    return go_to(request, reverse("job", args=[number]))


@require_POST
def so_far(request: HttpRequest, number: int) -> HttpResponse:
    """What the lines come to while they are being typed, beside what was agreed. Nothing is stored."""
    job = job_numbered(number)
    sheet = sheet_as_typed(request.POST, workshop(), job.currency)
    shown = {"reckoned": reckoned_so_far(job, sheet, job.agreed_up_to), "job": job}
    return render(request, "bench/parts/reckoned.html", shown)


def _show(
    request: HttpRequest,
    job: Job,
    *,
    sheet: BaseFormSet[LineForm] | None = None,
    amiss: str = "",
    status: int = 200,
) -> HttpResponse:
    chosen = workshop()
    lines = list(job.lines.select_related("job"))
    billed = [line for line in lines if line.sheet == PriceLine.Sheet.BILL]
    told = [line for line in lines if line.sheet == PriceLine.Sheet.PRICE]
    if sheet is None:
        sheet = sheet_with(rows_of(billed or told, chosen), chosen, job.currency)
    page = BillPage(
        job=job,
        sheet=sheet,
        reckoned=reckoned_so_far(job, sheet, job.agreed_up_to),
        rate=chosen.rate,
        agreed_up_to=job.agreed_up_to,
        from_price=not billed and bool(told),
        closed="" if job.stands in BILLED_AT else _why_closed(job),
        amiss=amiss,
    )
    return render(request, "bench/bill.html", {"page": page, "job": job}, status=status)


def _why_closed(job: Job) -> str:
    return f"A bill is written when the work is done; the job stands at '{job.standing}'."


urlpatterns = [
    path("job/<int:number>/bill/", bill, name="bill"),
    path("job/<int:number>/bill/so-far/", so_far, name="bill_so_far"),
]
