"""The workshop's own table of what fits what."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from pegwood.book.families import construction_of, family
from pegwood.book.models import FitsAlso
from pegwood.book.refusal import Refused
from pegwood.book.spares.fitting import say_fits, strike_out_fit
from pegwood.web.bench_request import CANNOT, go_to, who
from pegwood.web.forms.findings import StrikeOutForm
from pegwood.web.forms.shelf import FitsForm

MOST_LISTED = 200


@dataclass(frozen=True)
class FitsLine:
    """A row in words: what fits, and what it fits."""

    row: FitsAlso
    what: str
    to: str


@dataclass(frozen=True)
class FitsPage:
    """All rows, and the form for another."""

    lines: tuple[FitsLine, ...]
    form: FitsForm
    refused: str = ""


@require_http_methods(["GET", "HEAD", "POST"])
def fits(request: HttpRequest) -> HttpResponse:
    """The table; or enter another row."""
    form = FitsForm(request.POST) if request.method == "POST" else FitsForm()
    if request.method == "POST" and form.is_valid():
        try:
            say_fits(form.row, by=who(request))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Written into the table.")
            return go_to(request, reverse("shelf_fits"))
    return _show(request, form, status=CANNOT if form.errors else 200)


@require_POST
def strike(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a row back."""
    row = get_object_or_404(FitsAlso.everything, pk=pk)
    form = StrikeOutForm(request.POST)
    if not form.is_valid():
        return _show(request, FitsForm(), refused="Say why it is struck out.", status=CANNOT)
    strike_out_fit(row, form.cleaned_data["reason"], by=who(request))
    messages.info(request, "Struck out. It stays in the book.")
    return go_to(request, reverse("shelf_fits"))


def _show(request: HttpRequest, form: FitsForm, *, refused: str = "", status: int = 200) -> HttpResponse:
    rows = FitsAlso.objects.order_by("-pk")[:MOST_LISTED]
    lines = tuple(
        FitsLine(
            row,
            _named(row.family, row.part, row.maker, row.model),
            _named(row.to_family, row.to_part, row.to_maker, row.to_model),
        )
        for row in rows
    )
    return render(request, "bench/shelf_fits.html", {"page": FitsPage(lines, form, refused)}, status=status)


def _named(slug: str, part: str, maker: str, model: str) -> str:
    construction = construction_of(slug)
    known = construction.parts.get(part) if construction else None
    camera = " ".join(filter(None, (maker, model))) or family(slug).name
    return f"{known.name if known else part}, {camera}"


urlpatterns = [
    path("shelf/fits/", fits, name="shelf_fits"),
    path("shelf/fits/<int:pk>/strike/", strike, name="shelf_fits_strike"),
]
