"""What the instrument answers, as plain data."""

from __future__ import annotations

import math
from typing import Any

from pegwood.instruments.focus.flange import Register, RegisterResult
from pegwood.instruments.focus.scale import Mark, ScaleResult
from pegwood.instruments.focus.series import SeriesResult, Shot
from pegwood.instruments.focus.through_focus import FocusPeak
from pegwood.instruments.focus.tilt import Place, Plane, Shim
from pegwood.instruments.plain_data import (
    bounds_of,
    budget_of,
    figure,
    interval_of,
    plain,
    u_of,
    value_of,
)
from pegwood.instruments.uncertainty import Measured

__all__ = ["register_json", "scale_json", "series_json"]


def series_json(result: SeriesResult) -> dict[str, Any]:
    """
    A series through focus.

    Parameters
    ----------
    result : SeriesResult

    Returns
    -------
    data : dict
        As `measure.focus.schema.json` describes it.
    """
    shots = result.shots
    return {
        "mtf50": [value_of(one.mtf50) for one in shots],
        "mtf50_u": [u_of(one.mtf50) for one in shots],
        "mtf50_95": [interval_of(one.mtf50) for one in shots],
        "at": [plain(one.at) for one in shots],
        **figure("best", "", result.best),
        "best_budget": budget_of(result.best.budget if result.best else ()),
        "fit": _fit(result.peak),
        "shots": [_shot(one) for one in shots],
        "places": [
            {
                "place_m": _place(one.place),
                "f_number": plain(one.f_number),
                **figure("best", "", one.peak.best if one.peak else None),
                "fit": _fit(one.peak),
                "why_not": one.why or None,
            }
            for one in result.places
        ],
        "tilt": _plane(result.tilt),
        **figure("corner", "m", result.corner),
        "limit": bounds_of(result.limit),
        "verdict": result.verdict,
        "screws": [_shim(one) for one in result.shims],
        "stops": [
            {
                "f_number": one.f_number,
                **figure("shift", "m", one.shift),
                "depth_m": one.depth,
                "limit": bounds_of(one.limit),
                "verdict": one.verdict,
            }
            for one in result.stops
        ],
        "advice": list(result.advice),
        "warnings": list(result.warnings),
        "notes": list(result.notes),
    }


def scale_json(result: ScaleResult) -> dict[str, Any]:
    """
    A distance scale's readings.

    Parameters
    ----------
    result : ScaleResult

    Returns
    -------
    data : dict
        As `measure.focus.scale.schema.json` describes it.
    """
    return {
        **figure("infinity", "depths", _in_depths(result.at_infinity)),
        **figure("near", "depths", _in_depths(result.near)),
        **figure("offset", "m", result.offset),
        "offset_budget": budget_of(result.offset.budget),
        **figure("gain", "", result.gain),
        **figure("shim", "m", result.shim),
        **figure("helicoid", "turns", result.turn),
        "focal_m": result.lens.focal_m,
        "f_number": result.lens.f_number,
        "confusion_m": result.lens.confusion_m,
        "counted_from": result.lens.counted_from,
        "marks": [_mark(one) for one in result.marks],
        "verdict": result.verdict,
        "advice": list(result.advice),
        "warnings": list(result.warnings),
        "notes": list(result.notes),
    }


def register_json(result: RegisterResult) -> dict[str, Any]:
    """
    A depth gauge's readings.

    Parameters
    ----------
    result : RegisterResult

    Returns
    -------
    data : dict
        As `measure.focus.flange.schema.json` describes it.
    """
    return {
        **figure("error", "m", result.error),
        "limit": bounds_of(result.limit),
        "verdict": result.verdict,
        "surfaces": [_register(one) for one in result.surfaces],
        **figure("channel", "m", result.channel),
        "channel_limit": bounds_of(result.channel_limit),
        "channel_verdict": result.channel_verdict,
        **figure("film_float", "m", result.film_float),
        "screws": [_shim(one) for one in result.shims],
        "advice": list(result.advice),
        "warnings": list(result.warnings),
        "notes": list(result.notes),
    }


def _shot(one: Shot) -> dict[str, Any]:
    seen = one.figures
    return {
        "file": one.name,
        "at": plain(one.at),
        "place_m": _place(one.place),
        "f_number": plain(one.f_number),
        **figure("mtf50", "", one.mtf50),
        "budget": budget_of(one.mtf50.budget if one.mtf50 else ()),
        "degrees": None if seen is None else plain(seen.line.degrees),
        "x": None if seen is None else plain(seen.line.x),
        "y": None if seen is None else plain(seen.line.y),
        "length": None if seen is None else plain(2 * seen.line.half_length),
        "overshoot": None if seen is None else plain(seen.overshoot),
        "noise": None if seen is None else plain(seen.noise),
        "f": None if seen is None else [plain(value) for value in seen.f],
        "mtf": None if seen is None else [plain(value) for value in seen.mtf],
        "why_not": one.why or None,
    }


def _fit(peak: FocusPeak | None) -> dict[str, Any] | None:
    if peak is None:
        return None
    return {
        "peak_mtf50": plain(peak.peak),
        "degree": peak.degree,
        "left_out": list(peak.left_out),
        "at": [plain(value) for value in peak.at[::8]],
        "mtf50": [plain(value) for value in peak.curve[::8]],
    }


def _place(place: Place | None) -> list[float] | None:
    return None if place is None else [float(place[0]), float(place[1])]


def _plane(plane: Plane | None) -> dict[str, Any] | None:
    if plane is None:
        return None
    return {
        **figure("middle", "m", plane.middle),
        **figure("right", "rad", plane.right),
        **figure("up", "rad", plane.up),
        **figure("curved", "m", plane.curved),
        "residuals_m": [plain(one) for one in plane.residuals],
        "budget": budget_of(plane.right.budget),
    }


def _shim(one: Shim) -> dict[str, Any]:
    return {"place_m": _place(one.place), **figure("change", "m", one.change), **figure("add", "m", one.add)}


def _in_depths(one: Mark | None) -> Measured | None:
    """A mark's error as a share of the depth of focus to one side: beyond 1 the image is soft there."""
    return None if one is None else one.error.scaled(1 / one.depth_m)


def _mark(one: Mark) -> dict[str, Any]:
    return {
        "marked_m": plain(one.marked_m),
        "infinity": math.isinf(one.marked_m),
        **figure("error", "m", one.error),
        "budget": budget_of(one.error.budget),
        "readings": one.readings,
        "depth_of_focus_m": one.depth_m,
        "near_m": plain(one.near_m),
        "far_m": plain(one.far_m),
        "limit": bounds_of(one.limit),
        "verdict": one.verdict,
    }


def _register(one: Register) -> dict[str, Any]:
    return {
        "to": one.to,
        **figure("distance", "m", one.distance),
        "budget": budget_of(one.distance.budget),
        "points": [
            {"place_m": _place(place), **figure("depth", "m", mean), "readings": n}
            for place, mean, n in one.points
        ],
        "tilt": _plane(one.plane),
    }
