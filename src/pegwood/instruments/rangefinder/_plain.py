"""A rangefinder's result as plain data."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from pegwood.instruments.plain_data import bounds_of, budget_of, figure, interval_of, plain, u_of, value_of

if TYPE_CHECKING:
    from pegwood.instruments.rangefinder.lever import Rounds
    from pegwood.instruments.rangefinder.results import AtDistance, RangefinderResult, Turning
    from pegwood.instruments.rangefinder.rounds import MeasuredRounds
    from pegwood.instruments.rangefinder.vertical import Vertical

__all__ = ["as_plain_data"]


def as_plain_data(result: RangefinderResult) -> dict[str, Any]:
    """
    The result as the schema ``measure.rangefinder`` describes it.

    Parameters
    ----------
    result : RangefinderResult

    Returns
    -------
    data : dict
        Every number finite or None.
    """
    return {
        **figure("offset", "dpt", result.offset),
        "offset_budget": budget_of(result.offset.budget if result.offset else ()),
        **figure("gain", "", result.gain),
        "gain_budget": budget_of(result.gain.budget if result.gain else ()),
        **figure("curvature", "per_dpt", result.curvature),
        "bowed": result.bowed,
        "film_error_m": [value_of(one) for one in result.film_error],
        "film_error_u_m": [u_of(one) for one in result.film_error],
        "film_error_95_m": [interval_of(one) for one in result.film_error],
        "limit_m": result.limit.high,
        "limit": bounds_of(result.limit),
        "verdict": result.verdict,
        "advice": list(result.advice),
        "turns": [vars(one) for one in result.turns],
        "distances": [_at(one) for one in result.distances],
        "points": [vars(one) for one in result.points],
        "curve": [vars(one) for one in result.curve],
        "base": {
            "base_m": result.base.length_m,
            "magnification": result.base.magnification,
            "effective_m": result.base.effective_m,
            "acuity_rad": result.acuity[0],
            "source": result.acuity[1],
            "mark": result.acuity[2],
            "best_dpt": result.best_dpt,
            "stop_to_be_had": result.stop_to_be_had,
        },
        "vertical": _vertical(result.vertical),
        "turning": _turning(result.turning),
        "measured_rounds": _measured_rounds(result.measured_rounds),
        "warnings": list(result.warnings),
        "notes": list(result.notes),
    }


def _at(one: AtDistance) -> dict[str, Any]:
    return {
        "true_dpt": one.true_dpt,
        "true_m": plain(1 / one.true_dpt) if one.true_dpt else None,
        "n": one.n,
        **figure("error", "dpt", one.error),
        **figure("film_error", "m", one.film_error),
        "verdict": one.verdict,
        "base_range_error_m": plain(one.allows.range_m),
        "base_film_error_m": one.allows.film_m,
        "to_be_had": one.allows.to_be_had,
    }


def _vertical(one: Vertical | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        **figure("error", "rad", one.error),
        "limit": bounds_of(one.limit),
        "verdict": one.verdict,
    }


def _rounds(one: Rounds) -> dict[str, Any]:
    return {
        "order": one.order,
        "factor": plain(one.factor),
        "rounds": one.rounds,
        "within_dpt": one.within_dpt,
        "steps": [vars(step) for step in one.steps],
    }


def _turning(one: Turning | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "lever_ratio": one.lever.ratio,
        "lever_tilt_rad": one.lever.tilt_rad,
        "arm": one.lever.arm,
        "zero_rad": one.lever.zero_rad,
        "steady_dpt": one.lever.steady_dpt,
        "given": one.given,
        "source": one.source,
        "mark": one.mark,
        "infinity_moves_dpt": one.infinity_moves_dpt,
        "best": _rounds(one.best),
        "other": _rounds(one.other),
        "overshoot": one.overshoot,
    }


def _measured_rounds(one: MeasuredRounds | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "factor": value_of(one.factor),
        "factor_u": u_of(one.factor),
        "factor_95": None if one.factor_95 is None else [plain(end) for end in one.factor_95],
        "converging": one.converging,
        "rounds_left": one.rounds_left,
        "rounds_left_at_most": one.rounds_left_at_most,
        "overshoot": None if one.overshoot is None or not math.isfinite(one.overshoot) else one.overshoot,
    }
