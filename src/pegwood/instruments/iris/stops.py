"""
f-numbers: what a ring says, what was meant by it, and how far a diameter is from it.

N = f/D with the entrance pupil's diameter D (ISO 517, seen in extracts). The exact series is 2^(k/2), of
which rings show round numbers: 5.6 for 5.657, 11 for 11.314. Twice the logarithm to base 2 of a ratio of
f-numbers is the exposure between them in EV.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from pegwood.instruments.iris.practice import Practice
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["FocalLength", "MarkedStop", "Stop", "difference_ev", "equal_circle", "error_of"]

_NEAR = 0.035
"""How far a round number may be from its power of two, [-]: 11 and 22 are 2.8 % from theirs."""
_EV = 2 / math.log(2)


@dataclass(frozen=True)
class MarkedStop:
    """
    A mark on the ring.

    Parameters
    ----------
    text : str
        As it stands there.
    number : float
        The f-number at face value.
    exact : float
        The power of the square root of two it stands for; the number itself where it is none of the series.
    """

    text: str
    number: float
    exact: float

    @property
    def in_series(self) -> bool:
        """Whether it is one of the series 1, 1.4, 2, 2.8 ..."""
        return self.exact != self.number or _is_power(self.number)

    @classmethod
    def parse(cls, text: str) -> MarkedStop:
        """
        Read a mark.

        Parameters
        ----------
        text : str
            "2.8", "f/2.8", "1:2,8".

        Returns
        -------
        marked : MarkedStop

        Raises
        ------
        RefusedReadings
            If it is none.
        """
        said = text.strip()
        found = re.fullmatch(r"(?:f\s*[/:]?\s*|1\s*:\s*)?(\d+(?:[.,]\d+)?)", said, re.IGNORECASE)
        number = float(found[1].replace(",", ".")) if found else math.nan
        if not 0.5 <= number <= 256:
            raise RefusedReadings(
                f"{said[:40]!r} is no f-number. Write such as 2.8 or f/2.8, from 0.5 to 256."
            )
        power = 2 ** (round(2 * math.log2(number)) / 2)
        return cls(said, number, power if abs(number / power - 1) <= _NEAR else number)


@dataclass(frozen=True)
class FocalLength:
    """A lens's focal length, [m], and its standard uncertainty with what that rests on."""

    value_m: float
    component: Component

    @classmethod
    def told(cls, mm: float, u_rel: float | None, known: Practice) -> FocalLength:
        """
        As engraved or measured.

        Parameters
        ----------
        mm : float
            [mm].
        u_rel : float or None
            Its relative standard uncertainty where it was measured; as engraved if None.
        known : Practice
            How far an engraved one may be off.

        Returns
        -------
        focal : FocalLength

        Raises
        ------
        RefusedReadings
            If it is not above zero.
        """
        if not (math.isfinite(mm) and 0 < mm < 20_000):
            raise RefusedReadings(f"A focal length of {mm:g} mm can't be. Write it in mm, such as 50.")
        value = mm / 1000
        if u_rel is not None:
            return cls(value, Component("focal length", value * u_rel, note="as told"))
        given = known["focal.half_width_rel"]
        note = f"as engraved: evenly spread over ± {100 * given.value:g} %"
        return cls(value, given.component("focal length", value * given.value / math.sqrt(3), note))


@dataclass(frozen=True)
class Stop:
    """
    A stop as it is.

    Parameters
    ----------
    marked : MarkedStop or None
        What the ring says; None where it was not told.
    f_number : Measured or None
        Focal length over diameter, [-]; None without a focal length.
    error : Measured or None
        Light over that meant, [EV]; positive lets in too much. None where one of the two is not known.
    limit : Bounds or None
        The workshop's, [EV].
    verdict : str
        What the error says about it.
    """

    marked: MarkedStop | None
    f_number: Measured | None
    error: Measured | None
    limit: Bounds | None
    verdict: Verdict


def error_of(
    diameter: Measured | None,
    marked: MarkedStop | None,
    focal: FocalLength | None,
    known: Practice,
    limit: Bounds | None = None,
) -> Stop:
    """
    Hold a diameter against a mark.

    Parameters
    ----------
    diameter : Measured or None
        Of the entrance pupil, [m].
    marked : MarkedStop or None
        The mark.
    focal : FocalLength or None
        The lens's.
    known : Practice
        The limits.
    limit : Bounds, optional
        The workshop's own limit instead, [EV].

    Returns
    -------
    stop : Stop
    """
    chosen = limit or (known.limit_for(marked.number) if marked else None)
    if diameter is None or focal is None or diameter.value <= 0:
        return Stop(marked, None, None, chosen, verdict(None, chosen))
    number = focal.value_m / diameter.value
    lines = [*_relative(diameter), *_share(focal)]
    f_number = combine(number, [_times(one, number) for one in lines])
    if marked is None:
        return Stop(None, f_number, None, None, "no limit given")
    error = combine(2 * math.log2(marked.exact / number), [_times(one, _EV) for one in lines])
    return Stop(marked, f_number, error, chosen, verdict(error, chosen))


def difference_ev(first: Measured, second: Measured, shared: tuple[str, ...]) -> Measured:
    """
    Light of a second setting over that of a first.

    Parameters
    ----------
    first, second : Measured
        Diameters or any multiple of them, in one unit.
    shared : tuple of str
        Components that are the same for both and drop out.

    Returns
    -------
    difference : Measured
        2 log2(second / first), [EV].
    """
    lines = [
        replace(_times(one, _EV / measured.value), name=f"{one.name}, {which}")
        for which, measured in (("first", first), ("second", second))
        for one in measured.budget
        if one.name not in shared
    ]  # fmt: skip
    return combine(2 * math.log2(second.value / first.value), lines)


def equal_circle(across: float, blades: int, corners: bool) -> float:
    """
    Diameter of the circle with the area of a regular polygon.

    Parameters
    ----------
    across : float
        Width between two flats (twice the inner radius) or twice the distance of a corner from the middle.
    blades : int
        Number of sides, 3 or more.
    corners : bool
        Whether it was taken at the corners.

    Returns
    -------
    diameter : float
        In the unit of `across`. Closed form; facts in the table of apertures (memory).
    """
    if corners:
        return across * math.sqrt(blades / (2 * math.pi) * math.sin(2 * math.pi / blades))
    return across * math.sqrt(blades / math.pi * math.tan(math.pi / blades))


def _is_power(number: float) -> bool:
    k = 2 * math.log2(number)
    return abs(k - round(k)) < 1e-9


def _relative(measured: Measured) -> list[Component]:
    if not measured.budget:
        return [Component("diameter", measured.u / measured.value, measured.df)]
    return [_times(one, 1 / measured.value) for one in measured.budget]


def _share(focal: FocalLength) -> list[Component]:
    return [_times(focal.component, 1 / focal.value_m)]


def _times(one: Component, factor: float) -> Component:
    return Component(one.name, one.u * abs(factor), one.df, one.kind, one.note, one.source, one.mark)
