"""Walking an answer's JSON for figures that stand without their source."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

MARKS = {"seen", "memory", "practice"}


def unsourced(answer: Any) -> list[str]:
    """The places of an answer's JSON that `_without` finds; none is as it should be."""
    return list(_without(answer, "answer"))


def _without(value: Any, where: str) -> Iterator[str]:
    """The places of mappings that hold a number, or say something, without source and mark beside it."""
    if isinstance(value, Mapping):
        told = _figures(value) or (where != "answer" and "says" in value)
        if told and not _has_source(value):
            yield where
        for name, inside in value.items():
            yield from _without(inside, f"{where}.{name}")
    elif isinstance(value, (list, tuple)):
        for place, inside in enumerate(value):
            yield from _without(inside, f"{where}[{place}]")


def _is_figure(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _figures(value: Mapping[str, Any]) -> bool:
    held = [one for one in value.values() if not isinstance(one, (list, tuple))]
    held += [one for several in value.values() if isinstance(several, (list, tuple)) for one in several]
    return any(_is_figure(one) for one in held)


def _has_source(value: Mapping[str, Any]) -> bool:
    one = bool(str(value.get("source", "")).strip()) and value.get("mark") in MARKS
    several = value.get("sources") or []
    return one or (bool(several) and all(_has_source(source) for source in several))
