"""How a fit of two metals opens or closes with warmth."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass

from pegwood.trade.figures import Figure, Several, several
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.materials import MATERIALS
from pegwood.trade.measured import COVERAGE, Measured
from pegwood.trade.names import find, nearest
from pegwood.trade.reference import Reference, Row, Table


@dataclass(frozen=True, kw_only=True)
class Expansion(Row):
    """
    How far a material grows with warmth.

    Attributes
    ----------
    material : str
        Its key in the table of materials.
    per_mk : tuple of Figure
        Linear coefficients, 1e-6/K; the one to use first.
    """

    material: str
    per_mk: tuple[Figure, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.per_mk or not all(0 < one.value < 300 for one in self.per_mk):
            raise ValueError("expansion is given in 1e-6 per kelvin, above 0 and below 300.")

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.material,)

    @property
    def said(self) -> Several:
        """All figures as one."""
        return several(self.per_mk)


EXPANSIONS = Table("expansion", Expansion)


@dataclass(frozen=True, kw_only=True)
class Fit:
    """
    A round part in another, and what warmth does.

    Attributes
    ----------
    change_m, low_m, high_m : float
        Change of the diametral clearance, m, by the figures used and over all figures of the sources;
        positive opens.
    clearance : Measured, optional
        At the first temperature, m; below zero if the parts are pressed together.
    grounds : tuple of Ground
    """

    change_m: float
    low_m: float
    high_m: float
    clearance: Measured | None
    grounds: Grounds

    @property
    def then_m(self) -> tuple[float, float, float] | None:
        """
        Clearance at the second temperature, m: by the figures used, least and most.

        Least and most reach over all sources and over 95 % of what the measured clearance may be.
        """
        if self.clearance is None:
            return None
        now, wide = self.clearance.value, COVERAGE * self.clearance.u
        return now + self.change_m, now + self.low_m - wide, now + self.high_m + wide


def expansion_of(reference: Reference, word: str) -> tuple[Expansion, str]:
    """
    How far a material grows, and its full name.

    Raises
    ------
    UnknownWord
        If no material is called so.
    ValueError
        If none of the sources has a figure for it.
    """
    material = find(reference.rows(MATERIALS), word, "material")
    rows = reference.rows(EXPANSIONS)
    if material.key not in rows:
        near = nearest(material.key, [str(key) for key in rows])
        below = "Name the metal below it. " if material.kind in ("finish", "coating") else ""
        raise ValueError(
            f"expansion of {material.name} is not known. {below}Known near it: {', '.join(near) or 'none'}."
        )
    return rows[material.key], material.name


def fit(
    outer: Expansion,
    inner: Expansion,
    *,
    diameter_m: float,
    by_k: float,
    clearance: Measured | None = None,
) -> Fit:
    """
    Change of the diametral clearance of a fit with warmth: D (a_outer - a_inner) dT.

    Parameters
    ----------
    outer, inner : Expansion
    diameter_m : float
        Diameter of the fit, m.
    by_k : float
        Second temperature less the first, K; both parts are as warm as each other.
    clearance : Measured, optional
        Diametral clearance at the first temperature, m.

    Raises
    ------
    ValueError
        If a figure cannot be.
    """
    if not 0 < diameter_m < 1:
        raise ValueError("the diameter must lie above 0 and below 1000 mm.")
    if not math.isfinite(by_k) or abs(by_k) > 200:
        raise ValueError("give two temperatures in degrees Celsius, not more than 200 apart.")
    out, into = outer.said, inner.said
    ends = [diameter_m * (a - b) * 1e-6 * by_k for a in (out.low, out.high) for b in (into.low, into.high)]
    return Fit(
        change_m=diameter_m * (out.value - into.value) * 1e-6 * by_k,
        low_m=min(ends),
        high_m=max(ends),
        clearance=clearance,
        grounds=joined(out.grounds, into.grounds),
    )
