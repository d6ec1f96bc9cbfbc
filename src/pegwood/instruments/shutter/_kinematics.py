"""
How a curtain runs, from the moments at which it passes two or three places; and the shadow of its edge.

Place as a function of time is the polynomial through the points (Newton's divided differences): a straight
line through two, which is uniform speed; a parabola through three, which is uniform acceleration and exact
for it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["Run", "as_runs", "shadow_width", "slit_efficiency"]

_ITERATIONS = 40


@dataclass(frozen=True)
class Run:
    """
    One curtain's run past the sensors.

    Parameters
    ----------
    times_s : tuple of float, shape (n,)
        When its edge passes each place, rising, [s]; n is 2 or 3.
    places_m : tuple of float, shape (n,)
        The places along the travel, rising, [m].
    bend : float
        What the polynomial can't know: by how much the speed at the last place may exceed it, as a fraction
        of the mean speed, while the edge still passes every place on time, [-].
    """

    times_s: tuple[float, ...]
    places_m: tuple[float, ...]
    bend: float = 0.0

    @property
    def mean_speed(self) -> float:
        """From the first place to the last, [m/s]."""
        return (self.places_m[-1] - self.places_m[0]) / (self.times_s[-1] - self.times_s[0])

    def speed(self, time_s: float) -> float:
        """
        Speed at a time, [m/s].

        Parameters
        ----------
        time_s : float
            On the clock of `times_s`, [s].
        """
        return self._place_and_speed(time_s)[1]

    def time_at(self, place_m: float) -> float:
        """
        When the edge passes a place, between the sensors or somewhat beyond them.

        Parameters
        ----------
        place_m : float
            Place along the travel, [m].

        Returns
        -------
        time : float
            On the clock of `times_s`, [s].

        Raises
        ------
        ValueError
            If the run, continued as it is, never gets there.
        """
        time = self.times_s[0] + (place_m - self.places_m[0]) / self.mean_speed
        for _ in range(_ITERATIONS):
            place, speed = self._place_and_speed(time)
            if not speed > 0:
                break
            step = (place_m - place) / speed
            time += step
            if abs(step) < 1e-13:
                return time
        raise ValueError(f"The curtain's run past the sensors does not lead to {1e3 * place_m:g} mm")

    def _place_and_speed(self, time: float) -> tuple[float, float]:
        coefficients = self._coefficients()
        place, speed = self.places_m[0], 0.0
        product, slope = 1.0, 0.0  # of (t - t0)(t - t1)..., and its derivative
        for c, knot in zip(coefficients, self.times_s, strict=True):
            product, slope = product * (time - knot), product + slope * (time - knot)
            place += c * product
            speed += c * slope
        return place, speed

    def _coefficients(self) -> list[float]:
        """Divided differences of every order, and the bend as one order more."""
        t, table, found = self.times_s, list(self.places_m), []
        for order in range(1, len(t)):
            pairs = enumerate(pairwise(table))
            table = [(b - a) / (t[i + order] - t[i]) for i, (a, b) in pairs]
            found.append(table[0])
        steepest = math.prod(t[-1] - knot for knot in t[:-1])
        return [*found, self.bend * self.mean_speed / steepest]


def shadow_width(gap_m: float, f_number: float) -> float:
    """
    Width of the shadow that a curtain's edge casts on the film: gap / f-number.

    Parameters
    ----------
    gap_m : float
        Curtain to film, [m].
    f_number : float
        Stop of the lens, [-].

    Returns
    -------
    width : float
        [m]. By similar triangles (from memory).
    """
    return gap_m / f_number


def slit_efficiency(slit_m: float, shadow_m: float) -> float:
    """
    Effective over total time of a point on the film: w / (w + e/N).

    Parameters
    ----------
    slit_m : float
        Width of the slit, above zero, [m].
    shadow_m : float
        Width of the shadow of an edge, [m].

    Returns
    -------
    efficiency : float
        0 to 1, [-]. From memory; slit 2 mm, gap 1.5 mm: 0.727 at f/2, 0.914 at f/8.
    """
    return slit_m / (slit_m + shadow_m)


def as_runs(
    first: Sequence[float], second: Sequence[float], places: Sequence[float], bend: float = 0.0
) -> tuple[Run, Run]:
    """Both curtains' runs over the same places."""
    return Run(tuple(first), tuple(places), bend), Run(tuple(second), tuple(places), bend)
