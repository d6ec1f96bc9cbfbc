"""
What a firing is, whatever the shutter: how clear the way for the light is at each moment; and the truth of
it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Opening(Protocol):
    """One firing of a shutter, on a time axis that begins at its release, [s]."""

    @property
    def begins_s(self) -> float:
        """A moment at or before first light, [s] after the release."""

    @property
    def ends_s(self) -> float:
        """A moment at or after last light, [s] after the release."""

    def openness(self, times: Floats) -> Floats:
        """
        Illuminance over full-open illuminance, [1].

        Parameters
        ----------
        times : array, shape (n,)
            Times after the release, [s].

        Returns
        -------
        openness : array, shape (n,)
            0 is dark, 1 is fully open, [1].
        """


@dataclass(frozen=True, kw_only=True)
class Truth:
    """
    The truth of one firing, in true seconds.

    Attributes
    ----------
    at_s : float
        First light, [s] from the start of the recording.
    effective_s : float
        Exposure over full-open illuminance, [s]. ISO 516's definition as `facts` carry it (mark: memory).
    total_s : float
        First light to last light, a rebound included, [s].
    opening_s, closing_s : float
        Closed to fully open, fully open to closed, [s]; nan if the shutter never opens fully.
    rebound_s : float
        The part of `effective_s` that comes through after the shutter has closed once, [s].
    """

    at_s: float
    effective_s: float
    total_s: float
    opening_s: float
    closing_s: float
    rebound_s: float

    @property
    def efficiency(self) -> float:
        """Effective over total time, [1]."""
        return self.effective_s / self.total_s


def is_lit(opening: Opening) -> bool:
    """Whether any light passes at all; a slit that caps lets none through."""
    return bool(np.any(opening.openness(np.linspace(opening.begins_s, opening.ends_s, 2001)) > 0))


def truth_of(opening: Opening, released_s: float = 0.0, points: int = 400_001) -> Truth:
    """
    Integrate one firing on a fine grid.

    Parameters
    ----------
    opening : Opening
        The firing.
    released_s : float
        When the recording's time axis saw the release, [s].
    points : int
        Points of the grid; the trapezoid rule's error falls with their square.

    Returns
    -------
    Truth

    Raises
    ------
    ValueError
        If no light passes at all: such a firing has no time to state.
    """
    times = np.linspace(opening.begins_s, opening.ends_s, points)
    light = opening.openness(times)
    lit = np.flatnonzero(light > 0)
    if lit.size == 0:
        raise ValueError("No light passes in this firing: the curtains cap, or the blades never part.")
    first, last = int(lit[0]), int(lit[-1])
    # light that begins between two points of the grid began after the dark one
    full = np.flatnonzero(light >= 1 - 1e-9)
    opening_s = closing_s = float("nan")
    main_end = last
    if full.size:
        opening_s = float(times[full[0]] - times[max(first - 1, 0)])
        shut = np.flatnonzero(light[full[-1] :] <= 0)
        main_end = int(full[-1] + shut[0]) if shut.size else last
        closing_s = float(times[main_end] - times[full[-1]])
    return Truth(
        at_s=released_s + float(times[max(first - 1, 0)]),
        effective_s=float(np.trapezoid(light, times)),
        total_s=float(times[min(last + 1, points - 1)] - times[max(first - 1, 0)]),
        opening_s=opening_s,
        closing_s=closing_s,
        rebound_s=float(np.trapezoid(light[main_end:], times[main_end:])),
    )
