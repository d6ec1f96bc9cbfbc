"""From what is told beside the readings, in the words and units of the bench, to the analysis."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pegwood.instruments.given import Given
from pegwood.instruments.rangefinder._practice import ARCMIN, ARCSEC, acuity, circle
from pegwood.instruments.rangefinder.analysis import analyse_rangefinder
from pegwood.instruments.rangefinder.base import Base, split_image_base
from pegwood.instruments.rangefinder.finder import Finder
from pegwood.instruments.rangefinder.readings import readings_from
from pegwood.instruments.rangefinder.results import Kind, RangefinderResult
from pegwood.instruments.readings import FiguresTable, RefusedReadings, metres

__all__ = ["analyse_told", "before_and_now", "finder_told"]

ROUND = "round"
_OWN = "told with the readings"


def finder_told(told: Mapping[str, Any]) -> Finder:
    """
    The finder as it was told; what is missing or None is not known, or the ordinary.

    Parameters
    ----------
    told : mapping
        `kind` ("coupled", "uncoupled" or "screen"); `base_mm`, or of a screen `prism_deg` and `prism_index`;
        `magnification`, `focal_mm`, `stop`; `film_format` or `circle_mm`; `acuity` or `acuity_arcsec`;
        `reading_dpt`, `true_mm`, `nearest`, `measured_from`, `screw_dpt_per_turn`, `gain_per_turn`,
        `lever_ratio`, `lever_tilt_deg`.

    Returns
    -------
    finder : Finder

    Raises
    ------
    RefusedReadings
        If something must be told that was not, or cannot be.
    """
    kind: Kind = told.get("kind") or "coupled"
    if kind not in ("coupled", "uncoupled", "screen"):
        raise RefusedReadings("A finder is coupled, uncoupled or a split-image screen.", "kind")
    focal_m, stop, magnification = (_need(told, name) for name in ("focal_mm", "stop", "magnification"))
    focal_m /= 1e3
    if kind == "screen":
        index = told.get("prism_index")
        length_m = split_image_base(
            focal_m, stop, _need(told, "prism_deg"), 1.49 if index is None else float(index)
        )
    else:
        length_m = _need(told, "base_mm") / 1e3
    tilt = told.get("lever_tilt_deg")
    nearest = told.get("nearest")
    own_circle, own_acuity = told.get("circle_mm"), told.get("acuity_arcsec")
    return Finder(
        Base(length_m, magnification),
        focal_m,
        stop,
        kind=kind,
        circle=circle(told.get("film_format") or "135")
        if own_circle is None
        else Given(own_circle / 1e3, _OWN, "practice"),
        acuity=acuity(told.get("acuity") or "practice")
        if own_acuity is None
        else Given(own_acuity * ARCSEC, _OWN, "practice"),
        reading_dpt=told.get("reading_dpt"),
        true_u_m=(told.get("true_mm") or 0.0) / 1e3,
        nearest_m=metres(str(nearest)) if nearest else None,
        measured_from=told.get("measured_from") or "lens",
        screw_dpt_per_turn=told.get("screw_dpt_per_turn"),
        gain_per_turn=told.get("gain_per_turn"),
        lever_ratio=told.get("lever_ratio"),
        lever_tilt_rad=None if tilt is None else math.radians(tilt),
    )


_NEEDED = {
    "base_mm": "Tell the base, from window to window in mm, such as 40.",
    "prism_deg": "Tell the angle of the screen's wedges in degrees, such as 8.",
    "magnification": "Tell the finder's magnification, such as 0.7.",
    "focal_mm": "Tell the lens's focal length in mm, such as 50.",
    "stop": "Tell the lens's widest stop, such as 2.",
}


def _need(told: Mapping[str, Any], name: str) -> float:
    value = told.get(name)
    if value is None:
        raise RefusedReadings(_NEEDED[name], name)
    return float(value)


def before_and_now(table: FiguresTable) -> tuple[FiguresTable | None, FiguresTable | None]:
    """
    One table as two: the readings from before the last round of turning, and those of now.

    Parameters
    ----------
    table : FiguresTable
        May have a column `round`: "before", and "now" or nothing.

    Returns
    -------
    before, now : FiguresTable or None
        None where there is no reading of it.

    Raises
    ------
    RefusedReadings
        If a cell says neither.
    """
    if ROUND not in table.columns:
        return None, table
    which = table.column(ROUND, _is_before)
    parts = (
        tuple(row for row, before in zip(table.rows, which, strict=True) if before is wanted)
        for wanted in (True, False)
    )
    before, now = (replace(table, rows=rows) if rows else None for rows in parts)
    return before, now


def _is_before(text: str) -> bool:
    said = text.strip().casefold()
    if said not in ("", "now", "before"):
        raise RefusedReadings(f"{text.strip()[:40]!r} says not when. Write before or now.")
    return said == "before"


def analyse_told(
    table: FiguresTable,
    told: Mapping[str, Any],
    *,
    before: FiguresTable | None = None,
    finder: Finder | None = None,
) -> RangefinderResult:
    """
    What a table of readings tells of a finder as it was told.

    Parameters
    ----------
    table : FiguresTable
        As `readings_from` takes it; with a column `round` it may hold those from before the last round too.
    told : mapping
        As `finder_told` takes it, and `vertical_arcmin`, a list: heights of the moving image, [arcmin].
    before : FiguresTable, optional
        Readings from before the last round of turning, in a table of their own.
    finder : Finder, optional
        The finder as it was told, the workshop's own limits in it; `finder_told` if not given.

    Returns
    -------
    result : RangefinderResult

    Raises
    ------
    RefusedReadings
        One line, with the remedy.
    """
    within, now = before_and_now(table)
    if now is None:
        raise RefusedReadings(
            "Every reading is from before the round. Read again after it, or leave that out."
        )
    if within is not None and before is not None:
        raise RefusedReadings("Readings from before the round came twice: in the table, and beside it.")
    earlier = before if within is None else within
    return analyse_rangefinder(
        readings_from(now),
        finder or finder_told(told),
        vertical_rad=[float(one) * ARCMIN for one in told.get("vertical_arcmin") or ()],
        before=None if earlier is None else readings_from(earlier),
    )
