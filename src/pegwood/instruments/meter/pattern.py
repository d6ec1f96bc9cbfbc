"""
Which part of a meter's error stands out: its level, an end of the scale, friction, contacts.

Shapes are weighed against each other by the Bayesian information criterion (Schwarz 1978; memory). An end
that fails goes as ``log2(1 + 2**(k - EV))``: a leak or a resistance in series takes a share of the current
that doubles with each step beyond the knee k. A shape is named only where it is much likelier than all the
others, and large enough to matter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.fitting import fit_linear
from pegwood.instruments.meter.limits import MeterLimits, Practice
from pegwood.instruments.meter.regression import ErrorFit
from pegwood.instruments.meter.typed import Readings
from pegwood.instruments.uncertainty import Measured

__all__ = ["Pattern", "Stands", "read_pattern"]

Array = NDArray[np.float64]

KNEES = (0.2, 0.35, 0.5)
"""Where an end may begin to fail, as a share of the range from that end."""
LEAST_LEVELS = 4
LEAST_SCATTER = 0.02
"""Finer than this no shape is believed, [EV] (practice)."""


@dataclass(frozen=True)
class Stands:
    """
    A part of the error that stands out.

    Parameters
    ----------
    name : str
        Such as "offset" or "low end only".
    size_ev : float
        How large it is, signed where it has a sign, [EV].
    """

    name: str
    size_ev: float


@dataclass(frozen=True)
class Pattern:
    """
    What the errors show together.

    Parameters
    ----------
    name : str
        The part that is largest; "none", "no clear pattern" or "cannot tell" where there is no such part.
    stands : tuple of Stands
        All that stand out, the largest first.
    chances : dict of str to float
        Of each shape: "flat", "slope", "bow", "low end only", "high end only"; empty where there are too
        few levels for shapes.
    """

    name: str
    stands: tuple[Stands, ...]
    chances: dict[str, float]


def read_pattern(
    readings: Readings,
    fit: ErrorFit,
    offset: Measured,
    hysteresis: Measured | None,
    limits: MeterLimits,
    habit: Practice,
    fine: bool,
) -> Pattern:
    """
    Say what stands out.

    Parameters
    ----------
    readings : Readings
        As typed.
    fit : ErrorFit
        The error over the range.
    offset, hysteresis : Measured
        At the middle of the range; light rising less falling; [EV].
    limits : MeterLimits
        The workshop's.
    habit : Practice
        From which size on a part is named.
    fine : bool
        Whether all that was judged lies within the limits.

    Returns
    -------
    pattern : Pattern
    """
    if np.unique(np.round(readings.reference, 6)).size < LEAST_LEVELS:
        return Pattern("cannot tell", tuple(_ways(hysteresis, habit)), {})
    chances, sizes, flat_part = _shapes(readings, fit, hysteresis)
    shape = max(chances, key=lambda name: chances[name])
    clear = chances[shape] >= habit.clear
    found = _ways(hysteresis, habit) + _scatter(readings, fit, limits)
    bent = shape != "flat" and clear and abs(sizes[shape]) >= habit.shape
    if bent:
        found.append(Stands(shape, sizes[shape]))
    level = flat_part[shape] if shape in ("low end only", "high end only") and bent else offset.value
    low, high = offset.coverage_interval()
    if abs(level) >= habit.offset and abs(level) > (high - low) / 2:
        found.append(Stands("offset", level))
    found.sort(key=lambda one: -abs(one.size_ev))
    unclear = not clear and max(abs(size) for size in sizes.values()) >= habit.shape
    if unclear and not any(one.name in ("hysteresis", "scatter") for one in found[:1]):
        return Pattern("no clear pattern", tuple(found), chances)
    if found:
        return Pattern(found[0].name, tuple(found), chances)
    return Pattern("none" if fine else "no clear pattern", (), chances)


def _shapes(
    readings: Readings, fit: ErrorFit, hysteresis: Measured | None
) -> tuple[dict[str, float], dict[str, float], dict[str, float]]:
    """Chance of each shape, how far it goes [EV], and the level beside it [EV]."""
    true, error = readings.reference, readings.error
    if hysteresis is not None:
        error = error - hysteresis.value * readings.direction / 2
    low, span = float(true.min()), float(np.ptp(true))
    x = (true - fit.middle) / fit.half_range
    ones = np.ones_like(x)
    tried: dict[str, list[Array]] = {
        "flat": [ones[:, None]],
        "slope": [np.column_stack([ones, x])],
        "bow": [np.column_stack([ones, x**2])],
        "low end only": [np.column_stack([ones, _failing(low + share * span - true)]) for share in KNEES],
        "high end only": [
            np.column_stack([ones, _failing(true - low - (1 - share) * span)]) for share in KNEES
        ],
    }
    floor = max(LEAST_SCATTER, float(readings.division.max()) / math.sqrt(12))
    weights, sizes, levels = {}, {}, {}
    for name, designs in tried.items():
        outcomes = [_outcome(design, error, floor, len(designs) > 1) for design in designs]
        best = min(outcomes, key=lambda one: one[0])
        lowest = best[0]
        if not math.isfinite(lowest):  # more to find than there are readings
            weights[name], sizes[name], levels[name] = (math.inf, 0.0), best[1], best[2]
            continue
        weights[name] = (lowest, sum(math.exp(-(one[0] - lowest) / 2) for one in outcomes) / len(outcomes))
        sizes[name], levels[name] = best[1], best[2]
    least = min(criterion for criterion, _ in weights.values())
    raw = {name: math.exp(-(criterion - least) / 2) * share for name, (criterion, share) in weights.items()}
    total = sum(raw.values())
    return {name: value / total for name, value in raw.items()}, sizes, levels


def _failing(beyond: Array) -> Array:
    """An end that fails: nothing before the knee, an EV for each EV beyond it."""
    return np.logaddexp2(0.0, beyond)


def _outcome(design: Array, error: Array, floor: float, has_knee: bool) -> tuple[float, float, float]:
    """Criterion (smaller is better), size of the shape with its sign, level beside it."""
    fit = fit_linear(design, error)
    n = error.size
    spread = float((fit.residuals**2).mean()) + floor**2
    size = design.shape[1] + has_knee
    if n - size < 2:
        return math.inf, 0.0, float(fit.values[0])
    # few readings follow any shape: the small-sample term of Hurvich and Tsai (1989; memory) beside Schwarz's
    criterion = n * math.log(spread) + size * math.log(n) + 2 * size * (size + 1) / (n - size - 1)
    if design.shape[1] == 1:
        return criterion, 0.0, float(fit.values[0])
    reach = float(fit.values[1]) * float(np.abs(design[:, 1]).max())
    return criterion, reach, float(fit.values[0])


def _ways(hysteresis: Measured | None, habit: Practice) -> list[Stands]:
    if hysteresis is None:
        return []
    low, high = hysteresis.coverage_interval()
    sure = low > 0 or high < 0
    return (
        [Stands("hysteresis", hysteresis.value)] if sure and abs(hysteresis.value) >= habit.hysteresis else []
    )


def _scatter(readings: Readings, fit: ErrorFit, limits: MeterLimits) -> list[Stands]:
    """Scatter that is surely beyond the limit: the lower end of its one-sided 95 % interval (chi-squared)."""
    from scipy.stats import chi2

    most = limits.scatter.high if limits.scatter is not None else None
    if most is None or fit.scatter_df < 3:
        return []
    rounding = float((readings.division**2).mean()) / 12
    least = fit.scatter * math.sqrt(fit.scatter_df / float(chi2.ppf(0.95, fit.scatter_df)))
    return [Stands("scatter", 2 * fit.scatter)] if least > math.sqrt(most**2 + rounding) else []


def worded(stands: Sequence[Stands]) -> str:
    """The parts that stand out, in a line."""
    return "; ".join(f"{one.name} {one.size_ev:+.2f} EV" for one in stands)
