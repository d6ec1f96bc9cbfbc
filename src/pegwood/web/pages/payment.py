"""What is paid: a deposit before the bill, payments on it, money given back; slips taken back."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.book.billing.owing import balance, live_bill
from pegwood.book.billing.payments import (
    deposit_open,
    pay_back,
    record_payment,
    take_deposit,
    undo_payment,
)
from pegwood.book.models import Job, Payment
from pegwood.book.refusal import Refused
from pegwood.book.states import Standing
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who, whole_number
from pegwood.web.forms.billing import MoneyForm


@dataclass(frozen=True, kw_only=True)
class PaymentPage:
    """
    What is open and what was paid.

    Attributes
    ----------
    open : Money or None
        Still to be paid on a bill, or of a deposit; None where nothing is.
    over : Money or None
        What the owner paid too much.
    deposit : bool
        Whether what comes now is a deposit.
    closed : str
        Why nothing can be paid now; empty if it can.
    """

    open: Money | None
    over: Money | None
    deposit: bool
    entries: tuple[Payment, ...]
    form: MoneyForm
    back: MoneyForm
    closed: str
    amiss: str


@require_http_methods(["GET", "HEAD", "POST"])
def payment(request: HttpRequest, number: int) -> HttpResponse:
    """Write down what the owner paid."""
    job = job_numbered(number)
    if request.method != "POST":
        return _show(request, job)
    form = MoneyForm(request.POST, job=job, left=_left(job), locale=workshop().locale)
    if form.is_valid():
        given = form.cleaned_data
        take = take_deposit if _is_deposit(job) else record_payment
        try:
            take(job, given["paid"], given["paid_how"], by=who(request), ticket=form.sent_as)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The payment is written down.")
            return go_to(request, reverse("job", args=[number]) + "#price")
    return _show(request, job, form=form, status=CANNOT)


@require_POST
def back(request: HttpRequest, number: int) -> HttpResponse:
    """Write down money that was given back."""
    job = job_numbered(number)
    form = MoneyForm(request.POST, job=job, left=None, locale=workshop().locale, prefix="back")
    if form.is_valid():
        given = form.cleaned_data
        try:
            pay_back(
                job, given["paid"], given["paid_how"], given["why"], by=who(request), ticket=form.sent_as
            )
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Written down.")
            return go_to(request, reverse("payment", args=[number]))
    return _show(request, job, back=form, status=CANNOT)


@require_POST
def undo(request: HttpRequest, number: int) -> HttpResponse:
    """Take back an entry that was a slip."""
    job = job_numbered(number)
    pk = whole_number(request.POST.get("entry", ""))
    entry = job.payments.filter(pk=pk).first() if pk is not None else None
    if entry is None:
        return _show(request, job, amiss="Choose which entry was a slip.", status=CANNOT)
    try:
        undo_payment(entry, request.POST.get("why", "").replace("\0", ""), by=who(request))
    except Refused as refused:
        return _show(request, job, amiss=str(refused), status=CANNOT)
    messages.success(request, "Taken back.")
    return go_to(request, reverse("payment", args=[number]))


def _is_deposit(job: Job) -> bool:
    return job.stands is not Standing.GONE_HOME and live_bill(job) is None


def _left(job: Job) -> Money | None:
    left = deposit_open(job) if _is_deposit(job) else balance(job)
    return left if left is not None and left.minor > 0 else None


def _closed(job: Job) -> str:
    if not _is_deposit(job):
        return ""
    if job.stands is Standing.READY:
        return "It is ready. Issue the bill first, or write it down when the camera is handed back."
    if job.price is None or job.is_over:
        return "A payment is written down once a price was told: a deposit first, then what is billed."
    return ""


def _show(
    request: HttpRequest,
    job: Job,
    *,
    form: MoneyForm | None = None,
    back: MoneyForm | None = None,
    amiss: str = "",
    status: int = 200,
) -> HttpResponse:
    job.refresh_from_db()
    locale = workshop().locale
    left, owed = _left(job), balance(job)
    over = -owed if owed is not None and owed.minor < 0 else None
    page = PaymentPage(
        open=left,
        over=over,
        deposit=_is_deposit(job),
        entries=tuple(job.payments.select_related("undone_by")),
        form=form or MoneyForm(job=job, left=left, locale=locale),
        back=back or MoneyForm(job=job, left=over, locale=locale, prefix="back"),
        closed=_closed(job),
        amiss=amiss,
    )
    shown = {"page": page, "job": job, "form": page.form}
    return render(request, "bench/payment.html", shown, status=status)


urlpatterns = [
    path("job/<int:number>/payment/", payment, name="payment"),
    path("job/<int:number>/payment/back/", back, name="payment_back"),
    path("job/<int:number>/payment/undo/", undo, name="payment_undo"),
]
