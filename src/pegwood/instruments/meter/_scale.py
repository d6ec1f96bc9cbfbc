"""What a scale can show: its ends, its steps, a needle at its stop, and readings taken up and down."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.readings.table import together

__all__ = ["division_of", "divisions", "on_steps", "ways_told", "within_scale", "without_stuck"]

Array = NDArray[np.float64]

_DIVISIONS = (1.0, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 10, 1 / 20, 1 / 100)
FINEST = 1 / 100
"""A scale read more finely than this is taken as read without steps, [EV]."""


def within_scale(
    shown: Sequence[float | None],
    true: Sequence[float],
    places: Sequence[str],
    scale: tuple[float, float] | None,
) -> tuple[list[int], list[str]]:
    """Which readings lie on the scale; a sentence for each that does not."""
    if scale is not None and not scale[0] < scale[1]:
        raise RefusedReadings(f"A scale runs from low to high, not from EV {scale[0]:g} to {scale[1]:g}.")
    kept, warnings = [], []
    for i, value in enumerate(shown):
        if value is None:
            warnings.append(
                f"{places[i].capitalize()}: beyond the scale at EV {true[i]:.4g}; left out, for a needle at "
                "its stop says nothing of how far off it is."
            )
        elif scale is not None and not scale[0] < value < scale[1]:
            warnings.append(
                f"{places[i].capitalize()}: shows EV {value:g}, an end of the scale ({scale[0]:g} to "
                f"{scale[1]:g}); left out."
            )
        else:
            kept.append(i)
    return kept, warnings


def without_stuck(
    kept: list[int], shown: Sequence[float | None], true: Sequence[float], places: Sequence[str]
) -> list[str]:
    """Take out readings of a needle at its stop: the same figure at an end over 1.5 EV of light and more."""
    warnings = []
    for end, beyond in ((max, "top"), (min, "foot")):
        if not kept:
            break
        last = end(shown[i] or 0.0 for i in kept)
        there = [i for i in kept if shown[i] == last]
        levels = {true[i] for i in there}
        if len(levels) < 3 or max(levels) - min(levels) < 1.5:
            continue
        for i in there:
            kept.remove(i)
        warnings.append(
            f"{together([places[i] for i in there]).capitalize()} all show EV {last:g} while the light went "
            "from EV "
            f"{min(levels):.4g} to {max(levels):.4g}: the {beyond} of the scale or a needle that sticks; "
            "left out."
        )
    return warnings


def divisions(values: Array, own: Sequence[float] | None, told: float | None) -> tuple[Array, str]:
    if own is not None:
        return np.array(own, dtype=float), "The scale was read to the steps in the column division_ev."
    if told is not None:
        if not (math.isfinite(told) and told >= 0):
            raise RefusedReadings(f"A division of the scale is in EV and not below zero, not {told:g}.")
        return np.full(values.size, told), f"The scale was read to {told:.3g} EV, as told."
    found = division_of(values)
    said = (
        "without steps that show"
        if found < FINEST
        else f"to {found:.3g} EV: all readings stand on such steps"
    )
    return np.full(values.size, found), f"The scale was read {said}; its division was not told."


def division_of(values: Sequence[float] | Array) -> float:
    """
    The coarsest step on which all values stand.

    Parameters
    ----------
    values : array_like, shape (n,)
        Readings, [EV].

    Returns
    -------
    division : float
        1, 1/2, 1/3 ... 1/100; 0 where none fits, [EV].
    """
    given = np.asarray(values, dtype=float)
    for step in _DIVISIONS:
        # a third of an EV is typed as 0.3 or 0.33; what is finer than a sixth is typed as it is
        slack = 0.04 if step in (1 / 3, 1 / 6) else 1e-6
        if np.abs(given - step * np.round(given / step)).max() <= slack:
            return step
    return 0.0


def on_steps(values: Array, steps: Array) -> Array:
    """Thirds typed as 0.3 or 0.33, put where they were meant."""
    with np.errstate(divide="ignore", invalid="ignore"):
        meant = np.where(steps > 0, steps * np.round(values / steps), values)
    return np.where(np.abs(meant - values) <= 0.04, meant, values)


def ways_told(
    direction: Sequence[int], true: Sequence[float], places: Sequence[str]
) -> tuple[str, list[str]]:
    """Why no hysteresis can be told, if it can't; and readings whose way is not what it says."""
    against = [
        places[i]
        for i in range(1, len(true))
        if direction[i]
        and direction[i] == direction[i - 1]
        and direction[i] * (true[i] - true[i - 1]) < -1e-9
    ]
    if against:
        where = together(against).capitalize()
        return (
            f"{where}: the light went the other way than the column says, so up and down can't be compared. "
            "Write the readings in the order they were taken, light rising all the way, then falling all "
            "the way.",
            [],
        )
    up = [value for value, way in zip(true, direction, strict=True) if way > 0]
    down = [value for value, way in zip(true, direction, strict=True) if way < 0]
    if not up and not down:
        return "nobody said which way the light went. Tell it of each reading, up or down.", []
    if not up or not down:
        return f"the light was only {'raised' if up else 'lowered'}. Read the other way as well.", []
    overlap = min(max(up), max(down)) - max(min(up), min(down))
    if len(up) < 2 or len(down) < 2 or overlap < (max(true) - min(true)) / 3:
        return "too few readings up and down lie at the same levels. Read the same levels both ways.", []
    return "", []
