"""What was heard live as plain data and back, so that it outlives whoever listened."""

from __future__ import annotations

import math
from typing import Any

from pegwood.instruments.plain_data import plain
from pegwood.instruments.shutter.live import Heard
from pegwood.instruments.shutter.results import Curve, Shot
from pegwood.instruments.uncertainty import Component, Measured

__all__ = ["heard_from_json", "heard_to_json"]

_TIMES = ("effective", "total", "opening", "closing", "efficiency")


def heard_to_json(heard: Heard) -> dict[str, Any]:
    """
    Plain data: SI units, every number finite or None.

    Parameters
    ----------
    heard : Heard
        A firing.

    Returns
    -------
    data : dict
        Ready for strict JSON.
    """
    shot = heard.shot
    return {
        "number": heard.number,
        "begins": heard.begins,
        "ends": heard.ends,
        "reason": heard.reason,
        "settled": heard.settled,
        "coupling": heard.coupling,
        "shot": None if shot is None else _shot(shot),
    }


def heard_from_json(data: dict[str, Any]) -> Heard:
    """
    What `heard_to_json` wrote.

    Parameters
    ----------
    data : dict
        Its plain data.

    Returns
    -------
    heard : Heard
        The firing; its shot without moments.
    """
    shot = data["shot"]
    return Heard(
        number=data["number"],
        begins=data["begins"],
        ends=data["ends"],
        shot=None if shot is None else _shot_from(shot),
        reason=data["reason"],
        settled=data["settled"],
        coupling=data["coupling"],
    )


def _shot(shot: Shot) -> dict[str, Any]:
    return {
        "at_s": plain(shot.at_s),
        "channel": shot.channel,
        **{name: _measured(getattr(shot, name)) for name in _TIMES},
        "half_height_s": plain(shot.half_height_s),
        "bounce": shot.bounce,
        "bounce_extra_s": plain(shot.bounce_extra_s),
        "warnings": list(shot.warnings),
        "curve": {
            "t_s": [round(t, 7) for t in shot.curve.t_s],
            "level": [round(level, 4) for level in shot.curve.level],
            "marks_s": {name: plain(t) for name, t in shot.curve.marks_s.items()},
        },
    }


def _shot_from(data: dict[str, Any]) -> Shot:
    curve = data["curve"]
    effective, total, opening, closing, efficiency = (_measured_from(data[name]) for name in _TIMES)
    assert effective is not None
    return Shot(
        data["at_s"],
        data["channel"],
        effective,
        total,
        opening,
        closing,
        efficiency,
        half_height_s=data["half_height_s"],
        bounce=data["bounce"],
        bounce_extra_s=data["bounce_extra_s"],
        curve=Curve(tuple(curve["t_s"]), tuple(curve["level"]), dict(curve["marks_s"])),
        warnings=tuple(data["warnings"]),
    )


def _measured(value: Measured | None) -> dict[str, Any] | None:
    if value is None:
        return None
    parts = [[c.name, c.u, _df(c.df), c.kind, c.note, c.source, c.mark] for c in value.budget]
    return {"value": value.value, "u": value.u, "df": _df(value.df), "budget": parts}


def _measured_from(data: dict[str, Any] | None) -> Measured | None:
    if data is None:
        return None
    parts = tuple(Component(name, u, _finite(df), *rest) for name, u, df, *rest in data["budget"])
    return Measured(data["value"], data["u"], _finite(data["df"]), parts)


def _df(df: float) -> float | None:
    return None if math.isinf(df) else df


def _finite(df: float | None) -> float:
    return math.inf if df is None else df
