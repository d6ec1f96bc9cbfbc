"""Work and photographs written down by mistake are struck out: off the card, and still in the diary."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from pegwood.book.benchwork import strike_out_work
from pegwood.book.looking import strike_out_photo
from pegwood.book.models import Photo, Work
from pegwood.web.bench_request import CANNOT, go_to, who
from pegwood.web.forms.findings import StrikeOutForm


@dataclass(frozen=True)
class StrikingPage:
    """What is to be struck out, in words, and where one comes from."""

    what: str
    back: str
    form: StrikeOutForm


@require_http_methods(["GET", "HEAD", "POST"])
def work(request: HttpRequest, pk: int) -> HttpResponse:
    """Strike out a piece of work."""
    piece = get_object_or_404(Work.everything.select_related("job__owner", "job__camera"), pk=pk)
    return _strike(request, piece, piece.done, "#work", strike_out_work)


@require_http_methods(["GET", "HEAD", "POST"])
def photo(request: HttpRequest, pk: int) -> HttpResponse:
    """Strike out a photograph."""
    taken = get_object_or_404(Photo.everything.select_related("job__owner", "job__camera"), pk=pk)
    return _strike(request, taken, taken.caption or "A photograph", "#photos", strike_out_photo)


def _strike(
    request: HttpRequest, row: Work | Photo, what: str, place: str, strike_out: Callable[..., None]
) -> HttpResponse:
    back = reverse("job", args=[row.job.number]) + place
    form = StrikeOutForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        strike_out(row, form.cleaned_data["reason"], by=who(request))
        messages.info(request, f"Struck out: {what}")
        return go_to(request, back)
    shown = {"page": StrikingPage(what, back, form), "job": row.job, "form": form}
    return render(request, "bench/striking.html", shown, status=CANNOT if form.is_bound else 200)


urlpatterns = [
    path("work/<int:pk>/strike/", work, name="work_strike"),
    path("photo/<int:pk>/strike/", photo, name="photo_strike"),
]
