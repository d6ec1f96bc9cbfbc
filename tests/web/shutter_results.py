"""Shutter results whose figures are known because they were made: trapezoids of light."""

from __future__ import annotations

import math
from typing import Any

from pegwood.instruments.shutter import Curve, MarkedSpeed, Shot, ShutterResult, Summary
from pegwood.instruments.uncertainty import Component, Measured
from pegwood.instruments.verdicts import Limit, verdict

THIRD = Limit(-1 / 3, 1 / 3, "the workshop's own, for old front shutters", "practice")


def trapezoid(effective_s: float, edge_s: float) -> Curve:
    """Light that rises over `edge_s`, stays, and falls over `edge_s`; the area is `effective_s`."""
    closes = effective_s
    corners = ((0.0, 0.0), (edge_s, 1.0), (closes, 1.0), (closes + edge_s, 0.0))
    return Curve(
        t_s=tuple(t for t, _ in corners),
        level=tuple(level for _, level in corners),
        marks_s={
            "first_light": 0.0,
            "half_open": edge_s / 2,
            "fully_open": edge_s,
            "begins_to_close": closes,
            "half_closed": closes + edge_s / 2,
            "last_light": closes + edge_s,
        },
    )


def shot(at_s: float, effective_s: float, edge_s: float = 1e-3, u: float = 0.005) -> Shot:
    """One firing; `u` is relative (k = 1)."""
    noise = Component("noise", u * effective_s, kind="A", df=9, note="from the dark before the firing")

    def known(value: float) -> Measured:
        return Measured(value, u * value, df=9)

    return Shot(
        at_s=at_s,
        channel=0,
        effective=Measured(effective_s, u * effective_s, df=9, budget=(noise,)),
        total=known(effective_s + edge_s),
        opening=known(edge_s),
        closing=known(edge_s),
        efficiency=known(effective_s / (effective_s + edge_s)),
        half_height_s=effective_s,
        bounce=False,
        bounce_extra_s=0.0,
        curve=trapezoid(effective_s, edge_s),
    )


def made(
    marked: str,
    error_ev: float,
    *,
    u_ev: float = 0.02,
    n: int = 3,
    limit: Limit | None = THIRD,
    warnings: tuple[str, ...] = (),
) -> ShutterResult:
    """A result of `n` equal firings, off by `error_ev`."""
    speed = MarkedSpeed.parse(marked)
    target = speed.seconds()
    effective = (target or 1.0) * 2**error_ev
    edge = min(1e-3, effective / 2)
    error = None if target is None else Measured(error_ev, u_ev, df=20)
    noise = Component("noise", effective * u_ev * math.log(2), df=20, kind="A")
    return ShutterResult(
        file="made.wav",
        method="made for a test",
        coupling="DC",
        sample_rate_hz=96_000.0,
        shots=tuple(shot(0.2 + i, effective, edge) for i in range(n)),
        summary=Summary(
            n=n,
            effective=Measured(effective, effective * u_ev * math.log(2), df=20, budget=(noise,)),
            spread_ev=0.03,
            range_ev=0.06,
            error=error,
            first_firing=None,
            verdict=verdict(error, None if target is None else limit),
            limit=None if target is None else limit,
        ),
        warnings=warnings,
        notes=(),
        marked=speed,
        reading="exact",
    )


def as_kept(result: ShutterResult) -> dict[str, Any]:
    """The fields of a measurement that hold a result."""
    return {"result": result.to_json(), "curves": result.curves_json(), "progress": "read"}
