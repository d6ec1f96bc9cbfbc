"""
From distances to the film plane: how far a lens stands from where the image is sharp.

Thin lens: focused at u it stands ``x' = f^2 / (u - f)`` before its place for infinity (W. J. Smith, Modern
Optical Engineering; memory). In dioptres, ``w = 1/u``: ``x' = f^2 w / (1 - f w)``.
"""

from __future__ import annotations

import math
from typing import Literal

from pegwood.instruments.readings import RefusedReadings

__all__ = ["MeasuredFrom", "film_error", "film_slope", "first_order_film_error", "from_the_lens", "travel"]

MeasuredFrom = Literal["lens", "film"]


def travel(vergence_dpt: float, focal_m: float) -> float:
    """
    Lens travel from infinity to where it is focused.

    Parameters
    ----------
    vergence_dpt : float
        One over the distance, [dpt]; below zero beyond infinity.
    focal_m : float
        Focal length, [m].

    Returns
    -------
    travel : float
        [m]; positive away from the film.

    Raises
    ------
    RefusedReadings
        If it is nearer than the focal length.
    """
    beside = 1 - focal_m * vergence_dpt
    if beside <= 0:
        raise RefusedReadings(
            f"A lens of {1e3 * focal_m:g} mm cannot be focused at {1 / vergence_dpt:g} m: that is within its "
            "focal length. Check the distances and the focal length.",
            "focal_mm",
        )
    return focal_m * focal_m * vergence_dpt / beside


def film_error(true_dpt: float, shown_dpt: float, focal_m: float) -> float:
    """
    How far the lens stands too far out, exactly.

    Parameters
    ----------
    true_dpt, shown_dpt : float
        Vergence of what is photographed, and of where the lens is set, [dpt].
    focal_m : float
        [m]

    Returns
    -------
    error : float
        [m]. Positive: set too near, the sharp image falls before the film, that much towards the lens.
    """
    return travel(shown_dpt, focal_m) - travel(true_dpt, focal_m)


def first_order_film_error(true_m: float, error_m: float, focal_m: float) -> float:
    """
    The handbook's form for a small error: ``dx' = f^2 du / (u - f)^2``.

    Parameters
    ----------
    true_m : float
        Distance u, [m].
    error_m : float
        How much farther than that the lens is set, [m].
    focal_m : float
        [m]

    Returns
    -------
    size : float
        [m]; set too far counts positive here, as in the handbook, and negative in `film_error`.
    """
    return focal_m**2 * error_m / (true_m - focal_m) ** 2


def film_slope(vergence_dpt: float, focal_m: float) -> float:
    """Lens travel for a dioptre there, [m/dpt]: ``f^2 / (1 - f w)^2``."""
    return focal_m**2 / (1 - focal_m * vergence_dpt) ** 2


def from_the_lens(vergence_dpt: float, focal_m: float, measured_from: MeasuredFrom) -> float:
    """
    The vergence at a thin lens of a distance told from the film plane or from the lens.

    Parameters
    ----------
    vergence_dpt : float
        One over the distance as told, [dpt].
    focal_m : float
        [m]
    measured_from : "lens" or "film"
        A distance D from the film is ``u + f u / (u - f)``: ``u = (D + sqrt(D^2 - 4 f D)) / 2``.

    Returns
    -------
    vergence : float
        [dpt]

    Raises
    ------
    RefusedReadings
        If nothing so near can be sharp on the film (four focal lengths at least).
    """
    if measured_from == "lens" or vergence_dpt == 0:
        return vergence_dpt
    inside = 1 - 4 * focal_m * vergence_dpt
    if inside <= 0:
        raise RefusedReadings(
            f"{1 / vergence_dpt:g} m from the film is less than four focal lengths of {1e3 * focal_m:g} mm: "
            "nothing so near can be sharp. Check the distances and the focal length.",
            "focal_mm",
        )
    # the same root, written so that it holds beyond infinity too
    return 2 * vergence_dpt / (1 + math.sqrt(inside))
