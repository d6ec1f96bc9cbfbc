"""What holds for every page: what a browser may load, whose time it is, who acts."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect

from pegwood.book.workshop import workshop
from pegwood.web.local import use_locale

Answer = Callable[[HttpRequest], HttpResponse]

CONTENT_POLICY = "; ".join(
    [
        "default-src 'self'",
        "img-src 'self' data: blob:",
        # The chart library sets styles from its script; a style cannot run anything.
        "style-src 'self' 'unsafe-inline'",
        "script-src 'self'",
        "connect-src 'self'",
        "media-src 'self' blob:",
        "worker-src 'self' blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    ]
)
PERMISSIONS = "camera=(self), microphone=(self), geolocation=(), payment=(), usb=()"
#: Pages that somebody who has not signed in may see.
OPEN_PAGES = frozenset({"sign_in"})


class SafeHeaders:
    """A browser loads nothing from another host and runs nothing written into a page."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.answer(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_POLICY)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        return response


class AtTheBench:
    """
    Put the workshop and whoever acts beside the request: `request.workshop`, `request.who`.

    On loopback the bench is open and its repairer acts. Where signing in is asked for, every page but that
    one sends a stranger there.
    """

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        chosen = workshop()
        request.workshop = chosen  # type: ignore[attr-defined]
        request.who = _who(request) or chosen.who  # type: ignore[attr-defined]
        use_locale(chosen.locale)
        with timezone.override(chosen.zone):
            return self.answer(request)

    def process_view(
        self, request: HttpRequest, _view: object, _args: object, _kwargs: object
    ) -> HttpResponse | None:
        match = request.resolver_match
        if not settings.SIGN_IN_REQUIRED or request.user.is_authenticated:
            return None
        if match is not None and match.url_name in OPEN_PAGES:
            return None
        back = redirect_to_login(request.get_full_path() if request.method == "GET" else "/")
        if getattr(request, "htmx", False):
            return HttpResponseClientRedirect(back["Location"])
        return back


def _who(request: HttpRequest) -> str:
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return ""
    return str(user.get_full_name() or user.get_username())
