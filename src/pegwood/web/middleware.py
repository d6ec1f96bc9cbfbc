"""What holds for every page: what a browser may load, whose time it is, who acts."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, JsonResponse
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
#: Said to a page that was open while its visit ended.
SIGNED_OUT = "You are signed out. What you have here is kept: sign in, then send it again."
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
        # A stranger where signing in is asked for is nobody, and learns no name of anybody.
        nobody = "" if settings.SIGN_IN_REQUIRED else chosen.who
        request.who = _who(request) or nobody  # type: ignore[attr-defined]
        use_locale(chosen.locale)
        with timezone.override(chosen.zone):
            return self.answer(request)

    def process_view(
        self, request: HttpRequest, _view: object, _args: object, _kwargs: object
    ) -> HttpResponse | None:
        match = request.resolver_match
        if not settings.SIGN_IN_REQUIRED:
            return None
        if request.user.is_authenticated:
            _stay_signed_in(request)
            return None
        if match is not None and match.url_name in OPEN_PAGES:
            return None
        return _sign_in_first(request)


def _stay_signed_in(request: HttpRequest) -> None:
    """Let a visit end only after days without any: its cookie is renewed once a day."""
    today = timezone.now().date().isoformat()
    if request.session.get("seen_on") != today:
        request.session["seen_on"] = today


def _sign_in_first(request: HttpRequest) -> HttpResponse:
    """Send a stranger to sign in. A script that sends something is told, and keeps what it has."""
    live = bool(getattr(request, "htmx", False))
    if request.method in ("GET", "HEAD"):
        page = request.htmx.current_url_abs_path if live else None  # type: ignore[attr-defined]
        back = redirect_to_login(page or request.get_full_path())
        return HttpResponseClientRedirect(back["Location"]) if live else back
    if live or request.get_preferred_type(["text/html", "application/json"]) == "application/json":
        # RFC 9110, 15.5.2: a 401 names how to become known. For this one no browser asks by itself.
        return JsonResponse(
            {"refused": SIGNED_OUT}, status=401, headers={"WWW-Authenticate": 'Form realm="Pegwood"'}
        )
    return redirect_to_login("/")


def _who(request: HttpRequest) -> str:
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return ""
    return str(user.get_full_name() or user.get_username())
