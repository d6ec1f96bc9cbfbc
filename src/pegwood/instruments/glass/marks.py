"""
How much of the glass is marked: where it sends side light to the camera that clean glass would let pass.

A place counts where its light stands above half of what it is at the strongest place within the blur around
it; so a mark's edge lies where it does, whatever its strength and however soft the picture is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.glass.practice import Practice
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["Marked", "above_ground", "marked_share"]

Light = NDArray[np.float32]
Mask = NDArray[np.bool_]

_SMOOTH = 0.8
_NEAR = 7
_STEEP_FOR = 6.0
"""Pixels across an edge that count as steep."""


@dataclass(frozen=True)
class Marked:
    """
    What stands out of the glass.

    Parameters
    ----------
    share : Measured
        Share of the glass, [%].
    places : array of bool, shape (height, width)
        Where.
    n : int
        Marks that hang together.
    least : float
        Light from which on a mark is seen, of full scale, [-].
    """

    share: Measured
    places: Mask
    n: int
    least: float


def above_ground(light: Light, inside: Mask, radius: float) -> Light:
    """
    Light less that of the clean glass around it.

    Parameters
    ----------
    light : array of float32, shape (height, width)
        The picture.
    inside : array of bool, same shape
        The glass.
    radius : float
        Its radius, [pixel].

    Returns
    -------
    above : array of float32, same shape
        Zero on the mean where the glass is clean.
    """
    from scipy.ndimage import zoom

    cell = max(6, round(radius / 7))
    rows, columns = math.ceil(light.shape[0] / cell), math.ceil(light.shape[1] / cell)
    ground = np.full((rows, columns), np.nan)
    for i in range(rows):
        for j in range(columns):
            part = (slice(i * cell, (i + 1) * cell), slice(j * cell, (j + 1) * cell))
            values = light[part][inside[part]]
            if values.size > 0.15 * cell * cell:
                ground[i, j] = np.quantile(values, 0.3)
    smooth = _filled(_median_of_neighbours(ground))
    fine = zoom(smooth, cell, order=1, grid_mode=True, mode="nearest")[: light.shape[0], : light.shape[1]]
    above: Light = (light - fine).astype(np.float32)
    clean = above[inside & (above < np.quantile(above[inside], 0.6))]
    return above - np.float32(_mode(clean)) if clean.size else above


def marked_share(
    above: Light, inside: Mask, known: Practice, unsure: float = 0.0, edges: Light | None = None
) -> Marked:
    """
    Share of the glass that stands out.

    Parameters
    ----------
    above : array of float32, shape (height, width)
        Light above that of clean glass, of full scale.
    inside : array of bool, same shape
        The glass.
    known : Practice
        How far out a mark has to stand, and how well its edge is known.
    unsure : float
        How far the whole may be off, of full scale: nothing below thrice that counts.
    edges : array of float32, same shape, optional
        What a place may differ by for no other reason than that two pictures never lie exactly over
        each other.

    Returns
    -------
    marked : Marked
    """
    from scipy.ndimage import gaussian_filter, maximum_filter
    from skimage.measure import euler_number, label, perimeter

    smooth = gaussian_filter(above, _SMOOTH)
    sigma = _noise(smooth, inside)
    least = max(known["detect.sigmas"].value * sigma, known["detect.least"].value, 3 * unsure)
    if edges is not None:
        smooth = np.where(smooth > edges, smooth, 0)
    strongest = maximum_filter(np.where(inside, smooth, 0), size=_NEAR)
    places = inside & (strongest > least) & (smooth > 0.5 * strongest) & (smooth > 0.5 * least)
    labels = label(places, connectivity=2)
    sizes = np.bincount(labels.ravel(), minlength=1)[1:]
    crumbs = sizes < 3
    if crumbs.any():
        places &= ~np.concatenate([[False], crumbs])[labels]
        sizes = sizes[~crumbs]
    whole = float(inside.sum())
    around = float(perimeter(places)) if places.any() else 0.0
    # blur of variance v moves the half level of an edge of radius r inwards by v / 2r: v times π in area for
    # every mark, whatever its size
    blur = known["edge.blur_px"].value
    rounded = math.pi * max(0, int(euler_number(places))) if places.any() else 0.0
    area = float(places.sum()) + rounded * (blur**2 + _SMOOTH**2)
    fine = float(sizes[sizes < known["edge.finest_px"].value].sum())
    edge = known["edge.u_px"]
    rel = known["edge.fine_u_rel"]
    missed = 1.0 + math.sqrt(area)
    lines = [
        edge.component("edges", 100 * edge.value * around / whole, f"{around:.0f} pixels around all marks"),
        rel.component("fine marks", 100 * rel.value * fine / whole, "no wider than the blur"),
        edge.component("blur", 100 * rounded * blur**2 * 0.5 / whole, f"taken as {blur:g} pixels"),
        Component("counting", 100 * 0.3 * missed / whole, math.inf, "A", "whole pixels, and noise"),
    ]
    if edges is None:
        # a faint mark beside a strong one is lost in its edge: the more marks there are, the larger a share
        crowded = known["edge.crowded_u_rel"]
        lines.append(
            crowded.component("marks that touch", 100 * crowded.value * (area / whole) ** 2, "lost in edges")
        )
    else:
        laid = known["edge.laid_over_px"]
        steep = float((edges[inside] > least).sum()) / _STEEP_FOR
        note = "edges of marks that are in both pictures"
        lines.append(laid.component("laid over", 100 * laid.value * max(around, steep) / whole, note))
    return Marked(combine(100 * area / whole, lines), places, int(sizes.size), least)


def _noise(smooth: Light, inside: Mask) -> float:
    """
    Standard deviation of what is left where nothing stands out.

    By the lower side of the values, which marks do not touch, and by neighbours, where black cuts that side
    off.
    """
    from scipy.ndimage import gaussian_filter

    ripple = (smooth - gaussian_filter(smooth, 3.0))[inside]  # without slow changes of light and haze
    middle = _mode(ripple)
    lower = middle - ripple[ripple < middle]
    sides = [float(np.median(lower)) if lower.size else 0.0, float(np.median(np.abs(ripple)))]
    return max(1.3 * 1.4826 * max(sides), 1e-5)  # the smoothing takes a quarter of the ripple with it


def _mode(values: NDArray[np.floating]) -> float:
    """The commonest value, by halving the shortest half again and again (half-sample mode)."""
    ordered = np.sort(np.asarray(values, dtype=float))
    if ordered.size > 4000:
        ordered = ordered[:: ordered.size // 4000]
    while ordered.size > 60:
        half = ordered.size // 2
        widths = ordered[half:] - ordered[: ordered.size - half]
        first = int(np.argmin(widths))
        ordered = ordered[first : first + half]
    return float(ordered.mean()) if ordered.size else 0.0


def _median_of_neighbours(grid: NDArray[np.floating]) -> NDArray[np.floating]:
    import warnings

    padded = np.pad(grid, 1, constant_values=np.nan)
    views = [padded[i : i + grid.shape[0], j : j + grid.shape[1]] for i in range(3) for j in range(3)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # cells wholly outside the glass have no neighbours
        return np.asarray(np.nanmedian(views, axis=0))


def _filled(grid: NDArray[np.floating]) -> NDArray[np.floating]:
    """Cells outside the glass take their nearest neighbour's value."""
    from scipy.ndimage import distance_transform_edt

    missing = np.isnan(grid)
    if missing.all():
        return np.zeros_like(grid)
    nearest = distance_transform_edt(missing, return_distances=False, return_indices=True)
    return np.asarray(grid[tuple(nearest)])
