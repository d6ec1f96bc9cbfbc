"""How a film moved, from a strip, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.gauged.figures import error_side, figure_side, limit_notes, plain_side
from pegwood.papers.gauged.telling import Said

CAUTION = "Film is somebody's picture: gloves, and no hot lamp under it."


def said(result: Mapping[str, Any], locale: str) -> Said:
    """
    The spacing first, then how it wanders, then the gate and what scratched.

    Parameters
    ----------
    result : mapping
        As `measure.transport` describes it.
    locale : str
    """
    figures: dict[str, Side | None] = {
        "frame to frame": figure_side(result, "pitch", "m", locale, result["verdict"]),
        "scatter of the spacing": figure_side(result, "scatter", "m", locale, result["scatter_verdict"]),
        "longer from frame to frame": error_side(result, "trend", locale, unit="m"),
        "frames over each other": _overlaps(result),
        "narrowest gap": figure_side(result, "narrowest_gap", "m", locale, result.get("gap_verdict", "")),
        "gate's edges off square": figure_side(result, "lean", "rad", locale, result["lean_verdict"]),
        "gate's width": figure_side(result, "gate_width", "m", locale),
        "scratches along the film": _scratches(result),
    }
    seen = len(result["frames"])
    return Said(
        figures={label: side for label, side in figures.items() if side is not None},
        notes=(
            f"{seen} frame{'s' if seen != 1 else ''} on the strip; the format's own spacing is "
            f"{result['nominal_m'] * 1e3:.4g} mm.",
            *_limits(result, locale),
            *limit_notes((result["lean_limit"],), "rad", locale),
            *(result.get("warnings") or ()),
        ),
        caution=CAUTION,
    )


def _limits(result: Mapping[str, Any], locale: str) -> Iterator[str]:
    yield from limit_notes((result["pitch_limit"],), "m", locale)
    # of an answer of before there was a limit of the gap there is none
    for words, name in (("Scatter", "scatter_limit"), ("Gap", "gap_limit")):
        if result.get(name):
            for note in limit_notes((result[name],), "m", locale):
                yield f"{words}: {note[0].lower()}{note[1:]}"


def _overlaps(result: Mapping[str, Any]) -> Side | None:
    if not result["spacings_m"]:
        return None
    return Side(text=str(result["overlaps"]) if result["overlaps"] else "none")


def _scratches(result: Mapping[str, Any]) -> Side | None:
    at = [plain_side(one["from_top_m"] * 1e3, "", "") for one in result["scratches"]]
    told = ", ".join(side.text for side in at if side)
    return Side(text=f"{told} mm from its upper edge") if told else None
