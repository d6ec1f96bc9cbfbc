"""What the other instruments are held against."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.workshop import workshop
from pegwood.web.bench_request import CANNOT, go_to, who
from pegwood.web.forms.gauge_limits import GaugeLimitsForm


@require_http_methods(["GET", "HEAD", "POST"])
def gauge_limits(request: HttpRequest) -> HttpResponse:
    """Each limit with its default; and what was typed set."""
    typed = request.POST if request.method == "POST" else None
    form = GaugeLimitsForm(typed, own=workshop().gauge_limits)
    if form.is_valid() and form.write(who(request)):
        messages.success(request, "The limits are written down. They hold for readings from now on.")
        return go_to(request, reverse("gauge_limits"))
    return render(request, "bench/gauge_limits.html", {"form": form}, status=CANNOT if form.is_bound else 200)


urlpatterns = [path("workshop/instruments/", gauge_limits, name="gauge_limits")]
