"""The torque at which a flat friction clutch slips."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Clutch:
    """
    A flat clutch pressed by a spring.

    Attributes
    ----------
    friction : float
        Coefficient between its faces.
    force_n : float
        That presses them, N.
    faces : int
        Pairs of faces that rub.
    outer_m, inner_m : float
        Radii between which they touch, m.

    Raises
    ------
    ValueError
        If a figure cannot be.
    """

    friction: float
    force_n: float
    faces: int
    outer_m: float
    inner_m: float

    def __post_init__(self) -> None:
        if not 0 < self.friction < 2 or not 0 < self.force_n < math.inf or self.faces < 1:
            raise ValueError("friction lies between 0 and 2, the force is above 0, one face at least rubs.")
        if not 0 <= self.inner_m < self.outer_m < math.inf:
            raise ValueError("the faces touch between an inner and a greater outer diameter.")

    @property
    def worn_n_m(self) -> float:
        """Torque once the faces have worn in: mu F N (ro + ri) / 2, N m."""
        return self.friction * self.force_n * self.faces * (self.outer_m + self.inner_m) / 2

    @property
    def new_n_m(self) -> float:
        """Torque under even pressure, as new: mu F N (2/3) (ro^3 - ri^3) / (ro^2 - ri^2), N m."""
        o, i = self.outer_m, self.inner_m
        return self.friction * self.force_n * self.faces * 2 / 3 * (o**3 - i**3) / (o**2 - i**2)
