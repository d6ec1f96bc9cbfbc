"""
What to turn, and by how much: the shift that makes the largest error smallest, and what then remains.

A shift alone is the midrange (Chebyshev's centre) of the error over the range. With a second adjuster that
stretches the scale, the best line in Chebyshev's sense is found as a linear programme (HiGHS, by scipy).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pegwood.instruments.meter.regression import ErrorFit
from pegwood.instruments.meter.telling import Cell, ev_per_current
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured

__all__ = ["Shift", "Stretch", "best_shift", "best_stretch", "shunt_for"]

GRID = 201


@dataclass(frozen=True)
class Shift:
    """
    One adjuster, alike at every light.

    Parameters
    ----------
    shift : Measured
        To be added to what is shown, [EV].
    worst_before, worst_after : float
        Largest error over the range, half of the hysteresis included, before and after it, [EV].
    speed_factor : float
        What the film speed is multiplied by on the dial, instead, [-].
    thirds : int
        The nearest shift in clicks of a third of an EV on that dial; above zero is a higher film speed.
    worst_after_thirds : float
        Largest error with that many clicks, [EV].
    """

    shift: Measured
    worst_before: float
    worst_after: float
    speed_factor: float
    thirds: int
    worst_after_thirds: float


@dataclass(frozen=True)
class Stretch:
    """
    Two adjusters: level and stretch of the scale.

    Parameters
    ----------
    shift : float
        To be added to what is shown at the middle of the range, [EV].
    tilt : float
        To be added for each EV above the middle, [EV/EV].
    worst_after : float
        Largest error over the range with both, [EV].
    """

    shift: float
    tilt: float
    worst_after: float


def best_shift(fit: ErrorFit, hysteresis: Measured | None, more: Sequence[Component] = ()) -> Shift:
    """
    The shift that makes the largest error smallest.

    Parameters
    ----------
    fit : ErrorFit
        The error over the range.
    hysteresis : Measured or None
        Light rising less falling, [EV]; half of it remains on either side.
    more : sequence of Component, optional
        What is uncertain about all readings alike, [EV].

    Returns
    -------
    shift : Shift
    """
    where = np.linspace(fit.middle - fit.half_range, fit.middle + fit.half_range, GRID)
    error = fit.curve(where)
    apart = 0.0 if hysteresis is None else abs(hysteresis.value) / 2
    ends = -(fit.row(float(where[error.argmax()])) + fit.row(float(where[error.argmin()]))) / 2
    shift = fit.fit.of(ends, "readings", more)
    thirds = round(3 * shift.value)
    return Shift(
        shift,
        float(np.abs(error).max()) + apart,
        float(np.ptp(error)) / 2 + apart,
        math.exp2(shift.value),
        thirds,
        float(np.abs(error + thirds / 3).max()) + apart,
    )


def best_stretch(fit: ErrorFit, hysteresis: Measured | None) -> Stretch | None:
    """
    The shift and tilt that together make the largest error smallest.

    Parameters
    ----------
    fit : ErrorFit
        The error over the range.
    hysteresis : Measured or None
        Light rising less falling, [EV].

    Returns
    -------
    stretch : Stretch or None
        None at a single level.
    """
    from scipy.optimize import linprog

    if fit.half_range == 0:
        return None
    x = np.linspace(-1, 1, GRID)
    error = fit.curve(fit.middle + fit.half_range * x)
    # least t with |error + shift + tilt x| <= t
    line = np.column_stack([np.ones(GRID), x])
    above, below = np.column_stack([line, -np.ones(GRID)]), np.column_stack([-line, -np.ones(GRID)])
    found = linprog(
        [0, 0, 1], np.vstack([above, below]), np.concatenate([-error, error]), bounds=[(None, None)] * 3
    )
    shift, tilt, worst = (float(one) for one in found.x)
    apart = 0.0 if hysteresis is None else abs(hysteresis.value) / 2
    return Stretch(shift, tilt / fit.half_range, worst + apart)


def shunt_for(shift: float, movement_ohm: float, shunt_ohm: float | None, cell: Cell) -> float | None:
    """
    The shunt that shifts what is shown.

    The current divides between movement and shunt: a share ``shunt / (shunt + movement)`` moves the needle.
    Holds where both together are small against the rest of the circuit (elementary circuit theory).

    Parameters
    ----------
    shift : float
        Wanted change of what is shown, [EV].
    movement_ohm : float
        Resistance of the movement, [ohm].
    shunt_ohm : float or None
        Shunt that is there now, [ohm]; None for none.
    cell : str
        Kind of cell: a CdS cell's current doubles in more than one EV.

    Returns
    -------
    shunt : float or None
        [ohm]; None means without a shunt.

    Raises
    ------
    RefusedReadings
        If a resistance is not above zero, or no shunt can do it: the needle would need more current than
        there is.
    """
    for name, value in (("movement", movement_ohm), ("shunt", shunt_ohm)):
        if value is not None and not (math.isfinite(value) and value > 0):
            raise RefusedReadings(f"The resistance of the {name} must be above zero, in ohm; not {value:g}.")
    share = 1.0 if shunt_ohm is None else shunt_ohm / (shunt_ohm + movement_ohm)
    wanted = share * math.exp2(shift / ev_per_current(cell))
    if wanted > 1 + 1e-9:
        raise RefusedReadings(
            f"No shunt makes the needle show {shift:+.2f} EV more: it has all the current with none. The "
            "cell or the supply gives too little; shift the film-speed dial instead."
        )
    return None if wanted > 1 - 1e-9 else movement_ohm * wanted / (1 - wanted)
