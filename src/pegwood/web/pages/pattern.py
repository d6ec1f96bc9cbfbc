"""What the pattern of a shutter's speeds says: fetched by the shutter's page once that page stands."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from pegwood.book.measuring import accepted_speeds
from pegwood.web.bench_request import is_live, job_numbered
from pegwood.web.local import locale
from pegwood.web.pattern import pattern_part


@require_safe
def shutter_pattern(request: HttpRequest, number: int) -> HttpResponse:
    """As a part for the shutter's page, or as a page of its own where no script runs."""
    job = job_numbered(number)
    part = pattern_part(accepted_speeds(job), job.camera.kind.shutter, locale())
    template = "bench/parts/pattern.html" if is_live(request) else "bench/pattern.html"
    return render(request, template, {"job": job, "pattern": part})


urlpatterns = [path("job/<int:number>/shutter/pattern/", shutter_pattern, name="shutter_pattern")]
