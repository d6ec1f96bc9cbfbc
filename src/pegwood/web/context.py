"""What every page knows without asking."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest


def bench(request: HttpRequest) -> dict[str, Any]:
    """The workshop and who acts, neither for a stranger, and the name of the page, empty if there is none."""
    match = request.resolver_match
    who = getattr(request, "who", "")
    return {
        "workshop": getattr(request, "workshop", None) if who else None,
        "who": who,
        "here": match.url_name if match else "",
    }
