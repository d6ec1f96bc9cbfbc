"""
Two photographs of one glass laid over each other: shift, small turn and exposure.

Shift by phase correlation (C. Kuglin and D. Hines 1975; memory), turn by the same on the picture unrolled
around the glass. What is fixed, the mount around the glass, has to agree afterwards; where it does
not, the two
were not taken alike and nothing is compared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.glass.place import Glass
from pegwood.instruments.glass.practice import Practice
from pegwood.instruments.photographs import averaged_down
from pegwood.instruments.readings import RefusedReadings

__all__ = ["Overlaid", "overlay"]

Light = NDArray[np.float32]

MOST_TURNED = math.radians(8)
_AGREE = 0.5
_REGISTER_AT = 560


@dataclass(frozen=True)
class Overlaid:
    """
    The second picture in the place and exposure of the first.

    Parameters
    ----------
    after : array of float32, shape (height, width)
        The second picture, laid over the first and brought to its exposure.
    shift : (float, float)
        x and y by which it was moved, [pixel].
    turned : float
        By how much, [rad].
    factor, factor_u : float
        By which its light was multiplied, and the relative standard uncertainty of that, [-].
    agreement : float
        Correlation of what is fixed, [-].
    told : bool
        Whether the surroundings told the exposure; where not, it was taken as the same.
    """

    after: Light
    shift: tuple[float, float]
    turned: float
    factor: float
    factor_u: float
    agreement: float
    told: bool


def overlay(before: Light, after: Light, glass: Glass, known: Practice) -> Overlaid:
    """
    Lay the second picture over the first.

    Parameters
    ----------
    before, after : array of float32, shape (height, width)
        Both pictures, of one size.
    glass : Glass
        Where the glass is in the first.
    known : Practice
        How far exposures may differ.

    Returns
    -------
    overlaid : Overlaid

    Raises
    ------
    RefusedReadings
        If they were not taken alike; one line, with what to do.
    """
    by = max(1, math.ceil(max(before.shape) / _REGISTER_AT))
    place = _Place(0.0, 0.0, 0.0)
    small = glass.reduced(by)
    first, second = averaged_down(before, by), averaged_down(after, by)
    mount, fine = _mount(first.shape, small), _fine(first)
    for upsample in (4, 20):
        place = place.and_shift(_shift(fine * mount, _fine(_laid(second, small, place)) * mount, upsample))
        place = place.and_turn(_turn(fine, _fine(_laid(second, small, place)), small))
        if abs(place.turned) > MOST_TURNED:
            raise RefusedReadings(
                f"The second picture is turned by more than {math.degrees(MOST_TURNED):.0f}° against the "
                "first, or nothing fixed is seen in both. Take both from one stand."
            )
    place = _Place(place.x * by, place.y * by, place.turned)
    mount, fine = _mount(before.shape, glass), _fine(before)
    place = place.and_shift(_shift(fine * mount, _fine(_laid(after, glass, place)) * mount, 20))
    laid = _laid(after, glass, place, order=3)  # linear interpolation would blur it
    valid = _laid(np.ones_like(after), glass, place) > 0.99
    agreement = _agreement(fine, _fine(laid), (mount > 0.5) & valid)
    if agreement < _AGREE:
        raise RefusedReadings(
            "The two pictures were not taken alike: the mount around the glass does not agree. Take both "
            "from one stand with one lamp, rim and engraving in the picture."
        )
    factor, factor_u, told = _exposure(before, laid, glass, (mount > 0.5) & valid, known)
    whole = (laid * factor).astype(np.float32)
    return Overlaid(whole, (place.x, place.y), place.turned, factor, factor_u, agreement, told)


@dataclass(frozen=True)
class _Place:
    """How the second picture has to be moved, [pixel], and turned about the glass's middle, [rad]."""

    x: float
    y: float
    turned: float

    def and_shift(self, rows_columns: NDArray[np.floating]) -> _Place:
        return _Place(self.x + float(rows_columns[1]), self.y + float(rows_columns[0]), self.turned)

    def and_turn(self, turned: float) -> _Place:
        return _Place(self.x, self.y, self.turned + turned)


def _laid(picture: Light, glass: Glass, place: _Place, order: int = 1) -> Light:
    from skimage.transform import EuclideanTransform, warp

    there = EuclideanTransform(translation=(-glass.x, -glass.y))
    turn = EuclideanTransform(rotation=place.turned)
    back = EuclideanTransform(translation=(glass.x - place.x, glass.y - place.y))
    laid = warp(picture, there + turn + back, order=order, mode="edge", preserve_range=True)
    return np.asarray(laid).astype(np.float32)


def _mount(shape: tuple[int, ...], glass: Glass) -> Light:
    """One on what surrounds the glass, falling to zero on it and at the picture's border."""
    away = glass.away(shape)
    around = np.clip((away - 1.03) / 0.05, 0, 1)
    rows = np.minimum(np.arange(shape[0]), np.arange(shape[0])[::-1])
    columns = np.minimum(np.arange(shape[1]), np.arange(shape[1])[::-1])
    border = 0.04 * min(shape)
    frame = np.clip(rows / border, 0, 1)[:, None] * np.clip(columns / border, 0, 1)[None, :]
    mount: Light = (around * frame).astype(np.float32)
    return mount


def _fine(picture: Light) -> Light:
    """The picture without its slow changes, bright and dark parts alike in weight."""
    from scipy.ndimage import gaussian_filter

    steps = np.sqrt(np.clip(picture, 0, 1))
    fine: Light = (gaussian_filter(steps, 1.0) - gaussian_filter(steps, 6.0)).astype(np.float32)
    return fine


def _shift(first: Light, second: Light, upsample: int) -> NDArray[np.floating]:
    from skimage.registration import phase_cross_correlation

    found, _, _ = phase_cross_correlation(first, second, upsample_factor=upsample, normalization=None)
    return np.asarray(found, dtype=float)


def _turn(first: Light, second: Light, glass: Glass) -> float:
    """Turn of the second against the first about the glass's middle, [rad]."""
    from skimage.registration import phase_cross_correlation
    from skimage.transform import warp_polar

    height, width = first.shape
    reach = min(glass.x, glass.y, width - 1 - glass.x, height - 1 - glass.y)
    reach = max(reach, 1.25 * glass.radius)
    steps = 1440
    unrolled = [
        warp_polar(one, center=(glass.y, glass.x), radius=reach, output_shape=(steps, round(reach)))[
            :, round(1.03 * glass.radius) :
        ]
        for one in (first, second)
    ]
    if unrolled[0].shape[1] < 4:
        return 0.0
    found, _, _ = phase_cross_correlation(*unrolled, upsample_factor=20, normalization=None)
    rows = (found[0] + steps / 2) % steps - steps / 2
    return -float(rows) * 2 * math.pi / steps


def _agreement(first: Light, second: Light, part: NDArray[np.bool_]) -> float:
    a, b = first[part].astype(float), second[part].astype(float)
    if a.size < 500 or min(a.std(), b.std()) < 1e-6:
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])


def _exposure(
    before: Light, after: Light, glass: Glass, part: NDArray[np.bool_], known: Practice
) -> tuple[float, float, bool]:
    from scipy.ndimage import gaussian_filter

    first, second = gaussian_filter(before, 2.0), gaussian_filter(after, 2.0)
    lit = part & (first > 0.02) & (first < 0.9) & (second > 0.01) & (second < 0.9)
    y, x = np.nonzero(lit)
    sector = (np.arctan2(y - glass.y, x - glass.x) * 4 / math.pi).astype(int) % 8
    ratio = []
    for one in range(8):
        here = sector == one
        if here.sum() > 200:
            a, b = second[y[here], x[here]].astype(float), first[y[here], x[here]].astype(float)
            ratio.append(float((a * b).sum() / (a * a).sum()))
    if len(ratio) < 4:
        return 1.0, known["exposure.u_rel"].value, False
    factor, scatter = float(np.median(ratio)), float(np.std(ratio, ddof=1))
    if not 1 / known["exposure.most"].value < factor < known["exposure.most"].value:
        raise RefusedReadings(
            f"The two pictures were not exposed alike: one is {max(factor, 1 / factor):.1f} times as bright. "
            "Lock exposure and focus for both."
        )
    if scatter > known["exposure.uneven_rel"].value * factor:
        raise RefusedReadings(
            "The two pictures were lit from different sides: what surrounds the glass is brighter here and "
            "darker there. Leave lamp and camera where they are."
        )
    u = math.hypot(scatter / factor / math.sqrt(len(ratio)) * 1.25, known["exposure.floor_rel"].value)
    return factor, u, True
