"""Tax, numbers of bills, deposits and the rest that stands behind a bill."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.workshop import workshop
from pegwood.web.bench_request import CANNOT, go_to, who
from pegwood.web.forms.bill_settings import BillSettingsForm


@require_http_methods(["GET", "HEAD", "POST"])
def bill_settings(request: HttpRequest) -> HttpResponse:
    """What is chosen; and what was typed set."""
    typed = request.POST if request.method == "POST" else None
    form = BillSettingsForm(typed, now=workshop())
    if form.is_valid() and form.write(who(request)):
        messages.success(request, "Written down.")
        return go_to(request, reverse("bill_settings"))
    status = CANNOT if form.is_bound else 200
    return render(request, "bench/bill_settings.html", {"form": form}, status=status)


urlpatterns = [path("workshop/bills/", bill_settings, name="bill_settings")]
