"""
What a leaf shutter gives at smaller stops, from the light curve at full aperture.

The blades uncover a small stop sooner than a large one and cover it later, so the effective time grows from
the full aperture towards the total time as the lens is stopped down.

Geometry (worked out by the house from plane geometry; mark: memory). With the light at full aperture L, from
0 to 1, a stop whose f-number is m times as high holds 1/m**2 of the area. Blades that leave a round hole in
the middle of the lens free show it wholly as soon as L reaches 1/m**2, and before that the share m**2 L.
So its light curve is min(1, m**2 L), and its effective time the integral of that.

m**2 magnifies the noise at the foot of the curve; an edge only rises or only falls, so the readings of each
are first made to (isotonic regression). Where noise hides the foot all the same, the *square law* stands in:
the clear radius grows evenly, the light with the square of time, and an edge of duration t loses 2/3 t/m.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

from pegwood.instruments.shutter._group import summarise
from pegwood.instruments.shutter.results import AtStop, Shot
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["NoFullOpening", "at_stops", "effective_at", "square_law_effective", "stops_below"]

_SLOWEST_STOP = 22.0
_SERIES = ("1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22")
"""Marked f-numbers of the series of the Paris congress of 1900 (seen); the exact ones are 2**(k/2)."""
_MARKED_WITHIN = 0.05
_NOT_ROUND = 0.006
"""
By how much of an edge straight blades, which leave a polygon, can deceive the round hole: calculated from the
polygon cut by a circle, four blades miss by 1.1 %, five by 0.4 %, six by 0.2 %. Taken as a standard
uncertainty.
"""
_POWERS = (1.0, 3.0)  # light goes with a power of time between these; the square law's is 2
_MAGNIFIED = (
    2.0  # of full light: noise of a reading, magnified, that a curve known to rise or fall still bears
)
_MAGNIFIED_RAW = 0.3  # and one that may do both
_DARK_S = 0.03  # of darkness, at least, behind the dark level
_ROUND_SOURCE = "Polygon of straight blades cut by a round stop, worked out here"

Array = NDArray[np.float64]


class NoFullOpening(ValueError):
    """A firing whose curve does not show the shutter fully open; the message is one line that says why."""


def square_law_effective(total_s: float, opening_s: float, closing_s: float, ratio: float) -> float:
    """
    Effective time at a smaller stop for blades whose clear radius grows evenly.

    Parameters
    ----------
    total_s, opening_s, closing_s : float
        First to last light, and the two edges, at full aperture, [s].
    ratio : float
        f-number over that of the full aperture, at least 1, [-].

    Returns
    -------
    effective : float
        t0 - 2/3 (t1 + t2) / ratio, [s].

    Raises
    ------
    ValueError
        If the ratio is below 1, or the edges do not fit into the total time.
    """
    if not ratio >= 1:
        raise ValueError(
            f"A smaller stop has an f-number at least that of the full aperture, not {ratio:g} times it"
        )
    if opening_s < 0 or closing_s < 0 or opening_s + closing_s > total_s:
        raise ValueError(f"Edges of {opening_s:g} s and {closing_s:g} s do not fit into {total_s:g} s")
    return total_s - 2 / 3 * (opening_s + closing_s) / ratio


def stops_below(widest: float) -> tuple[tuple[float, float], ...]:
    """
    The full aperture and the marked stops below it.

    Parameters
    ----------
    widest : float
        f-number of the full aperture as marked; it may lie off the series, [-].

    Returns
    -------
    stops : tuple of (float, float)
        f-number as marked, and its ratio to the full aperture by the exact series, [-].

    Raises
    ------
    ValueError
        If the f-number can't be a lens's, or no smaller stop is left.
    """
    if not (math.isfinite(widest) and 0.5 <= widest < _SLOWEST_STOP * 0.9):
        raise ValueError(
            f"Full aperture f/{widest:g}: expected its f-number, from 0.5 to below {_SLOWEST_STOP:g}, "
            "such as 2.8."
        )
    exact = {float(text): 2 ** (k / 2) for k, text in enumerate(_SERIES)}
    own = exact.get(widest, widest)
    below = [(marked, value / own) for marked, value in exact.items() if value > own * 1.05]
    return ((widest, 1.0), *below)


def effective_at(shot: Shot, ratio: float) -> Measured:
    """
    Effective time to expect at a smaller stop, from one firing at full aperture.

    Parameters
    ----------
    shot : Shot
        The firing, as measured with the lens wide open.
    ratio : float
        f-number of the stop over that of the full aperture, at least 1, [-].

    Returns
    -------
    effective : Measured
        [s]; at a ratio of 1 what was measured. The way with the smaller uncertainty is taken: the curve
        itself, or the square law through what was measured of its edges.

    Raises
    ------
    NoFullOpening
        If the firing has no plateau, its full-open level was not seen or clips, or its noise leaves no way.
    ValueError
        If the ratio is below 1.
    """
    if not ratio >= 1:
        raise ValueError(
            f"A smaller stop has an f-number at least that of the full aperture, not {ratio:g} times it"
        )
    _check_opens(shot)
    if ratio == 1:
        return shot.effective
    ways = [way for way in (_by_curve(shot, ratio), _by_square_law(shot, ratio)) if way is not None]
    if not ways:
        raise NoFullOpening("the blades bounce, and noise hides how much light that is at a smaller stop")
    return min(ways, key=lambda way: way.u)


def at_stops(firings: Sequence[Sequence[Shot]], widest: float) -> tuple[tuple[AtStop, ...], tuple[str, ...]]:
    """
    Effective times to expect at the smaller stops, from all firings of a recording.

    Parameters
    ----------
    firings : sequence of sequence of Shot
        For every firing what each channel saw of it, the lens wide open.
    widest : float
        f-number of the full aperture as marked, [-].

    Returns
    -------
    stops : tuple of AtStop
        The full aperture first; empty where no firing shows the shutter fully open.
    warnings : tuple of str
        Why firings were left out, or what stands against the figures.

    Raises
    ------
    ValueError
        If the f-number can't be.
    """
    stops = stops_below(widest)
    usable: list[list[list[Shot]]] = [[] for _ in stops]
    reasons: dict[str, int] = {}
    for firing in firings:
        try:
            seen = [
                [replace(shot, effective=effective_at(shot, ratio)) for shot in firing] for _, ratio in stops
            ]
        except NoFullOpening as reason:
            reasons[str(reason)] = reasons.get(str(reason), 0) + 1
            continue
        for group, one in zip(usable, seen, strict=True):
            group.append(one)
    warnings = tuple(
        f"{n} of {len(firings)} firings left out of the smaller stops: {reason}."
        for reason, n in reasons.items()
    )
    means = [summarise(group, None, None).effective for group in usable]
    wide = means[0]
    if wide is None:
        return (), warnings
    found = tuple(
        AtStop(marked, mean, math.log2(mean.value / wide.value))
        for (marked, _), mean in zip(stops, means, strict=True)
        if mean is not None
    )
    return found, warnings


def _check_ratio(ratio: float) -> None:
    if not ratio >= 1:
        raise ValueError(f"A smaller stop's f-number is at least the full aperture's, not {ratio:g} times it")


def _check_opens(shot: Shot) -> None:
    marks = shot.curve.marks_s
    if marks["fully_open"] is None or marks["begins_to_close"] is None:
        raise NoFullOpening("the curve has no plateau")
    if shot.efficiency is None or shot.opening is None or shot.closing is None:
        raise NoFullOpening("the full-open level was not seen")
    if marks["begins_to_close"] < marks["fully_open"]:
        raise NoFullOpening("the curve has no plateau")


@dataclass(frozen=True)
class _Foot:
    """Part of a light curve beside its plateau: levels, and how long each stands for, [s]."""

    level: Array
    lasts: Array
    step: float

    def through(self, ratio: float) -> float:
        """Exposure of the smaller stop over its full light, [s]."""
        return float(np.minimum(1.0, ratio**2 * self.level) @ self.lasts)

    def partly(self, ratio: float) -> float:
        """How long the smaller stop is neither shut nor clear, [s]."""
        return float(self.lasts[self.level < ratio**-2].sum())


def _by_curve(shot: Shot, ratio: float) -> Measured | None:
    """The integral of min(1, m**2 L); None where noise would bend it."""
    marks = shot.curve.marks_s
    full, begins, last = marks["fully_open"], marks["begins_to_close"], marks["last_light"]
    assert full is not None
    assert begins is not None
    assert last is not None
    t, level = np.array(shot.curve.t_s), np.array(shot.curve.level)
    edge = shot.opening.value if shot.opening else full
    opening = _foot(t, level, -0.05 * edge, full, True)
    closing = _foot(t, level, begins, last + 0.05 * edge, None if shot.bounce else False)
    noise = _noise(t, level, edge, last)
    if opening is None or closing is None or noise is None:
        return None
    sigma, grown, n_dark = noise
    magnified = ratio**2 * sigma
    if magnified > (_MAGNIFIED_RAW if shot.bounce else _MAGNIFIED):
        return None
    value = begins - full + opening.through(ratio) + closing.through(ratio)
    feet = (opening, closing)
    partly = sum(foot.partly(ratio) for foot in feet)
    step = max(foot.step for foot in feet)
    n_partly = partly / step + 2
    kinks = [step * min(0.3, step / (4 * max(foot.partly(ratio), step))) for foot in feet]
    wider = begins - full + sum(foot.through(ratio * (1 + _MARKED_WITHIN)) for foot in feet)
    parts = [
        Component(
            "noise",
            magnified * step * math.sqrt(n_partly * grown),
            max(1.0, n_dark - 2.0),
            "A",
            f"readings at the foot of the curve, magnified {ratio**2:.3g} times",
        ),
        Component(
            "dark level",
            magnified * math.sqrt(grown * step / _DARK_S) * partly,
            note="magnified as the readings are",
        ),
        Component(
            "sampling", math.hypot(*kinks, _of(shot, "sampling")), note="the stop clears between two samples"
        ),
        Component(
            "shape of the opening",
            _NOT_ROUND * partly,
            note="straight blades leave no round hole; four or more of them",
            source=_ROUND_SOURCE,
            mark="memory",
        ),
        _marked(abs(wider - value)),
        _clock(shot, value),
    ]
    return combine(value, parts)


def _by_square_law(shot: Shot, ratio: float) -> Measured | None:
    """What the edges cost at full aperture, divided by m; None where a bounce has a law of its own."""
    begins = shot.curve.marks_s["begins_to_close"]
    assert begins is not None
    assert shot.opening is not None
    assert shot.closing is not None
    assert shot.total is not None
    if shot.bounce:
        return None
    effective, lost = shot.effective, shot.total.value - shot.effective.value
    value = effective.value + lost * (1 - 1 / ratio)
    slow, fast = (ratio ** (-2 / power) for power in _POWERS)
    of_total = math.hypot(*(c.u for c in shot.total.budget if c.name != "clock"))
    of_effective = math.hypot(*(c.u for c in effective.budget if c.name != "clock"))
    parts = [
        Component("effective time", of_effective / ratio, effective.df, "B", "at full aperture"),
        Component("total time", of_total * (1 - 1 / ratio), note="first and last light at full aperture"),
        Component(
            "growth of the opening",
            abs(lost) * abs(fast - slow) / math.sqrt(12),
            note=f"square law; light may go with a power of time from {_POWERS[0]:g} to {_POWERS[1]:g}",
            source="Workshop's assumption",
            mark="practice",
        ),
        _marked(abs(lost) / ratio * _MARKED_WITHIN),
        _clock(shot, value),
    ]
    return combine(value, parts)


def _marked(change_s: float) -> Component:
    """What a stop other than it is marked changes."""
    return Component(
        "stop as marked",
        change_s / math.sqrt(3),
        note=f"f-numbers within {100 * _MARKED_WITHIN:.0f} % of one another's marked ratio",
        source="Workshop's assumption",
        mark="practice",
    )


def _clock(shot: Shot, value: float) -> Component:
    clock = next(c for c in shot.effective.budget if c.name == "clock")
    return replace(clock, u=clock.u * value / shot.effective.value)


def _of(shot: Shot, name: str) -> float:
    return math.hypot(*(c.u for c in shot.effective.budget if c.name == name))


def _foot(t: Array, level: Array, start: float, stop: float, rising: bool | None) -> _Foot | None:
    """Cells of a thinned curve between two times, those at the ends in part; None: it may rise and fall."""
    near = np.flatnonzero((t > start) & (t < stop))
    if len(near) < 3:
        return None
    step = float(np.median(np.diff(t[near])))
    cells = np.flatnonzero((t > start - 0.5 * step) & (t < stop + 0.5 * step))
    lasts = np.minimum(t[cells] + 0.5 * step, stop) - np.maximum(t[cells] - 0.5 * step, start)
    inside = lasts > 0
    levels = level[cells][inside]
    if rising is not None:
        levels = isotonic_regression(levels, increasing=rising).x
    return _Foot(levels, lasts[inside], step)


def _noise(t: Array, level: Array, edge: float, last: float) -> tuple[float, float, int] | None:
    """Noise of a point of the curve in darkness, how its sum grows by colour, and from how many points."""
    pieces = [level[t < -0.1 * edge], level[t > last + 0.1 * edge]]
    pieces = [piece for piece in pieces if len(piece) >= 5]
    if not pieces:
        return None
    n = sum(len(piece) for piece in pieces)
    centred = [piece - piece.mean() for piece in pieces]
    variance = sum(float(piece @ piece) for piece in centred) / (n - len(pieces))
    if variance <= 0:
        return 0.0, 1.0, n
    along = sum(float(piece[1:] @ piece[:-1]) for piece in centred) / (n * variance)
    along = min(along, 0.95)
    grown = (1 + along) / (1 - along) if along > 2 / math.sqrt(n) else 1.0
    return math.sqrt(variance), grown, n
