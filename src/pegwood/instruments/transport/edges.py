"""
Edges of the gate on a film: straight lines right across it at which the light steps the same way in
every row.

A picture has edges too, but they seldom run straight from top to bottom and step one way all along.
Each edge is fitted in bands across the film, every band weighted by its own contrast, so that a part of
the edge that was hardly exposed counts for as little as it tells. Where the light stands half-way
between bare film and the picture's level at the edge, blur moves nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.transport.crossing import half_way

__all__ = ["Edge", "Rectified", "find_edges"]

Array = NDArray[np.float64]

_BANDS = 8
_STEP_MM = 0.4


@dataclass(frozen=True)
class Rectified:
    """
    The part of the film with the pictures, straightened.

    Parameters
    ----------
    along : array, shape (n,)
        [mm] from the strip's left end, evenly spaced.
    across : array, shape (m,)
        [mm] from the film's middle, down.
    light : array of float32, shape (m, n)
        Over the light of bare film.
    darker : bool
        Whether pictures are darker than bare film.
    pixel_mm : float
        Side of a pixel of the picture, [mm].
    """

    along: Array
    across: Array
    light: NDArray[np.float32]
    darker: bool
    pixel_mm: float

    @property
    def step(self) -> float:
        """Between neighbours of `along`, [mm]."""
        return float(self.along[1] - self.along[0])


@dataclass(frozen=True)
class Edge:
    """
    One edge that may be the gate's.

    Parameters
    ----------
    at : float
        On the film's middle line, [mm].
    u : float
        Standard uncertainty from the bands' agreement, [mm].
    df : float
        Degrees of freedom of `u`.
    side : int
        1 where the picture begins here going right, -1 where it ends.
    slope : float
        How far it moves along for each mm down across the film, [-]; NaN where too little of it is seen.
    slope_u : float
    share : float
        Share of its length that is seen, [-].
    clear : bool
        Whether it is straight and sharp.
    bare : bool
        Whether bare film lies beyond it all along.
    """

    at: float
    u: float
    df: float
    side: int
    slope: float
    slope_u: float
    share: float
    clear: bool
    bare: bool


def find_edges(film: Rectified) -> list[Edge]:
    """
    All edges that may be the gate's, from left to right.

    Parameters
    ----------
    film : Rectified

    Returns
    -------
    edges : list of Edge
    """
    bare, noise = _bare(film)
    edges: list[Edge] = []
    for place, side in sorted(_steps(film) + _run_ends(film, bare)):
        if any(e.side == side and e.clear and abs(e.at - place) < 0.6 for e in edges):
            continue
        fitted = _settled(film, place, side, bare, noise)
        if fitted is None:
            continue
        twin = next((i for i, e in enumerate(edges) if e.side == side and abs(e.at - fitted.at) < 0.3), None)
        if twin is None:
            edges.append(fitted)
        elif (fitted.clear, fitted.share, -fitted.u) > (edges[twin].clear, edges[twin].share, -edges[twin].u):
            edges[twin] = fitted
    return sorted(edges, key=lambda e: e.at)


def bare_share(film: Rectified) -> Array:
    """For each place along, 1 where bare film lies all across, else 0; shape (n,)."""
    return _bare(film)[0].astype(float)


def _bare(film: Rectified) -> tuple[NDArray[np.bool_], float]:
    """Where nothing but bare film lies across, and the noise of a row, both as shares of the base's light."""
    from scipy.ndimage import uniform_filter1d

    rows = film.light - film.light.mean(axis=0)
    lever = film.across - film.across.mean()
    lever = lever / np.sqrt((lever**2).sum())
    rows = rows - lever[:, None] * (lever @ rows)[None, :]
    width = max(3, round(0.25 / film.step))
    smooth = uniform_filter1d(rows, width, axis=1, mode="nearest")
    rough = np.sqrt((smooth**2).mean(axis=0))
    level = uniform_filter1d(np.median(film.light, axis=0), width, mode="nearest")
    quiet = np.abs(np.log(np.clip(level, 1e-3, None))) < (0.2 if film.darker else 0.4)
    floor = float(np.percentile(rough[quiet], 10)) if quiet.any() else 0.02
    jitter = np.diff(film.light, axis=1)
    calm = jitter[:, quiet[:-1]] if quiet.any() else jitter
    noise = 1.48 * float(np.median(np.abs(calm))) / 1.41
    return quiet & (rough < 2.5 * floor + (0.012 if film.darker else 0.05)), max(noise, 1e-3)


def _run_ends(film: Rectified, bare: NDArray[np.bool_]) -> list[tuple[float, int]]:
    """Where stretches of bare film begin and end."""
    change = np.diff(bare.astype(int))
    begins, ends = np.flatnonzero(change == 1), np.flatnonzero(change == -1)
    return [(float(film.along[i]), -1) for i in begins] + [(float(film.along[i + 1]), 1) for i in ends]


def _steps(film: Rectified) -> list[tuple[float, int]]:
    """Places where most rows step the same way, the strongest first among neighbours."""
    from scipy.ndimage import uniform_filter1d
    from scipy.signal import find_peaks

    tone = np.log(np.clip(film.light, 0.02, None)) * (-1 if film.darker else 1)
    reach = max(2, round(_STEP_MM / film.step))
    mean = uniform_filter1d(tone, reach, axis=1, mode="nearest")
    step = np.zeros_like(mean)
    step[:, reach:-reach] = mean[:, 2 * reach :] - mean[:, : -2 * reach]
    height = step.mean(axis=0)
    strength = height / (2 * step.std(axis=0) / np.sqrt(len(tone) / 4) + 0.01)
    out = []
    for side in (1, -1):
        peaks, _ = find_peaks(side * strength, height=1.2, distance=max(1, round(0.6 / film.step)))
        out += [(float(film.along[i]), side) for i in peaks if side * height[i] > 0.01]
    return out


def _settled(film: Rectified, place: float, side: int, bare: NDArray[np.bool_], noise: float) -> Edge | None:
    """The edge near a place, looked for anew from where it was found until it stays."""
    for _ in range(4):
        fitted = _fitted(film, place, side, bare, noise)
        if fitted is None or abs(fitted.at - place) < 0.06:
            return fitted
        place = fitted.at
    return None


def _fitted(film: Rectified, place: float, side: int, bare: NDArray[np.bool_], noise: float) -> Edge | None:
    """The edge near a place, in bands, and a straight line through them."""
    reach = 1.3 + 3 * film.pixel_mm
    low, high = np.searchsorted(film.along, [place - reach, place + reach])
    window = slice(int(low), int(high))
    at = film.along[window] - place
    if len(at) < 12 or at[0] > -0.5 or at[-1] < 0.5:
        return None
    # beyond the edge lies bare film, or the neighbour's picture; its level in the nearest stretch
    tone = film.light[:, window]
    near = side * at  # grows into the picture
    close = max(0.3, 2 * film.pixel_mm)
    base_part = (near < -close) & (near > -close - 0.45)
    picture = (near > close) & (near < close + 0.5)
    if base_part.sum() < 2 or picture.sum() < 2:
        return None
    level = tone[:, base_part].mean(axis=1)
    contrast = tone[:, picture].mean(axis=1) - level
    beyond = bare[window][(near < -0.2) & (near > -0.6)]
    groups = np.array_split(np.arange(len(tone)), _BANDS)
    way = -1.0 if film.darker else 1.0
    found, weight, height, sharp, lever = [], [], [], [], []
    for group in groups:
        told = np.where(way * contrast[group] > 0, contrast[group], 0)
        total = float((told**2).sum())
        # as a mean over the picture's stretch, against the noise of the same stretch
        if total < (6 * noise) ** 2 * len(group) / picture.sum() or np.sqrt(total / len(group)) < 0.015:
            continue
        profile = (told @ (tone[group] - level[group, None])) / total
        crossing = half_way(near, profile, film.pixel_mm)
        if crossing is None:
            continue
        found.append(crossing[0])
        sharp.append(crossing[1])
        weight.append(min(total / len(group), 0.04))
        height.append(np.sqrt(total / len(group)))
        lever.append(float(film.across[group].mean()))
    if len(found) < 2:
        return None
    return _line(
        film, place, side, np.array(found), np.array(weight), np.array(sharp), np.array(lever),
        bool(len(beyond) and beyond.mean() > 0.7),
    )  # fmt: skip


def _line(
    film: Rectified, place: float, side: int, found: Array, weight: Array, sharp: Array, lever: Array,
    bare: bool,
) -> Edge | None:  # fmt: skip
    """A straight line through what the bands say, one that lies far off left out."""
    kept = np.ones(len(found), dtype=bool)
    limit = max(0.10, 1.2 * film.pixel_mm)
    while True:
        w, y, e = weight[kept], lever[kept], found[kept]
        middle = float((w * y).sum() / w.sum())
        spread = float((w * (y - middle) ** 2).sum())
        mean = float((w * e).sum() / w.sum())
        long_enough = kept.sum() >= 3 and np.ptp(y) > 0.3 * np.ptp(film.across)
        slope = float((w * (y - middle) * e).sum() / spread) if long_enough and spread > 0 else 0.0
        left = found - mean - slope * (lever - middle)
        worst = int(np.argmax(np.where(kept, np.abs(left), -1)))
        if np.abs(left[worst]) > limit and kept.sum() > 3:
            kept[worst] = False
            continue
        break
    count = int(kept.sum())
    if count < 2:
        return None
    # a strip's bands share their blur and the grain of JPEG: nothing better than a fiftieth of a pixel
    df = max(count - 2, 1)
    rms = float(np.sqrt((w * left[kept] ** 2).sum() / w.sum() * count / df))
    rms = float(np.hypot(rms, 0.03 * film.pixel_mm))
    enough = w.sum() ** 2 / (w**2).sum()
    share = count / _BANDS
    straight = float(np.abs(left[kept]).max()) < limit
    blurred = float(np.median(sharp[kept]))
    clear = (
        straight and count >= 3 and blurred < max(0.28, 3.2 * film.pixel_mm) and abs(slope) < 0.06
        and np.ptp(y) > 0.2 * np.ptp(film.across)
    )  # fmt: skip
    at = mean - slope * middle
    u = rms * float(
        np.sqrt(1 / enough + (middle**2 / spread * float((w**2).sum() / w.sum()) if slope else 0))
    )
    slope_u = rms / np.sqrt(spread / w.mean()) if long_enough and spread > 0 else np.nan
    return Edge(
        place + side * at,
        u,
        df,
        side,
        side * slope if long_enough else np.nan,
        float(slope_u),
        share,
        bool(clear),
        bare,
    )
