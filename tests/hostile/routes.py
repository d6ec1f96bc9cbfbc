"""Every address there is, from the very table the server uses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver


@dataclass(frozen=True)
class Route:
    """A name, the way its address is written, and the names of what stands in it."""

    name: str
    written: str
    asks: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.name} {self.written}"


def routes() -> list[Route]:
    return list(_in(get_resolver().url_patterns, ""))


def _in(patterns: list[URLPattern | URLResolver], before: str) -> Iterator[Route]:
    for one in patterns:
        written = before + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from _in(one.url_patterns, written)
        else:
            yield Route(str(one.name), f"/{written}", tuple(one.pattern.converters))
