"""What focus is held against: the workshop's limits, and its circle of confusion of a format."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pegwood.book.gauging.limits import limit_in
from pegwood.instruments.focus import FocusLimits, Format, picture_format
from pegwood.instruments.verdicts import Bounds


def limits_of(said: Mapping[str, Any]) -> FocusLimits:
    """The limits in use; the film's channel is one of two figures, and says whose both are."""
    least, most = limit_in(said, "focus.channel-least_m"), limit_in(said, "focus.channel-most_m")
    one_source = (least.source, least.mark) == (most.source, most.mark)
    source = most.source if one_source else f"from below {least.source}; from above {most.source}"
    # of two marks the weaker: practice has no source at all
    mark = most.mark if least.mark == most.mark else "practice"
    channel = Bounds(least.low, most.high, most.unit, source, mark, most.note)
    return FocusLimits(limit_in(said, "focus.register_m"), limit_in(said, "focus.share_depths"), channel)


def format_of(said: Mapping[str, Any], usual: str = "24x36") -> Format:
    """
    The format that was told, with the workshop's own circle of confusion where it has one.

    Raises
    ------
    RefusedReadings
        If there is none of that name.
    """
    told = picture_format(str(said.get("film_format") or usual))
    kept = limit_in(said, f"rangefinder.circle_{told.circle}_m")
    return replace(told, confusion_m=kept.high or told.confusion_m, source=kept.source, mark=kept.mark)
