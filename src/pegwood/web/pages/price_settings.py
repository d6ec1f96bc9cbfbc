"""What a price is reckoned with."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.workshop import workshop
from pegwood.web.bench_request import CANNOT, go_to, who
from pegwood.web.forms.price_settings import PriceSettingsForm


@require_http_methods(["GET", "HEAD", "POST"])
def price_settings(request: HttpRequest) -> HttpResponse:
    """What is chosen; and what was typed set."""
    typed = request.POST if request.method == "POST" else None
    form = PriceSettingsForm(typed, now=workshop())
    if form.is_valid() and form.write(who(request)):
        messages.success(request, "Written down.")
        return go_to(request, reverse("price_settings"))
    status = CANNOT if form.is_bound else 200
    return render(request, "bench/price_settings.html", {"form": form, "shop": workshop()}, status=status)


urlpatterns = [path("workshop/price/", price_settings, name="price_settings")]
