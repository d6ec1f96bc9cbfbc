"""Flash contacts beside the light: one closing for every firing, timed against its light curve."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.optimize import isotonic_regression

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._closure import Closure, Instant, find_closure
from pegwood.instruments.shutter.contacts import MOMENTS, SETTINGS, contact_verdict, rows_for
from pegwood.instruments.shutter.results import Contact, Curve, Shot
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["read_contacts"]

_BEFORE_S, _AFTER_S = 0.1, 0.3
_REST = 0.4  # of what is looked at before first light, in which the contact is still open
_LONGEST_S = 20.0  # of a firing, looked at
_LIKE_OTHERS = 0.3  # of the largest swing of the recording: less is pick-up
_TRACE = 0.02  # of the light's own swing: less is pick-up too


def read_contacts(
    recording: Recording,
    channel: int,
    firings: Sequence[Shot],
    kind: str,
    light_swing: float,
) -> tuple[tuple[Contact, ...], tuple[str, ...]]:
    """
    Time the contact of every firing.

    Parameters
    ----------
    recording : Recording
        The recording.
    channel : int
        The contact's channel.
    firings : sequence of Shot
        One shot of every firing, in order of time.
    kind : str
        One of `KINDS`.
    light_swing : float
        How far the light moves its channel, in the unit of the readings.

    Returns
    -------
    contacts : tuple of Contact
        Firings whose contact closed.
    warnings : tuple of str
        Firings whose contact was not seen, and what else to know.
    """
    found = [_closure_of(recording, channel, i, firings) for i in range(len(firings))]
    largest = max((abs(c.swing) for _, c in found if c is not None), default=0.0)
    contacts: list[Contact] = []
    silent: list[float] = []
    for shot, (start, closure) in zip(firings, found, strict=True):
        least = max(_LIKE_OTHERS * largest, _TRACE * light_swing)
        if closure is None or abs(closure.swing) < least:
            silent.append(shot.at_s)
        else:
            contacts.append(_timed(shot, closure, start, recording, channel, kind))
    warnings = [f"At {at:.3f} s the contact in channel {channel} did not close." for at in silent[:5]]
    if len(silent) > 5:
        warnings.append(f"Nor did it in {len(silent) - 5} more firings.")
    if firings and not contacts:
        warnings.append(
            f"No contact was seen in channel {channel}. Check the wires, that the setting closes it, and "
            "that its few volts reach the recorder at no less than a fiftieth of the light's."
        )
    return tuple(contacts), tuple(warnings)


def _closure_of(
    recording: Recording, channel: int, i: int, firings: Sequence[Shot]
) -> tuple[int, Closure | None]:
    """What the contact did around a firing, and the number of the sample that this is counted from."""
    rate, shot = recording.sample_rate_hz, firings[i]
    begins, ends = shot.at_s - _BEFORE_S, _last_light(shot) + _AFTER_S
    if i:
        begins = max(begins, 0.5 * (_last_light(firings[i - 1]) + shot.at_s))
    if i + 1 < len(firings):
        ends = min(ends, 0.5 * (_last_light(shot) + firings[i + 1].at_s))
    start = max(0, round(begins * rate))
    stop = min(recording.n_samples, round(min(ends, begins + _LONGEST_S) * rate))
    y = recording.read(start, stop)[:, channel].astype(np.float64)
    n_rest = int(_REST * (shot.at_s * rate - start))
    return start, find_closure(y, n_rest, rate) if n_rest >= 16 else None


def _last_light(shot: Shot) -> float:
    return shot.at_s + (shot.curve.marks_s["last_light"] or shot.effective.value)


def _timed(
    shot: Shot, closure: Closure, start: int, recording: Recording, channel: int, kind: str
) -> Contact:
    dt = 1 / recording.sample_rate_hz
    at_s = (start + closure.closes.at) * dt
    clock = _relative_clock(shot)
    leads = {moment: _lead(_moment(shot, moment), at_s, closure.closes, dt, clock) for moment in MOMENTS}
    warnings: list[str] = []
    closed = None
    if closure.opens is not None:
        closed = _between(closure.closes, closure.opens, dt, clock)
    elif closure.drifts:
        warnings.append(
            "The contact's signal sinks while it is closed or swings past rest as it opens: its input is "
            "AC-coupled, which is not handled. The closing stands, how long it stays closed does not."
        )
    else:
        warnings.append("The contact was still closed where the signal was no longer looked at.")
    if closure.again:
        warnings.append(
            "The contact closed more than once, more than 10 ms apart; the first that lasted was taken."
        )
    if leads["fully open"] is None:
        warnings.append("The light curve does not show full opening: no delay.")
    bounce = None
    if not closure.drifts:
        gaps = closure.gaps
        length, u = sum(gaps) * dt, closure.gap_u * dt * math.sqrt(len(gaps))
        note = f"{len(gaps)} re-openings; shorter than {closure.hidden * dt * 1e6:.0f} us would not be seen"
        bounce = combine(length, [Component("edges of the re-openings", u, note=note)])
    rows = [row for setting in SETTINGS for row in rows_for(setting, kind)]
    return Contact(
        at_s=at_s,
        channel=channel,
        delay=leads["fully open"],
        closed=closed,
        bounces=len(closure.gaps) if bounce else None,
        bounce=bounce,
        verdicts={s: contact_verdict(rows_for(s, kind), leads) for s in SETTINGS},
        leads=leads,
        asked=tuple((row.setting, row.in_words(kind), row.source, row.mark) for row in rows),
        warnings=tuple(warnings),
    )


def _relative_clock(shot: Shot) -> float:
    u = math.hypot(*(c.u for c in shot.effective.budget if c.name == "clock"))
    return u / shot.effective.value


def _edge_parts(edge: Instant, dt: float, which: str) -> list[Component]:
    return [
        Component(f"{which}: noise", edge.noise * dt, note="of the contact's channel"),
        Component(f"{which}: sampling", edge.sampling * dt, note="it falls between two samples"),
        Component(
            f"{which}: softened edge",
            edge.shape * dt,
            note=f"time constant {edge.soft * dt * 1e6:.0f} us; need not be exactly exponential",
        ),
    ]


def _lead(moment: Measured | None, at_s: float, edge: Instant, dt: float, clock: float) -> Measured | None:
    """How long before a moment of the light the contact closed; positive is before."""
    if moment is None:
        return None
    value = moment.value - at_s
    parts = [*moment.budget, *_edge_parts(edge, dt, "contact")]
    return combine(value, [*parts, Component("clock", abs(value) * clock, note="of the recorder")])


def _between(closes: Instant, opens: Instant, dt: float, clock: float) -> Measured:
    value = (opens.at - closes.at) * dt
    parts = [*_edge_parts(closes, dt, "closing"), *_edge_parts(opens, dt, "opening")]
    return combine(value, [*parts, Component("clock", abs(value) * clock, note="of the recorder")])


def _moment(shot: Shot, moment: str) -> Measured | None:
    """A moment of the light curve, from the start of the recording, [s]."""
    if moment == "80 % open":
        return _when_80_percent(shot)
    if moment == "middle of the exposure":
        return _middle(shot)
    return shot.moments.get(moment)


def _middle(shot: Shot) -> Measured | None:
    """Half way between the half heights of both edges."""
    half_open, half_closed = (shot.curve.marks_s[name] for name in ("half_open", "half_closed"))
    edges = [edge.value for edge in (shot.opening, shot.closing) if edge is not None]
    if half_open is None or half_closed is None:
        return None
    u = 0.5 * 0.02 * math.hypot(*edges)
    parts = [Component("half heights", u, note="within 2 % of each edge", source="Tried", mark="practice")]
    return combine(shot.at_s + 0.5 * (half_open + half_closed), parts)


def _when_80_percent(shot: Shot) -> Measured | None:
    """When the light of an opening shutter reaches 80 % of its full level."""
    if shot.efficiency is None or shot.opening is None:
        return None
    t, level = _opening_of(shot.curve)
    if len(t) < 4 or not level[0] < 0.8 < level[-1]:
        return None
    risen = isotonic_regression(level).x
    k = int(np.searchsorted(risen, 0.8))
    near = slice(max(0, k - max(2, len(t) // 12)), k + max(2, len(t) // 12))
    step = float(np.median(np.diff(t)))
    x, y = t[near] - t[k], level[near]
    slope, middle = np.polyfit(x, y, 1)
    if len(x) < 3 or slope <= 0:
        return None
    residual = y - (slope * x + middle)
    at = t[k] + (0.8 - middle) / slope
    noise = math.sqrt(float(residual @ residual) / max(len(x) - 2, 1) / len(x)) / slope
    parts = [
        Component("noise of the light", noise, max(1.0, len(x) - 2.0), "A", "straight line through 80 %"),
        Component("sampling of the light", 0.3 * step, note="between two points of the light curve"),
    ]
    return combine(shot.at_s + float(at), parts)


def _opening_of(curve: Curve) -> tuple[np.ndarray, np.ndarray]:
    """The light curve up to a little beyond full opening."""
    t, level = np.array(curve.t_s), np.array(curve.level)
    full, half_closed = curve.marks_s["fully_open"], curve.marks_s["half_closed"]
    stop = full if full is not None else 0.5 * (half_closed or float(t[-1]))
    chosen = (t > -0.05 * stop) & (t < 1.1 * stop)
    return t[chosen], level[chosen]
