"""The chart library's one script, served from its wheel, and the colours a chart is asked for in."""

from __future__ import annotations

import gzip
from functools import cache
from importlib.metadata import version as installed_version

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pegwood.web.charts import Scheme

VERSION = installed_version("bokeh")


def scheme(request: HttpRequest) -> Scheme:
    """Light or dark, as the screen asks."""
    return "dark" if request.GET.get("scheme") == "dark" else "light"


def library_url() -> str:
    """Where the browser gets the chart library; its version is in the address, so it may be kept for good."""
    return reverse("chart_library", args=[VERSION])


@cache
def _packed_library() -> bytes:
    return gzip.compress((settings.BOKEH_SCRIPTS / "bokeh.min.js").read_bytes(), mtime=0)


@require_safe
def chart_library(request: HttpRequest, version: str) -> HttpResponse:
    """The one script of the chart library that is served: no other file of its wheel is."""
    if version != VERSION:
        raise Http404("another version")
    packed = "gzip" in request.headers.get("Accept-Encoding", "")
    script = _packed_library() if packed else (settings.BOKEH_SCRIPTS / "bokeh.min.js").read_bytes()
    answer = HttpResponse(script, content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "public, max-age=31536000, immutable"
    answer["Vary"] = "Accept-Encoding"
    if packed:
        answer["Content-Encoding"] = "gzip"
    return answer


urlpatterns = [path("static/charts/bokeh-<str:version>.min.js", chart_library, name="chart_library")]
