"""A screw's pitch and outside diameter out of a picture of it on a scale."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.trade.threads.picture.crests import crests_of
from pegwood.trade.threads.picture.edges import edges_of
from pegwood.trade.threads.picture.level import level_of
from pegwood.trade.threads.picture.outline import outline_of
from pegwood.trade.threads.picture.turns import turns_of

#: A scale beside the screw, read over fifty millimetres: standard uncertainty as a share.
U_SCALE_SHARE = 0.005


@dataclass(frozen=True, kw_only=True)
class ScrewPicture:
    """
    What a picture says of a screw.

    Attributes
    ----------
    diameter_m, u_diameter_m : float
        Outside diameter over the crests and its standard uncertainty, [m].
    pitch_m, u_pitch_m : float
        Pitch and its standard uncertainty, [m].
    angle_deg, u_angle_deg : float, optional
        Angle between the flanks, [degree]; None where the picture is not sharp enough for it.
    turns : int
        How many turns were read, both edges together.
    turned_deg : float
        How far the screw lay turned in the picture, [degree].
    blur_pixels : float
        Standard deviation of the blur of its edges, [pixel].
    """

    diameter_m: float
    u_diameter_m: float
    pitch_m: float
    u_pitch_m: float
    angle_deg: float | None
    u_angle_deg: float
    turns: int
    turned_deg: float
    blur_pixels: float


def read_screw(
    brightness: NDArray[np.float64], m_per_pixel: float, u_scale_share: float = U_SCALE_SHARE
) -> ScrewPicture:
    """
    Pitch, outside diameter and flank angle of the one screw in a picture.

    Parameters
    ----------
    brightness : array, shape (height, width)
        The picture, from 0, black, to 1, white: a dark screw or its shadow on a light ground.
    m_per_pixel : float
        The scale, [m].
    u_scale_share : float
        Its standard uncertainty as a share, [1].

    Returns
    -------
    picture : ScrewPicture
        What it says, with uncertainties: of the edges, the scale and how level the screw lay.

    Raises
    ------
    UnclearPicture
        If it is blurred, shows too few turns, was taken at a slant, shows no screw or
        a doubtful one; the message says
        which, and what would help.
    ValueError
        If the scale cannot be.
    """
    if not (math.isfinite(m_per_pixel) and 1e-8 < m_per_pixel < 1e-3):
        raise ValueError(
            f"A scale of {m_per_pixel * 1e3:g} mm to the pixel cannot be. Give it in millimetres, such as "
            "0.01: photograph a ruler at the same distance and count its pixels."
        )
    if not 0 <= u_scale_share < 0.2:
        raise ValueError(f"An uncertainty of {100 * u_scale_share:g} % in the scale. Give one from 0 to 20.")
    outline = outline_of(brightness)
    edges = edges_of(outline)
    turns = turns_of(edges)
    level = level_of(edges, turns.pitch)
    crests = crests_of(edges, turns.pitch, outline.blur_pixels)
    # few turns know their own scatter badly: Student's t against the normal at equal variance
    widened = math.sqrt(turns.degrees_of_freedom / max(turns.degrees_of_freedom - 2, 1))
    pitch_m = turns.pitch * m_per_pixel / (1 - level.shortened)
    diameter_m = crests.diameter * m_per_pixel
    return ScrewPicture(
        diameter_m=diameter_m,
        u_diameter_m=math.hypot(crests.u_diameter * m_per_pixel, u_scale_share * diameter_m),
        pitch_m=pitch_m,
        u_pitch_m=pitch_m
        * math.sqrt((widened * turns.u_pitch / turns.pitch) ** 2 + u_scale_share**2 + level.u_shortened**2),
        angle_deg=crests.angle_deg,
        u_angle_deg=crests.u_angle_deg,
        turns=turns.count,
        turned_deg=math.degrees(outline.turned_rad),
        blur_pixels=outline.blur_pixels,
    )
