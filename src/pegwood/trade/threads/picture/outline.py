"""A screw's outline out of its picture: found between ground and screw, and laid straight."""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib.util import find_spec

import numpy as np
from numpy.typing import NDArray

__all__ = ["ADD_IT", "Outline", "UnclearPicture", "can_read_pictures", "outline_of"]

Array = NDArray[np.float64]

ADD_IT = "Reading a screw's photograph needs scikit-image: pip install 'pegwood[pictures]'"
MAX_PIXELS = 60_000_000
#: How far apart ground and screw must be, of the whole range from black to white, and in noise.
_MIN_CONTRAST, _MIN_CONTRAST_IN_NOISE = 0.15, 5.0
#: Width of the smoothing before edges are looked for, [pixel].
_SMOOTHING = 1.0
#: How much ground is kept around the screw, [pixel].
_GROUND = 30
#: How much lighter one rim of the screw may be than the other, of the contrast.
_SHADOW = 0.12


class UnclearPicture(ValueError):
    """A picture that cannot be read; the message says why, and what would help."""


def can_read_pictures() -> bool:
    """Whether what finds outlines is installed; where not, `ADD_IT` has to be said."""
    return find_spec("skimage") is not None


@dataclass(frozen=True, kw_only=True)
class Outline:
    """
    The outline of one screw, laid along the first axis.

    Attributes
    ----------
    along, across : array, shape (n_points,)
        The points, in order around the screw, [pixel]; the axis lies near ``across = 0``.
    turned_rad : float
        By how much it lay turned in the picture, [rad].
    blur_pixels : float
        Standard deviation of the blur of its edges, [pixel].
    """

    along: Array
    across: Array
    turned_rad: float
    blur_pixels: float


def outline_of(brightness: Array) -> Outline:
    """
    The outline of the one dark thing on a light ground.

    Parameters
    ----------
    brightness : array, shape (height, width)
        From 0, black, to 1, white.

    Returns
    -------
    outline : Outline
        Its outline at half the brightness between ground and screw.

    Raises
    ------
    UnclearPicture
        If there is no such thing, or ground and screw are too much alike.
    """
    from scipy import ndimage
    from skimage import filters, measure

    picture = _checked(brightness)
    smooth = ndimage.gaussian_filter(picture, _SMOOTHING)
    threshold = float(filters.threshold_otsu(smooth))
    dark = smooth < threshold
    if not 0.001 < dark.mean() < 0.9:
        raise UnclearPicture(
            "There is no dark screw on a light ground in the picture. Lay it on white paper."
        )
    border = np.concatenate([dark[0], dark[-1], dark[:, 0], dark[:, -1]])
    if border.mean() > 0.5:
        raise UnclearPicture(
            "The ground is darker than the screw. Lay it on white paper, or light it from behind."
        )
    thing = _largest(measure.label(dark))
    ground, screw = float(np.median(picture[~dark])), float(np.median(picture[thing]))
    contrast = ground - screw
    noise = _noise(picture)
    if contrast < max(_MIN_CONTRAST, _MIN_CONTRAST_IN_NOISE * noise):
        raise UnclearPicture(
            f"Screw and ground differ by {contrast:.2f} of black to white, with a noise of {noise:.2f}: too "
            "little to see the edge. More light on the ground, or a lighter one."
        )
    around = _around(thing)
    picture, smooth = picture[around], smooth[around]
    filled = ndimage.binary_fill_holes(thing[around])
    # inside the screw everything counts as dark: glints on the crests are no edges
    depth = ndimage.distance_transform_edt(filled)
    seen = np.where(depth > 4, screw, smooth)
    level = ground - contrast / 2
    points = max(measure.find_contours(seen, level), key=len)
    spread = np.argwhere(filled).astype(float)
    centre = spread.mean(axis=0)
    values, axes = np.linalg.eigh(np.cov((spread - centre).T))
    if values[1] < 2.5 * values[0]:
        raise UnclearPicture("What is seen is hardly longer than wide. Show the screw from the side, whole.")
    axis = axes[:, 1] * (1 if axes[1, 1] >= 0 else -1)
    sideways = np.array([axis[1], -axis[0]])
    away = points - centre
    blur = _blur(picture, points, contrast)
    rim = np.argwhere((depth > 1 + 1.5 * blur) & (depth < 3 + 1.5 * blur))
    _refuse_shadow(picture[rim[:, 0], rim[:, 1]] / contrast, (rim - centre) @ sideways)
    return Outline(
        along=away @ axis,
        across=away @ sideways,
        turned_rad=math.atan2(axis[0], axis[1]),
        blur_pixels=blur,
    )


def _checked(brightness: Array) -> Array:
    picture = np.asarray(brightness, dtype=float)
    if picture.ndim != 2 or min(picture.shape) < 40:
        raise UnclearPicture("The picture is too small: the screw needs some hundred pixels of length.")
    if picture.size > MAX_PIXELS:
        raise UnclearPicture("The picture is too large. Cut out the screw with a little ground around it.")
    if not np.isfinite(picture).all() or picture.min() < 0 or picture.max() > 1:
        raise UnclearPicture("Brightness has to lie between 0, black, and 1, white.")
    return picture


def _largest(labels: NDArray[np.int_]) -> NDArray[np.bool_]:
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    found: NDArray[np.bool_] = labels == sizes.argmax()
    return found


def _around(thing: NDArray[np.bool_]) -> tuple[slice, slice]:
    """The part of the picture with the thing in it, and some ground."""
    rows, columns = np.flatnonzero(thing.any(axis=1)), np.flatnonzero(thing.any(axis=0))
    return (
        slice(max(rows[0] - _GROUND, 0), rows[-1] + _GROUND + 1),
        slice(max(columns[0] - _GROUND, 0), columns[-1] + _GROUND + 1),
    )


def _refuse_shadow(brightness: Array, side: Array) -> None:
    """A hard shadow beside the screw is dark too, but less so: then the rim is lighter on one side."""
    rims = [brightness[half] for half in (side > 0, side <= 0)]
    one, other = (float(np.quantile(rim, 0.75)) if len(rim) else 0.0 for rim in rims)
    if abs(one - other) > _SHADOW:
        raise UnclearPicture(
            "One edge is much lighter than the other: a shadow beside the screw, or light from one side. "
            "Light it from behind, or from all around."
        )


def _noise(picture: Array) -> float:
    """Standard deviation of the noise: from differences across two pixels, which edges seldom meet."""
    second = picture[:, 2:] - 2 * picture[:, 1:-1] + picture[:, :-2]
    return float(np.median(np.abs(second)) / 0.6745 / math.sqrt(6))


def _blur(picture: Array, points: Array, contrast: float) -> float:
    """
    The blur of the edges, from how steep they are: a straight edge blurred by s is at most contrast / (s
    sqrt(2 pi)) steep. What the derivative's own smoothing adds is taken off.
    """
    from scipy import ndimage

    steep = ndimage.gaussian_gradient_magnitude(picture, _SMOOTHING)
    rows, columns = np.clip(np.rint(points).astype(int), 0, np.array(picture.shape) - 1).T
    steepness = float(np.median(steep[rows, columns]))
    whole = contrast / (max(steepness, 1e-9) * math.sqrt(2 * math.pi))
    return math.sqrt(max(whole**2 - _SMOOTHING**2, 0.0))
