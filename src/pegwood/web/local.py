"""How this request writes money and dates: set by the middleware from the workshop's settings."""

from __future__ import annotations

from contextvars import ContextVar

_locale: ContextVar[str] = ContextVar("locale", default="en_GB")


def use_locale(name: str) -> None:
    """Write in this locale from now on, in this request."""
    _locale.set(name)


def locale() -> str:
    """The locale to write in, such as en_GB."""
    return _locale.get()
