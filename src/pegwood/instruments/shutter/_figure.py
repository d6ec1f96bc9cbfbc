"""Figures of two curtains from the moments at which they pass the sensors, each with its budget."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from pegwood.instruments.shutter._group import SHARED
from pegwood.instruments.shutter._kinematics import Run, as_runs
from pegwood.instruments.shutter._passing import Passing
from pegwood.instruments.shutter.results import Shot
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["mean_over_firings", "taper", "timed"]

Function = Callable[[Run, Run], float]

PLACES = "places of the sensors"
CHANGES = "changes of speed"
_SHARED = SHARED | {PLACES, CHANGES, "distance from curtain to film"}
_BEND = {2: 1 / 3, 3: 0.02}
_BEND_NOTE = {
    2: "two sensors show the mean speed only: a third more at the end, a third less at the start may be true",
    3: "three sensors show a steady acceleration; the speed at the end may be 2 % off it",
}


def timed(function: Function, firing: Passing, places_m: Sequence[float], place_u_m: float) -> Measured:
    """
    A figure of one firing that depends on when the curtains pass the sensors.

    Parameters
    ----------
    function : callable
        Takes the run of the first and of the second curtain and returns the figure.
    firing : Passing
        A firing with every moment known.
    places_m : sequence of float, shape (n,)
        Where the sensors are, [m].
    place_u_m : float
        Standard uncertainty of each place, [m].

    Returns
    -------
    figure : Measured
        First-order propagation (GUM 5.1.2) with numerical slopes; the clock and the bend of the runs are
        common to all moments.
    """
    n = len(places_m)
    moments = firing.moments
    assert moments is not None, "only firings of which every moment is known are timed"
    known = [*moments[0], *moments[1]]
    origin = known[0].value
    times = [moment.value - origin for moment in known]  # a long recording's clock would eat the digits

    def at(t: Sequence[float], x: Sequence[float], bend: float = 0.0) -> float:
        return function(*as_runs(t[:n], t[n:], x, bend))

    by_time = [_slope(lambda t: at(t, places_m), times, i, 1e-7) for i in range(2 * n)]
    by_place = [_slope(lambda x: at(times, x), places_m, i, 1e-7) for i in range(n)]
    parts = []
    for name in dict.fromkeys(c.name for moment in known for c in moment.budget):
        lines = [(k, c) for k, m in zip(by_time, known, strict=True) for c in m.budget if c.name == name]
        u = math.hypot(*(k * c.u for k, c in lines))
        first = lines[0][1]
        parts.append(Component(name, u, min(c.df for _, c in lines), first.kind, first.note))
    stretched = sum(k * t for k, t in zip(by_time, times, strict=True))
    parts.append(_clock(firing.seen[0], abs(stretched)))
    if (u := place_u_m * math.hypot(*by_place)) > 0:
        note = f"each within ± {1e3 * math.sqrt(3) * place_u_m:.2g} mm"
        parts.append(Component(PLACES, u, note=note, source="Workshop's assumption", mark="practice"))
    value = at(times, places_m)
    if (off := abs(at(times, places_m, _BEND[n]) - value)) > 1e-9 * abs(value):
        parts.append(
            Component(
                CHANGES,
                off / math.sqrt(3),
                note=_BEND_NOTE[n],
                source="Workshop's assumption",
                mark="practice",
            )
        )
    return combine(value, parts)


def taper(first: Measured, last: Measured) -> Measured:
    """
    Exposure at the last place against the first, both by one recorder's clock.

    Parameters
    ----------
    first, last : Measured
        Effective times, [s].

    Returns
    -------
    taper : Measured
        log2(last / first), [EV]; positive lets in more light where the curtains arrive.
    """
    parts = []
    for name in dict.fromkeys(c.name for m in (first, last) for c in m.budget):
        if name == "clock":  # one clock: it cancels
            continue
        lines = [(c.u / m.value, c) for m in (first, last) for c in m.budget if c.name == name]
        u = math.hypot(*(share for share, _ in lines)) / math.log(2)
        c = lines[0][1]
        df = min(line.df for _, line in lines)
        parts.append(Component(name, u, df, c.kind, c.note, c.source, c.mark))
    return combine(math.log2(last.value / first.value), parts)


def mean_over_firings(each: Sequence[Measured]) -> Measured:
    """
    Mean of a figure over the firings of a recording.

    Parameters
    ----------
    each : sequence of Measured, shape (n,)
        The figure of each firing.

    Returns
    -------
    mean : Measured
        What all firings share (clock, places, full-open level) does not average out; the rest is taken from
        the scatter of the firings, or from their own budgets where that is more.
    """
    n = len(each)
    if n == 1:
        return each[0]
    mean = sum(m.value for m in each) / n
    scatter = math.sqrt(sum((m.value - mean) ** 2 for m in each) / (n - 1) / n)
    own = math.sqrt(sum(c.u**2 for m in each for c in m.budget if c.name not in _SHARED)) / n
    if scatter >= own:
        note = f"standard deviation of the mean of {n} firings"
    else:
        note = f"noise and sampling of {n} firings; their scatter is no larger"
    # a scatter of few firings is poorly known, also where it happens to be small
    parts = [Component("repeatability", max(scatter, own), n - 1, "A", note)]
    for name in sorted({c.name for m in each for c in m.budget} & _SHARED):
        lines = [c for m in each for c in m.budget if c.name == name]
        c = lines[0]
        u = sum(line.u for line in lines) / n
        parts.append(Component(name, u, c.df, c.kind, c.note, c.source, c.mark))
    return combine(mean, parts)


def _clock(shot: Shot, stretched: float) -> Component:
    """The clock's line for a figure that would change by `stretched` if all times were twice as long."""
    line = next((c for c in shot.effective.budget if c.name == "clock"), Component("clock", 0.0))
    relative = line.u / shot.effective.value
    return Component("clock", relative * stretched, line.df, "B", line.note, line.source, line.mark)


def _slope(function: Callable[[Sequence[float]], float], at: Sequence[float], i: int, step: float) -> float:
    """Central difference by one argument."""
    up = [*at[:i], at[i] + step, *at[i + 1 :]]
    down = [*at[:i], at[i] - step, *at[i + 1 :]]
    return (function(up) - function(down)) / (2 * step)
