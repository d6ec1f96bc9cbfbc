"""The next thing, told anew when a part of the card has changed and the page around it stays."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils import timezone

from pegwood.book.models import Job
from pegwood.web.facts import facts, with_facts
from pegwood.web.next_step import next_step


def onward(request: HttpRequest, job: Job) -> dict[str, Any]:
    """What a part's template needs beside its own to put the next thing right as well."""
    now = with_facts(Job.objects.all()).get(pk=job.pk)
    workshop = request.workshop  # type: ignore[attr-defined]
    return {"live_step": next_step(facts(now, workshop, timezone.now())), "live_job": now}
