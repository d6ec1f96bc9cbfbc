"""What the weighed models say of each sign: how likely, how large, at which speeds; what to measure next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pegwood.instruments.shutter._pattern_fit import Fit, Weighed
from pegwood.instruments.shutter.marked import SERIES, MarkedSpeed
from pegwood.instruments.uncertainty import Measured

__all__ = ["Shown", "candidates", "next_speed", "shown"]

_LEAST_CHANCE = 1e-3
_FASTEST_S, _SLOWEST_S = 1 / 1100, 1.0
_WORTH_EV = 0.15
"""Where the answers differ by less than this, a further speed decides little."""


@dataclass(frozen=True)
class Shown:
    """A sign's probability with and without the readings, whether they tell, its size, and where it shows."""

    probability: float
    prior: float
    tells: bool
    figure: Measured | None
    speeds: tuple[str, ...]

    def that_tells(self, tells: bool) -> Shown:
        """The same, with the word whether these readings could show it."""
        return replace(self, tells=tells)


def shown(fit: Fit, weighed: Weighed, name: str, p: float, markings: Sequence[str]) -> Shown:
    """
    What the weighed models say of one sign.

    Parameters
    ----------
    fit : Fit
        The models.
    weighed : Weighed
        Those of them that carry weight.
    name : str
        The sign's id; "" is the sound shutter.
    p : float
        Its probability, [-].
    markings : sequence of str, shape (n,)
        Markings of the measured speeds.

    Returns
    -------
    shown : Shown
        Mean and standard deviation of the size over all models that have the sign.
    """
    said = Shown(p, fit.prior[name], True, None, ())
    if name == "no-pattern":
        chosen = weighed.scattered
        sizes, variances = weighed.between_ev[chosen], np.zeros(chosen.sum())
        return replace(said, figure=_mixed(weighed.weight[chosen], sizes, variances), speeds=tuple(markings))
    shape, weight, mean, variance = _of_sign(fit, weighed, name)
    if weight.sum() < _LEAST_CHANCE:
        return said
    every, share = fit.shapes, weight / weight.sum()
    slope = every.slope[shape, : len(markings)]
    if name == "slow-speeds-equal":
        common = _mixed(weight, mean, variance)
        time = None if common is None else Measured(2**common.value, 2**common.value * math.log(2) * common.u)
        return replace(said, figure=time, speeds=_named(markings, _mostly(share, slope > 0)))
    if name in ("time-added", "time-missing"):
        step = every.step[shape]
        figure = _mixed(weight, every.at[shape] + step * mean, step**2 * variance)
        return replace(said, figure=figure, speeds=tuple(markings))
    if name in ("", "all-slow", "all-fast"):
        return replace(said, figure=_mixed(weight, mean, variance), speeds=tuple(markings))
    where = _mostly(share, slope > 0)
    if not where.any():
        where = slope[int(np.argmax(share))] > 0
    row = _place(name, where, share, slope)
    with_row = slope[:, row] > 0
    effect = slope[with_row, row]
    figure = _mixed(weight[with_row], effect * mean[with_row], effect**2 * variance[with_row])
    return replace(said, figure=figure, speeds=_named(markings, where))


def _of_sign(fit: Fit, weighed: Weighed, name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Shape, weight, and mean and variance of the amplitude, wherever a model has the sign."""
    sign = np.append(fit.shapes.sign, -1)
    which = fit.shapes.names.index(name)
    parts = []
    for side, shape in enumerate((weighed.first, weighed.second)):
        chosen = (sign[shape] == which) & ~weighed.scattered
        parts.append(
            (
                shape[chosen],
                weighed.weight[chosen],
                weighed.mean[side, chosen],
                weighed.variance[side, chosen],
            )
        )
    one, two, three, four = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    return one, two, three, four


def _place(name: str, where: np.ndarray, share: np.ndarray, slope: np.ndarray) -> int:
    """The measured speed at which the size is given; they stand slowest first."""
    if name.startswith("slow"):
        return 0
    if name.startswith("fast"):
        return len(where) - 1
    return int(np.argmax(share @ slope))


def _mostly(share: np.ndarray, active: np.ndarray) -> np.ndarray:
    return np.asarray(share @ active > 0.5)


def _named(markings: Sequence[str], where: np.ndarray) -> tuple[str, ...]:
    return tuple(dict.fromkeys(m for m, here in zip(markings, where, strict=True) if here))


def _mixed(weight: np.ndarray, mean: np.ndarray, variance: np.ndarray) -> Measured | None:
    """Mean and standard deviation of a mixture."""
    total = weight.sum()
    if not total > _LEAST_CHANCE:
        return None
    middle = float(weight @ mean / total)
    return Measured(middle, math.sqrt(float(weight @ (variance + (mean - middle) ** 2) / total)))


def candidates(markings: Sequence[str], times_s: np.ndarray) -> list[tuple[str, float]]:
    """
    Markings that could be measured next: of the series that most of the measured ones are of.

    Parameters
    ----------
    markings : sequence of str, shape (n,)
        What is measured.
    times_s : array, shape (n,)
        Times they stand for, [s].

    Returns
    -------
    candidates : list of (str, float)
        Marking and time, [s].
    """
    series = max(SERIES.values(), key=lambda one: len(set(markings) & set(one.times)))
    found = []
    for text in series.times:
        time = MarkedSpeed.parse(text).seconds()
        if (
            time is not None
            and _FASTEST_S < time <= _SLOWEST_S
            and np.abs(np.log2(times_s / time)).min() > 0.3
        ):
            found.append((text, time))
    return found


def next_speed(fit: Fit, weighed: Weighed, offered: Sequence[tuple[str, float]]) -> tuple[str, float] | None:
    """
    The candidate at which the models that are still open differ most.

    Parameters
    ----------
    fit : Fit
        Models whose shapes run over the measured speeds and then the candidates.
    weighed : Weighed
        Their weights.
    offered : sequence of (str, float)
        The candidates.

    Returns
    -------
    next : (str, float) or None
        Marking, and standard deviation of the expected errors there, [EV]; None where no speed decides much.
    """
    chosen = np.flatnonzero((weighed.weight > 1e-5) & ~weighed.scattered)
    if not offered or not len(chosen):
        return None
    k = len(fit.shapes.sign)
    slope = np.vstack([fit.shapes.slope, np.zeros(fit.shapes.slope.shape[1])])[:, -len(offered) :]
    offset = np.vstack([fit.shapes.offset, np.zeros(fit.shapes.offset.shape[1])])[:, -len(offered) :]
    expected = np.zeros((len(chosen), len(offered)))
    for side, shape in enumerate((weighed.first[chosen], weighed.second[chosen])):
        assert shape.max() <= k
        expected += offset[shape] + slope[shape] * weighed.mean[side, chosen][:, None]
    weight = weighed.weight[chosen] / weighed.weight[chosen].sum()
    spread = np.sqrt(weight @ (expected - weight @ expected) ** 2)
    best = int(np.argmax(spread))
    return (offered[best][0], float(spread[best])) if spread[best] > _WORTH_EV else None
