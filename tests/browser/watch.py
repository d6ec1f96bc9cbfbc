"""Whoever drives a page has this beside it: it writes down whatever is not as it should be."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import BrowserContext, ConsoleMessage, Request, Response, WebError

OWN = ("blob:", "data:", "about:")


class Watch:
    """Errors and warnings of scripts, requests that fail or leave for another host."""

    def __init__(self, context: BrowserContext, home: str) -> None:
        self.home = home
        self.trouble: list[str] = []
        context.on("console", self._said)
        context.on("weberror", self._broke)
        context.on("request", self._asked)
        context.on("requestfailed", self._failed)
        context.on("response", self._answered)

    def _said(self, message: ConsoleMessage) -> None:
        if message.type in {"error", "warning"}:
            self.trouble.append(f"console {message.type}: {message.text}")

    def _broke(self, broke: WebError) -> None:
        self.trouble.append(f"page error: {broke.error}")

    def _asked(self, request: Request) -> None:
        if not request.url.startswith((self.home, *OWN)):
            self.trouble.append(f"asked another host: {request.url}")

    def _failed(self, request: Request) -> None:
        # A page that is left, and a search that is typed on, give up what they asked for.
        if request.failure != "net::ERR_ABORTED":
            self.trouble.append(f"failed: {request.method} {request.url} {request.failure}")

    def _answered(self, response: Response) -> None:
        if response.status >= 400:
            self.trouble.append(f"{response.status}: {response.request.method} {response.url}")

    @contextmanager
    def expecting(self, *words: str) -> Iterator[None]:
        """What goes wrong in here is wanted, if one of the words stands in what is said of it."""
        before = len(self.trouble)
        try:
            yield
        finally:
            self.trouble[before:] = [
                line for line in self.trouble[before:] if not any(word in line for word in words)
            ]
