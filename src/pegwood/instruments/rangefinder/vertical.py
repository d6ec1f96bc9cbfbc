"""One image standing higher than the other, by a graticule."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.instruments.rangefinder._practice import ARCMIN, practice
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, mean_of
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["Vertical", "vertical_error", "vertical_limit"]


@dataclass(frozen=True)
class Vertical:
    """
    Height of the moving image over the fixed one.

    Parameters
    ----------
    error : Measured
        Seen from the camera without magnification, [rad]; positive stands higher.
    limit : Bounds
        [rad], for the same.
    verdict : str
    """

    error: Measured
    limit: Bounds
    verdict: Verdict


def vertical_limit() -> Bounds:
    """How high one image may stand over the other, at the eye, as Pegwood comes, [rad]."""
    at_eye = practice("vertical", "arcmin")
    half = at_eye.value * ARCMIN
    return Bounds(-half, half, "rad", at_eye.source, at_eye.mark)


def vertical_error(
    readings_rad: Sequence[float],
    magnification: float,
    acuity_rad: float,
    at_eye: Bounds | None = None,
) -> Vertical | None:
    """
    Judge what was read off a graticule.

    Parameters
    ----------
    readings_rad : sequence of float, shape (n,)
        Height of the moving image over the fixed one, by a graticule or a target with a scale, as seen from
        the camera without the finder's magnification, [rad].
    magnification : float
        Of the finder: the eye sees the error that much larger, [-].
    acuity_rad : float
        Uncertainty of a single reading at the eye, [rad].
    at_eye : Bounds, optional
        The workshop's limit at the eye, [rad]; `vertical_limit` if not given.

    Returns
    -------
    vertical : Vertical or None
        None where nothing was read.

    Raises
    ------
    RefusedReadings
        If a reading is no small angle.
    """
    if not readings_rad:
        return None
    if not all(math.isfinite(one) and abs(one) < math.radians(5) for one in readings_rad):
        raise RefusedReadings(
            "A vertical error is an angle of some arc minutes, such as 4.", "vertical_arcmin"
        )
    single = Component(
        "eye",
        acuity_rad / magnification,
        note="a single reading, good to the acuity of the eye behind the finder",
    )
    if len(readings_rad) > 1:
        error = mean_of(readings_rad)
    else:
        error = Measured(float(readings_rad[0]), single.u, math.inf, (single,))
    at_eye = at_eye or vertical_limit()
    low, high = (None if side is None else side / magnification for side in (at_eye.low, at_eye.high))
    widest = max(abs(side) for side in (at_eye.low, at_eye.high) if side is not None)
    limit = Bounds(low, high, "rad", at_eye.source, at_eye.mark, f"{widest / ARCMIN:.3g} arcmin at the eye")
    return Vertical(error, limit, verdict(error, limit))
