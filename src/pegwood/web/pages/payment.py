"""What is paid after the camera has gone home."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.billing.payments import record_payment
from pegwood.book.leaving import still_to_pay
from pegwood.book.refusal import Refused
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.bench_request import CANNOT, go_to, job_numbered, who
from pegwood.web.forms.leaving import PaymentForm


@dataclass(frozen=True)
class PaymentPage:
    """What is still open of the bill; None where nothing is, or the camera has not gone home."""

    open: Money | None
    form: PaymentForm


@require_http_methods(["GET", "HEAD", "POST"])
def payment(request: HttpRequest, number: int) -> HttpResponse:
    """Write down what the owner paid."""
    job = job_numbered(number)
    left = still_to_pay(job)
    typed = request.POST if request.method == "POST" else None
    form = PaymentForm(typed, job=job, left=left, locale=workshop().locale)
    if form.is_valid():
        given = form.cleaned_data
        try:
            record_payment(job, given["paid"], given["paid_how"], by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The payment is written down.")
            return go_to(request, reverse("job", args=[number]) + "#price")
    shown = {"page": PaymentPage(left, form), "job": job, "form": form}
    return render(request, "bench/payment.html", shown, status=CANNOT if form.is_bound else 200)


urlpatterns = [path("job/<int:number>/payment/", payment, name="payment")]
