"""Filters for what may be wrong: a chance in words, a look-up."""

from __future__ import annotations

from collections.abc import Mapping

from django import template

from pegwood.web.causes import words

register = template.Library()


@register.filter
def chance(value: float) -> str:
    """{{ one.chance|chance }}: 61 %, 1 in 250."""
    return words.chance(value)


@register.filter
def at(values: Mapping[str, str], key: str) -> str:
    """{{ said|at:sign }}: what stands there; empty for nothing."""
    return values.get(key, "")
