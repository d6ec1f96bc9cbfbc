"""
What a rangefinder's base allows.

A target at distance u is seen from both ends of the base B under angles that differ by ``B / u``; the eye
sees that angle magnified M times. So an error of theta at the eye is ``theta / (B M)`` dioptres, at every
distance alike, and ``u^2 theta / (B M)`` as a distance (W. J. Smith, Modern Optical Engineering, p. 308,
eq. 13.16 to 13.18; US Navy, Fire Control Instruments, ch. 6; both seen).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from pegwood.instruments.readings import RefusedReadings

__all__ = ["SPLIT_SOURCE", "Base", "range_error", "split_image_base"]

SPLIT_SOURCE: Final = (
    "thin prisms turn light by (n - 1) A (any text on optics; memory); "
    "each half looks at a place in the exit pupil f tan(turn) off its middle: worked out here"
)


@dataclass(frozen=True)
class Base:
    """
    Base and magnifying power.

    Parameters
    ----------
    length_m : float
        From window to window, or between the two places in the pupil a split-image screen looks at, [m].
    magnification : float
        Of the finder, [-].

    Raises
    ------
    RefusedReadings
        If either cannot be.
    """

    length_m: float
    magnification: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.length_m) and self.length_m > 0):
            raise RefusedReadings(
                "The base must be a length above zero, window to window, such as 40 mm.", "base_mm"
            )
        if not 0.05 <= self.magnification <= 60:
            raise RefusedReadings(
                "A finder magnifies between 0.05 and 60 times, such as 0.7.", "magnification"
            )

    @property
    def effective_m(self) -> float:
        """Base times magnifying power, [m]."""
        return self.length_m * self.magnification

    def error_dpt(self, acuity_rad: float) -> float:
        """The error of a setting, in dioptres: the same at every distance, [dpt]."""
        return acuity_rad / self.effective_m


def range_error(distance_m: float, base: Base, acuity_rad: float) -> float:
    """
    The handbook's range error, ``u^2 theta / (B M)``.

    Parameters
    ----------
    distance_m : float
        [m]
    base : Base
    acuity_rad : float
        Error at the eye, [rad].

    Returns
    -------
    error : float
        [m]
    """
    return distance_m**2 * base.error_dpt(acuity_rad)


def split_image_base(focal_m: float, stop: float, prism_deg: float, index: float) -> float:
    """
    The base of a split-image screen.

    A wedge of angle A and index n turns the light by ``d = (n - 1) A``; two of them, crossed, look at places
    in the lens's pupil that are ``2 f tan d`` apart: that is the base. With the finder's magnification for
    this lens, base times magnification then means what it means for a coupled finder.

    Parameters
    ----------
    focal_m : float
        Of the lens on the camera, [m].
    stop : float
        Its widest stop; the two places must lie within the pupil, ``2 tan d < 1 / N``.
    prism_deg : float
        Angle of each wedge, [degree].
    index : float
        Of what it is made of, [-].

    Returns
    -------
    base : float
        [m]

    Raises
    ------
    RefusedReadings
        If the wedge is none, or one half goes dark behind this lens.

    Notes
    -----
    Source: see `SPLIT_SOURCE`.
    """
    if not (0 < prism_deg < 45 and 1 < index < 3):
        raise RefusedReadings(
            "A wedge has an angle between 0 and 45 degrees and an index above 1, such as 8 degrees and 1.49.",
            "prism_deg",
        )
    turn = math.tan((index - 1) * math.radians(prism_deg))
    darkest = 1 / (2 * turn)
    if stop >= darkest:
        raise RefusedReadings(
            f"Behind f/{stop:g} one half of this split image is dark: wedges of {prism_deg:g} degrees need "
            f"a lens faster than f/{darkest:.1f}. Take the reading with a faster lens."
        )
    return 2 * focal_m * turn
