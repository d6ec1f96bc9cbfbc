"""
Exposure values, luminance and illuminance, as ISO 2720 joins them.

``2**EV = N**2 / t = L S / K = E S / C``: L in cd/m2, E in lx, S the arithmetic film speed. K and C are
conventions, not measurements: another one moves every reading alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from pegwood.instruments.given import table_beside
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Mark

__all__ = ["RECEPTORS", "Calibration", "Range", "ev_of_setting", "iso_2720", "usual_k"]

Receptor = Literal["flat", "dome"]
RECEPTORS = ("flat", "dome")
"""What an incident meter is held in the light with."""


@dataclass(frozen=True)
class Range:
    """
    What the standard allows a constant to be.

    Parameters
    ----------
    low, high, usual : float
        Ends, and what is commonly taken: K in cd/m2, C in lx, both with S and s as ISO 2720 has them.
    note, source, mark : str
        What it is for, and where it comes from.
    """

    low: float
    high: float
    usual: float
    note: str
    source: str
    mark: Mark


@cache
def iso_2720() -> dict[str, Range]:
    """The ranges by name: "K", "C-flat", "C-dome"."""
    table: dict[str, Any] = table_beside(__package__, "iso2720.toml")
    own = {"source": table.pop("source"), "mark": table.pop("mark")}
    return {name: Range(**row, **own) for name, row in table.items()}


def usual_k() -> float:
    """The usual K, [cd/m2 with S and s]."""
    return iso_2720()["K"].usual


@dataclass(frozen=True)
class Calibration:
    """
    Film speed and constants by which light becomes an exposure value.

    Parameters
    ----------
    k : float, optional
        Constant for reflected light; the usual one if not given.
    c : float, optional
        Constant for incident light; the usual one of the receptor if not given.
    receptor : "flat" or "dome"
        Of the incident meter.
    film_speed : float
        ISO arithmetic speed, [-].

    Raises
    ------
    RefusedReadings
        If a figure is not above zero and finite, or the receptor is neither.
    """

    k: float | None = None
    c: float | None = None
    receptor: Receptor = "flat"
    film_speed: float = 100.0

    def __post_init__(self) -> None:
        if self.receptor not in RECEPTORS:
            raise RefusedReadings(f"A receptor is flat or dome, not {self.receptor!r}.")
        for name, value in (("K", self.k), ("C", self.c), ("The film speed", self.film_speed)):
            if value is not None and not (math.isfinite(value) and value > 0):
                raise RefusedReadings(
                    f"{name} must be above zero, such as 12.5, 250 or ISO 100; not {value:g}."
                )

    @property
    def k_used(self) -> float:
        """K, [cd/m2 with S and s]."""
        return usual_k() if self.k is None else self.k

    @property
    def c_used(self) -> float:
        """C, [lx with S and s]."""
        return iso_2720()[f"C-{self.receptor}"].usual if self.c is None else self.c

    def warnings(self, *names: str) -> tuple[str, ...]:
        """
        What lies outside the ranges of ISO 2720.

        Parameters
        ----------
        *names : str
            Which constants were used: "K", "C"; both if none is named.

        Returns
        -------
        warnings : tuple of str
            A line for each constant that lies outside; none where all is well.
        """
        held = {"K": ("K", self.k_used), "C": (f"C-{self.receptor}", self.c_used)}
        told = []
        for name in names or ("K", "C"):
            row, value = iso_2720()[held[name][0]], held[name][1]
            if not row.low <= value <= row.high:
                told.append(
                    f"{name} = {value:g} lies outside ISO 2720's {row.low:g} to {row.high:g} ({row.note}); "
                    f"against {row.usual:g} it moves every reading by {math.log2(row.usual / value):+.2f} EV."
                )
        return tuple(told)

    def ev_of_luminance(self, luminance: float) -> float:
        """
        Exposure value of a luminance.

        Parameters
        ----------
        luminance : float
            [cd/m2], above zero.

        Returns
        -------
        ev : float
            log2(L S / K), [EV].

        Raises
        ------
        RefusedReadings
            If it is not above zero.
        """
        return math.log2(_above_zero(luminance, "A luminance", "cd/m2") * self.film_speed / self.k_used)

    def ev_of_illuminance(self, illuminance: float) -> float:
        """
        Exposure value of an illuminance.

        Parameters
        ----------
        illuminance : float
            [lx], above zero.

        Returns
        -------
        ev : float
            log2(E S / C), [EV].

        Raises
        ------
        RefusedReadings
            If it is not above zero.
        """
        return math.log2(_above_zero(illuminance, "An illuminance", "lx") * self.film_speed / self.c_used)

    def luminance(self, ev: float) -> float:
        """
        Luminance that reads as an exposure value.

        Parameters
        ----------
        ev : float
            [EV].

        Returns
        -------
        luminance : float
            2**EV K / S, [cd/m2].
        """
        return float(_power(ev) * self.k_used / self.film_speed)

    def illuminance(self, ev: float) -> float:
        """
        Illuminance that reads as an exposure value.

        Parameters
        ----------
        ev : float
            [EV].

        Returns
        -------
        illuminance : float
            2**EV C / S, [lx].
        """
        return float(_power(ev) * self.c_used / self.film_speed)


def ev_of_setting(f_number: float, time: float) -> float:
    """
    Exposure value of a stop and a time.

    Parameters
    ----------
    f_number : float
        N, [-], above zero.
    time : float
        t, [s], above zero.

    Returns
    -------
    ev : float
        log2(N**2 / t), [EV].

    Raises
    ------
    RefusedReadings
        If one is not above zero.
    """
    stop = _above_zero(f_number, "An f-number", "no unit")
    return 2 * math.log2(stop) - math.log2(_above_zero(time, "A time", "s"))


def _above_zero(value: float, name: str, unit: str) -> float:
    if not (math.isfinite(value) and value > 0):
        raise RefusedReadings(f"{name} must be above zero ({unit}), not {value:g}.")
    return value


def _power(ev: float) -> float:
    if not abs(ev) <= 100:
        raise RefusedReadings(f"No light has EV {ev:g}. Give one such as 9.5.")
    return math.exp2(ev)
