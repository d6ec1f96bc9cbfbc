"""Both edges of every pulse, fitted in one go."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._edges import N_POINTS, NOISE_FLOOR, PRIOR_SD, EdgeFits, fit_edges
from pegwood.instruments.shutter._noise import Noise
from pegwood.instruments.shutter._window import Outline, Window

__all__ = ["Edge", "fit_outlines"]

Array = NDArray[np.float64]
_Asked = tuple[Window, Outline, Noise, bool]

_REACH = 0.9  # of the guessed edge, on either side
_NARROW = 0.4
_STIFF = 0.2
_ODD = 0.005  # of full light: the model follows every edge tried far better than that
_CLEAR = 1 + 5 * (2 / N_POINTS) ** 0.5  # squared misfit beyond which it is no chance


@dataclass(frozen=True)
class Edge:
    """
    A fitted edge, in samples of the recording.

    Parameters
    ----------
    dark, full, half : float
        Where it touches darkness, where full light, and where half of it.
    u_dark, u_full, u_half, u_span : float
        Standard uncertainties of those, and of the distance of the first two.
    misfit : float
        Rms of what the edge's model leaves beyond the noise, as a fraction of full light, [-].
    vagueness : float
        How little the readings say about the shape of the edge, 0 to 1, [-].
    """

    dark: float
    full: float
    half: float
    u_dark: float
    u_full: float
    u_half: float
    u_span: float
    misfit: float
    vagueness: float

    @property
    def span(self) -> float:
        """Duration of the edge, [sample]."""
        return abs(self.full - self.dark)


def fit_outlines(
    windows: list[Window], outlines: list[Outline], noises: list[Noise]
) -> list[tuple[Edge, Edge]]:
    """
    Fit both edges of every pulse, all in one go.

    Parameters
    ----------
    windows, outlines, noises : lists of equal length
        Readings, rough outline and noise of every pulse.

    Returns
    -------
    edges : list of (Edge, Edge)
        Opening and closing.
    """
    asked = [
        (window, outline, noise, closing)
        for window, outline, noise in zip(windows, outlines, noises, strict=True)
        for closing in (False, True)
    ]
    edges = _fit(asked, _REACH, PRIOR_SD)
    odd = [i for i, edge in enumerate(edges) if edge.misfit > _ODD]
    if odd:
        # no edge of a shutter: as a rule the lamp wavers right behind it. Look at less, and expect less
        for i, edge in zip(odd, _fit([asked[i] for i in odd], _NARROW, _STIFF), strict=True):
            edges[i] = edge
    return [(edges[i], edges[i + 1]) for i in range(0, len(edges), 2)]


def _fit(asked: list[_Asked], reach: float, prior_sd: float) -> list[Edge]:
    points = [_points(*one, reach) for one in asked]
    t, y, sigma, begin, end = (np.array(column) for column in zip(*points, strict=True))
    fits = fit_edges(t, y, sigma[:, None], begin, end, prior_sd)
    return [
        _edge(fits, i, -1 if asked[i][3] else 1, max(float(sigma[i]), NOISE_FLOOR)) for i in range(len(asked))
    ]


def _points(
    window: Window, outline: Outline, noise: Noise, closing: bool, share: float
) -> tuple[Array, Array, float, float, float]:
    """Averaged readings across an edge; a closing edge is turned round in time."""
    side = window.closing if closing else window.opening
    dark_at, full_at = outline.closing if closing else outline.opening
    reach = share * abs(full_at - dark_at) + 2
    middle = 0.5 * (outline.half_up + outline.half_down)
    low, high = min(dark_at, full_at) - reach, max(dark_at, full_at) + reach
    if closing:
        low = max(low, middle)
    else:
        high = min(high, middle)
    start = int(max(0, math.floor(low - side.offset)))
    stop = int(min(len(side.y), math.ceil(high - side.offset) + 1))
    stop = max(stop, min(start + 3, len(side.y)))
    dark = outline.dark_after if closing else outline.dark_before
    level, slope = outline.beside[1 if closing else 0]
    light = level + slope * (1 if full_at > dark_at else -1) * (
        side.offset + np.arange(start, stop) - full_at
    )
    values = (side.y[start:stop] - dark) / np.clip(light, 0.7 * level, 1.4 * level)
    m = len(values)
    if m >= N_POINTS:
        marks = np.floor(np.linspace(0, m, N_POINTS + 1)).astype(int)
        sums = np.concatenate(([0.0], np.cumsum(values)))
        y = np.diff(sums[marks]) / np.diff(marks)
        t = side.offset + start + 0.5 * (marks[:-1] + marks[1:] - 1)
    else:
        index = np.floor((np.arange(N_POINTS) + 0.5) * m / N_POINTS).astype(int)
        y, t = values[index], (side.offset + start + index).astype(float)
    per_point = m / N_POINTS
    sigma = (
        math.sqrt(noise.of_sum(max(per_point, 1.0))) / max(per_point, 1.0) / math.sqrt(min(per_point, 1.0))
    )
    sigma /= level
    if closing:
        return -t[::-1], y[::-1], sigma, -dark_at, -full_at
    return t, y, sigma, dark_at, full_at


def _edge(fits: EdgeFits, i: int, sign: int, sigma: float) -> Edge:
    begin, end = float(fits.begin[i]), float(fits.end[i])
    return Edge(
        sign * begin,
        sign * end,
        sign * float(fits.half[i]),
        float(fits.u_begin[i]),
        float(fits.u_end[i]),
        float(fits.u_half[i]),
        float(fits.u_span[i]),
        sigma * math.sqrt(max(float(fits.misfit[i]) ** 2 - _CLEAR, 0.0)),
        float(fits.vagueness[i]),
    )
