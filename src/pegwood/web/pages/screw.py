"""Which thread is it: asked with a photograph of the screw."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_http_methods

from pegwood.book.files import pictures
from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import tables
from pegwood.web.bench_request import CANNOT
from pegwood.web.forms.screw import ScrewForm
from pegwood.web.pages.trade import Shown, shown

#: How well a ruler in a picture is read where nothing is said, [mm].
UNSAID_MM = 0.2


@dataclass(frozen=True)
class ScrewPage:
    """The form, and what the picture told."""

    form: ScrewForm
    told: Shown | None = None


@require_http_methods(["GET", "HEAD", "POST"])
def screw(request: HttpRequest) -> HttpResponse:
    """Read a screw's photograph; nothing of it is kept."""
    if request.method != "POST":
        return render(request, "bench/screw.html", {"page": ScrewPage(ScrewForm())})
    form = ScrewForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            page = ScrewPage(form, _told(form))
        except (Refused, ValueError) as reason:
            form.add_error("picture", str(reason))
        else:
            return render(request, "bench/screw.html", {"page": page})
    return render(request, "bench/screw.html", {"page": ScrewPage(form)}, status=CANNOT)


def _told(form: ScrewForm) -> Shown:
    import numpy as np

    from pegwood.trade.threads.picture import ADD_IT, can_read_pictures, read_screw

    if not can_read_pictures():
        raise Refused(ADD_IT)
    from pegwood.trade.threads.picture.light import light_of
    from pegwood.trade.threads.picture.telling import tell_picture

    given = form.cleaned_data
    image = pictures.upright(given["picture"], "The picture").convert("L")
    width_mm: float = given["width_mm"]
    unsure = UNSAID_MM if given["u_width_mm"] is None else given["u_width_mm"]
    read = read_screw(light_of(np.asarray(image)), width_mm * 1e-3 / image.width, unsure / width_mm)
    answer = tell_picture(tables()[0], read, crest=given["crest"] or None, origin=given["origin"] or None)
    return shown(answer)


urlpatterns = [path("trade/screw/", screw, name="screw")]
