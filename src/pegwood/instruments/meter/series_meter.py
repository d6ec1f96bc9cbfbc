"""The circuit of a simple CdS meter, and a diode's drop over its current."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from pegwood.instruments.readings import RefusedReadings

__all__ = ["SeriesMeter", "diode_drop"]

THERMAL_V_PER_K = 1.380649e-23 / 1.602176634e-19
"""k / q, [V/K]: exact by the definitions of the SI (2019)."""
ROOM_K = 293.15


@dataclass(frozen=True)
class SeriesMeter:
    """
    A simple CdS meter.

    Parameters
    ----------
    volts : float
        Supply its scale was drawn for, [V].
    current : float
        What it draws in the middle of its scale on that supply, [A].
    gamma : float
        Of the cell, [-].
    series_ohm : float
        Fixed resistance in series, movement included, [ohm].
    half_range : float
        Half the width of the scale, [EV].

    Raises
    ------
    RefusedReadings
        If a figure cannot be: the fixed resistance alone would let less current through.
    """

    volts: float
    current: float
    gamma: float
    series_ohm: float = 0.0
    half_range: float = 5.0

    def __post_init__(self) -> None:
        known = {"volts": self.volts, "current": self.current, "gamma": self.gamma, "range": self.half_range}
        for name, value in known.items():
            if not (math.isfinite(value) and value > 0):
                raise RefusedReadings(f"A meter's {name} must be above zero, not {value:g}.")
        if not (math.isfinite(self.series_ohm) and self.series_ohm >= 0):
            raise RefusedReadings(f"A series resistance is not below zero, not {self.series_ohm:g} ohm.")
        if self.cell_ohm <= 0:
            raise RefusedReadings(
                f"{self.series_ohm:g} ohm in series let no {1e6 * self.current:g} uA through at "
                f"{self.volts:g} V. "
                "Measure both again."
            )

    @property
    def cell_ohm(self) -> float:
        """Resistance of the cell in the middle of the scale, [ohm]."""
        return self.volts / self.current - self.series_ohm

    def drawn(self, x: float, volts: float, drop: Callable[[float], float] | None = None) -> float:
        """
        Current at a light.

        Parameters
        ----------
        x : float
            The light, from the middle of the scale, [EV].
        volts : float
            Supply, [V].
        drop : callable, optional
            Takes a current, [A], and returns what something in series takes away, [V].

        Returns
        -------
        current : float
            [A].
        """
        from scipy.optimize import brentq

        whole = self.series_ohm + self.cell_ohm * 2 ** (-self.gamma * x)
        if drop is None:
            return volts / whole
        return float(
            brentq(lambda i: volts - drop(i) - i * whole, 0.0, volts / whole, xtol=1e-15, rtol=1e-12)
        )

    def shown(self, current: float) -> float | None:
        """
        The light the scale shows for a current, from its middle, [EV]; None beyond the end of any scale.
        """
        left = self.volts / current - self.series_ohm
        return None if left <= 0 else -math.log2(left / self.cell_ohm) / self.gamma


def diode_drop(volts: float, at: float, ideality: float, kelvin: float = ROOM_K) -> Callable[[float], float]:
    """
    Drop of a diode over the current.

    Parameters
    ----------
    volts : float
        Its drop at one current, [V].
    at : float
        That current, [A].
    ideality : float
        n, [-].
    kelvin : float
        Temperature, [K].

    Returns
    -------
    drop : callable
        Takes a current, [A], returns the drop, [V]: that of a junction whose saturation current follows from
        the point given (Shockley's equation).
    """
    slope = ideality * THERMAL_V_PER_K * kelvin
    saturation = at / math.expm1(volts / slope)
    return lambda current: slope * math.log1p(max(current, 0.0) / saturation)
