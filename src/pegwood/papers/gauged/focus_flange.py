"""A register by depth gauge, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.figures import MINUS
from pegwood.papers.gauged.figures import error_side, figure_side, limit_notes
from pegwood.papers.gauged.telling import Said

CAUTION = "A gauge's foot scratches: keep it off curtains, ground glass, mirrors and plates on springs."


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    How far the register is off first, then what was read, the tilt, the film's channel.

    Parameters
    ----------
    result : mapping
        As `measure.focus.flange` describes it.
    locale : str
    """
    figures: dict[str, Side | None] = {
        "off the nominal register": error_side(result, "error", locale, result["verdict"], unit="m"),
    }
    for one in result["surfaces"]:
        figures[f"flange to {one['to']}"] = figure_side(one, "distance", "m", locale)
    tilt = result["surfaces"][0]["tilt"]
    if tilt is not None:
        figures["right side deeper by"] = error_side(tilt, "right", locale, unit="rad")
        figures["top deeper by"] = error_side(tilt, "up", locale, unit="rad")
    for one in result.get("screws") or ():
        x, y = (f"{1e3 * side:.3g}".replace("-", MINUS) for side in one["place_m"])
        figures[f"shim, screw at {x}, {y} mm"] = error_side(one, "change", locale, unit="m")
    figures["film's channel"] = figure_side(result, "channel", "m", locale, result["channel_verdict"])
    figures["film floats by"] = figure_side(result, "film_float", "m", locale)
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            *_limits(result, locale),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )


def _limits(result: Mapping[str, Any], locale: str) -> Iterator[str]:
    if result["limit"] is not None:
        yield from limit_notes([result["limit"]], "m", locale)
    if result["channel_limit"] is not None:
        for note in limit_notes([result["channel_limit"]], "m", locale):
            yield f"Film's channel: {note[0].lower()}{note[1:]}"
