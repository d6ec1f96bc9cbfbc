"""What every page knows without asking."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest


def bench(request: HttpRequest) -> dict[str, Any]:
    """The workshop, who acts, and the name of the page (empty where no page was found)."""
    match = request.resolver_match
    return {
        "workshop": getattr(request, "workshop", None),
        "who": getattr(request, "who", ""),
        "here": match.url_name if match else "",
    }
