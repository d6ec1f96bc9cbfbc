"""Figures of the firings of a video, with their budgets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter import Curve, Shot
from pegwood.instruments.uncertainty import Component, combine
from pegwood.instruments.video._firings import Firing, is_partial
from pegwood.instruments.video._rate import NOMINAL_U, Rate
from pegwood.instruments.video._trace import Trace
from pegwood.instruments.video._transfer import bend

__all__ = ["shots_of"]

_CLOCK_PPM = 100.0
_CLOCK_SOURCE = "Crystals of phones: within 100 ppm"
# Where every edge is seen: first harmonic of the sampling, 1 / (pi sqrt 2), weakened by an edge of W periods
# to sin(pi W) / (pi W), root mean square over W from 1 to 2; and over every W, 1 / (2 pi^2 W), 0.9 W
# of which lie between 5 and 95 %
_UNSEEN, _COARSE = 0.036, 0.0456
_TWICE = 2  # edges that leave two frames partly lit: then no edge of them falls between two exposures
_CURVE_POINTS = 400
_N_DARK = 12

Array = NDArray[np.float64]


def shots_of(firings: Sequence[Firing], trace: Trace, rate: Rate) -> list[Shot]:
    """
    Effective time and budget of every firing.

    Parameters
    ----------
    firings : sequence of Firing
        Those that can be timed.
    trace : Trace
        Where they come from.
    rate : Rate
        How fast it was filmed.

    Returns
    -------
    shots : list of Shot
        In the same order; total, opening and closing time withheld.
    """
    if not firings:
        return []
    unseen = _unseen(firings)
    return [_shot(firing, unseen, trace, rate) for firing in firings]


@dataclass(frozen=True)
class _Unseen:
    """What may fall between the exposures of two frames: standard uncertainty of each edge, in periods."""

    opening: float
    closing: float
    note: str


def _unseen(firings: Sequence[Firing]) -> _Unseen:
    """
    Uncertainty of the place of an edge between frames, as all firings of a file show it.

    Of sharp edges that fall anywhere, a share w leaves a frame partly lit if exposure, spread of rows and the
    edge itself fill a share w of the frame period; in the rest, 1 - w, an edge is not seen. After m edges of
    n left one, w has the beta distribution of m + 1/2 and n - m + 1/2 (Jeffreys' prior).

    Edges that fill more than one period leave two frames partly lit now and then, and none leaves none: what
    is left is how coarsely they are sampled.
    """
    out, seen, total = [], 0, 0
    for edges in ([f.opening for f in firings], [f.closing for f in firings]):
        partly = [
            int(is_partial(e, max(f.noise_dark, f.noise_lit)).sum())
            for e, f in zip(edges, firings, strict=True)
        ]
        n, m = len(partly), sum(p > 0 for p in partly)
        if m == n and sum(p > 1 for p in partly) >= _TWICE:
            out.append(_COARSE / float(np.mean(partly)))
        else:
            lost = (n - m + 0.5) * (n - m + 1.5) / ((n + 1) * (n + 2))  # mean of (1 - w)^2
            out.append(math.sqrt(lost / 12 + _UNSEEN**2))
        seen, total = seen + m, total + n
    note = (
        f"{seen} of {total} edges of light left a frame partly lit; light between two exposures is not seen"
    )
    return _Unseen(out[0], out[1], note)


def _shot(f: Firing, unseen: _Unseen, trace: Trace, rate: Rate) -> Shot:
    period_s = f.period_s if rate.source == "stamps" else 1 / rate.captured_fps
    effective_s = f.open_frames * period_s
    parts = [
        Component(
            "frame integration", period_s * math.hypot(unseen.opening, unseen.closing), note=unseen.note
        ),
        _by_transfer(f, period_s),
        Component("rolling rows", 0.0, note="rows are read one after another; each sees the light as long"),
        _by_noise(f, period_s),
        _by_rate(f, rate, effective_s),
        Component(
            "clock",
            effective_s * _CLOCK_PPM * 1e-6 / math.sqrt(3),
            note=f"rate of the phone's crystal, within {_CLOCK_PPM:.0f} ppm",
            source=_CLOCK_SOURCE,
            mark="practice",
        ),
    ]
    if f.waver > 0:
        lit = [float(np.clip(edge, 0, 1).sum()) for edge in (f.opening, f.closing)]
        note = f"full light wavers by {100 * f.waver:.2g} % (rms)"
        parts.append(Component("light ripple", period_s * f.waver * math.hypot(*lit), note=note))
    return Shot(
        at_s=float(trace.stamps_s[f.first]),
        channel=0,
        effective=combine(effective_s, parts),
        total=None,
        opening=None,
        closing=None,
        efficiency=None,
        half_height_s=None,
        bounce=f.bounce_frames > 0,
        bounce_extra_s=f.bounce_frames * period_s,
        curve=_curve(f, trace, period_s),
    )


def _by_transfer(f: Firing, period_s: float) -> Component:
    """What a phone's own way of bending light may do to partly lit frames."""
    u, source, mark = bend()
    note = f"exponent between stored value and light, within {100 * u:.0f} % (k = 1), on partly lit frames"
    return Component("transfer function", period_s * f.pull * u, note=note, source=source, mark=mark)


def _by_noise(f: Firing, period_s: float) -> Component:
    edges = len(f.opening) + len(f.closing)
    share = float(f.opening.sum() + f.closing.sum()) / max(1, f.n_full)
    variance = (
        edges * max(f.noise_dark, f.noise_lit) ** 2
        + (edges * f.noise_dark) ** 2 / _N_DARK
        + f.n_full * (share * f.noise_lit) ** 2
    )
    df = max(1.0, f.n_full + _N_DARK - 2.0)
    return Component("noise", period_s * math.sqrt(variance), df, "A", "of the frames' mean light")


def _by_rate(f: Firing, rate: Rate, effective_s: float) -> Component:
    if rate.source == "stamps":
        note = "even steps fitted to the time stamps; whole steps are a nominal rate"
        return Component("stamps", effective_s * f.period_u, note=note)
    note = "a rate given as 240 may be 240/1.001"
    return Component("frame rate", effective_s * NOMINAL_U, note=note, source="NTSC's ratio", mark="practice")


def _curve(f: Firing, trace: Trace, period_s: float) -> Curve:
    low, high = max(0, f.first - 5), min(len(trace.light), f.last + 6)
    step = max(1, -(-(high - low) // _CURVE_POINTS))
    dark = float(trace.light[max(0, f.first - 4) : f.first].mean())
    times = (np.arange(low, high, step) - f.first) * period_s
    level = (trace.light[low:high:step] - dark) / f.level
    marks = ("first_light", "half_open", "fully_open", "begins_to_close", "half_closed", "last_light")
    return Curve(tuple(map(float, times)), tuple(map(float, level)), dict.fromkeys(marks))
