"""
What is said when a page cannot be shown: what happened, and what to do.

Django hands each of these what it knows of the mishap, whether it is of use to a person or not.
"""

from __future__ import annotations

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

BACK = "What you typed is still in the page before this one: go back to it."


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """400: the browser sent something that cannot be read; 413 where it was too much."""
    if isinstance(exception, (RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent)):
        return too_large(request)
    return _say(
        request, 400, "That could not be read", f"The browser sent something that makes no sense here. {BACK}"
    )


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:  # noqa: ARG001
    """403."""
    return _say(request, 403, "That is not open to you", "Sign in with a name that may do this.")


def wrong_token(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001
    """403: the form was older than the browser's cookie, or came from another site."""
    return _say(
        request,
        403,
        "The form was too old",
        "It did not come from this browser's present visit, so nothing was done. "
        f"{BACK} Load it anew, then send it again.",
    )


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:  # noqa: ARG001
    """404."""
    return _say(
        request,
        404,
        "There is no such page",
        "Perhaps a number is mistyped. Look it up, or go back to the bench.",
    )


def too_large(request: HttpRequest) -> HttpResponse:
    """413: more than is taken at once."""
    return _say(
        request, 413, "That was too much at once", f"Send fewer or smaller files, or a shorter text. {BACK}"
    )


def broken(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """500: said without asking the book anything, for the book may be what is broken."""
    text = render_to_string(
        "bench/broken.html",
        {
            "title": "Something broke here",
            "why": f"{BACK} Look at what stands there before you do it again. "
            "The reason stands in the bench's own log.",
        },
    )
    return HttpResponse(text, status=500)


def _say(request: HttpRequest, status: int, title: str, why: str) -> HttpResponse:
    return render(request, "bench/error.html", {"title": title, "why": why, "status": status}, status=status)
