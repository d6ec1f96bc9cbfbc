"""
From the readings around a pulse to the effective exposure time and all that belongs to it.

The effective time is the exposure over the full-open illuminance (ISO 516; te = (1/E0) * integral of E dt). With the
full-open level taken from the plateau it splits into the plateau's duration, which no noise touches, and the exposure
of the two edges over that level. So noise, hum, ripple and an uncertain dark level only count while an edge lasts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._edges import N_POINTS, EdgeFits, fit_edges
from pegwood.instruments.shutter._noise import Noise, estimate_noise, rough_sigma
from pegwood.instruments.shutter._window import Outline, Side, Window, running_mean

__all__ = ["Draft", "Edge", "Level", "draft", "fit_outlines", "noise_of"]

Array = NDArray[np.float64]

_PAD = 0.2  # of an edge, beyond where the fit says it ends: costs little noise, forgives the fit
_MAX_EDGE_S = 0.15
_BOUNCE_S = 0.06
_MIN_SAMPLES_WIDE = 3.0
_UNDERSHOOT = 0.02
_UNSETTLED = 0.05
_RIPPLE_BLOCK_S = 1e-3


@dataclass(frozen=True)
class Edge:
    """
    A fitted edge, in samples of the recording.

    Parameters
    ----------
    dark, full, half : float
        Where it touches darkness, where full light, and where half of it.
    u_dark, u_full, u_span : float
        Standard uncertainties of the first two and of their distance.
    misfit : float
        Residuals over the expected noise, [-].
    vagueness : float
        How little the readings say about the shape of the edge, 0 to 1, [-].
    """

    dark: float
    full: float
    half: float
    u_dark: float
    u_full: float
    u_span: float
    misfit: float
    vagueness: float

    @property
    def span(self) -> float:
        """Duration of the edge, [sample]."""
        return abs(self.full - self.dark)


@dataclass(frozen=True)
class Level:
    """
    Full-open level of a firing.

    Parameters
    ----------
    value : float
        In the unit of the recording.
    relative_u : float
        Relative standard uncertainty beyond the noise of the plateau, [-].
    kind : "plateau", "others" or "peak"
        Seen on its own plateau, taken from other firings, or merely its own peak.
    note : str
        For the budget.
    """

    value: float
    relative_u: float
    kind: str
    note: str = ""


@dataclass
class Draft:
    """
    A firing with everything measured that needs no other firing.

    Times are in samples of the recording; exposures in samples of full light on the scale of the window.
    """

    window: Window
    outline: Outline
    opening: Edge
    closing: Edge
    noise: Noise
    has_plateau: bool
    peak: float
    levels: tuple[float, float]  # full-open level beside the opening and the closing edge, scaled
    n_level: tuple[int, int]
    edge_sums: tuple[float, float]  # exposure of each edge, scaled
    n_edge: tuple[int, int]
    n_plateau: int
    dark_weight: tuple[int, int]  # readings behind the dark level before and after
    lit_ratio: float  # noise variance in the light over that in darkness
    ripple: float  # relative rms of slow changes of the light
    clipped: bool
    undershoot: float  # of full light, positive below the dark level after closing
    undershoot_u: float
    bounce: float  # exposure after closing, scaled
    bounce_end: float | None
    refusal: str = ""
    warnings: list[str] = field(default_factory=list)

    @property
    def raw_level(self) -> float:
        """Full-open level in the unit of the recording."""
        own = 0.5 * (self.levels[0] + self.levels[1]) if self.has_plateau else self.peak
        return own * self.window.pulse.height


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
    points = []
    for window, outline, noise in zip(windows, outlines, noises, strict=True):
        for closing in (False, True):
            points.append(_points(window, outline, noise, closing))
    t, y, sigma, begin, end = (np.array(column) for column in zip(*points, strict=True))
    fits = fit_edges(t, y, sigma[:, None], begin, end)
    edges = [_edge(fits, i, -1 if i % 2 else 1) for i in range(len(points))]
    return [(edges[i], edges[i + 1]) for i in range(0, len(edges), 2)]


def _points(
    window: Window, outline: Outline, noise: Noise, closing: bool
) -> tuple[Array, Array, float, float, float]:
    """Averaged readings across an edge; a closing edge is turned round in time."""
    side = window.closing if closing else window.opening
    dark_at, full_at = outline.closing if closing else outline.opening
    reach = 0.7 * abs(full_at - dark_at) + 2
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
    values = (side.y[start:stop] - dark) / (outline.level - 0.0)
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
    sigma /= outline.level
    if closing:
        return -t[::-1], y[::-1], sigma, -dark_at, -full_at
    return t, y, sigma, dark_at, full_at


def _edge(fits: EdgeFits, i: int, sign: int) -> Edge:
    begin, end = float(fits.begin[i]), float(fits.end[i])
    p, q = (float(v) for v in fits.power[i])
    half = begin + (end - begin) * (1 - 0.5 ** (1 / q)) ** (1 / p)
    return Edge(
        sign * begin,
        sign * end,
        sign * half,
        float(fits.u_begin[i]),
        float(fits.u_end[i]),
        float(fits.u_span[i]),
        float(fits.misfit[i]),
        float(fits.vagueness[i]),
    )


def draft(
    window: Window, outline: Outline, edges: tuple[Edge, Edge], noise: Noise, sample_rate_hz: float
) -> Draft:
    """
    Measure what a firing shows by itself.

    Parameters
    ----------
    window : Window
        Readings.
    outline : Outline
        Rough outline.
    edges : (Edge, Edge)
        Opening and closing, fitted.
    noise : Noise
        Of the channel, on the scale of this window.
    sample_rate_hz : float
        Samples per second, [Hz].

    Returns
    -------
    draft : Draft
        With `refusal` set where the firing can't be measured.
    """
    opening, closing = edges
    y_open, y_close, weights, edges_dark = _without_dark(window, opening, closing)
    gap = closing.full - opening.full
    width = closing.half - opening.half
    has_plateau = gap >= max(3.0, 0.04 * width)
    pads = [
        min(_pad(e.span, u), max(0.0, 0.25 * gap) if i % 2 else math.inf)
        for i, (e, u) in enumerate(
            (
                (opening, opening.u_dark),
                (opening, opening.u_full),
                (closing, closing.u_dark),
                (closing, closing.u_full),
            )
        )
    ]
    side_open, side_close = Side(y_open, window.opening.offset), Side(y_close, window.closing.offset)
    peak = _peak(side_open, opening, closing) if not has_plateau and window.is_whole else 0.0
    level_guess = peak or outline.level
    start = _outward(side_open, opening.dark - pads[0], -1, opening.span, noise, 0.0)
    stop = _outward(side_close, closing.dark + pads[2], +1, closing.span, noise, 0.0)
    first = math.ceil(opening.full + pads[1])
    last = math.floor(closing.full - pads[3])
    if has_plateau and last - first < 3:
        has_plateau, peak = False, _peak(side_open, opening, closing) if window.is_whole else level_guess
    if has_plateau:
        n_level, levels = _plateau_levels(window, side_open, side_close, first, last, sample_rate_hz)
        sums = (_sum(side_open, start, first), _sum(side_close, last, stop))
        counts = (first - start, stop - last)
        n_plateau = last - first
        plateau = side_open.y[max(0, first - side_open.offset) :][: n_level[0]]
    else:
        n_level, levels = (0, 0), (peak, peak)
        middle = round(0.5 * (opening.half + closing.half))
        sums = (_sum(side_open, start, middle), _sum(side_close, middle, stop))
        counts = (middle - start, stop - middle)
        n_plateau = 0
        plateau = np.zeros(0)
    level = 0.5 * (levels[0] + levels[1])
    bounce, bounce_end = _bounce(side_close, stop, noise, level, sample_rate_hz)
    undershoot, undershoot_u = _undershoot(
        window, side_open, side_close, start, bounce_end or stop, noise, level, width
    )
    result = Draft(
        window=window,
        outline=outline,
        opening=opening,
        closing=closing,
        noise=noise,
        has_plateau=has_plateau,
        peak=peak or level,
        levels=levels,
        n_level=n_level,
        edge_sums=sums,
        n_edge=counts,
        n_plateau=n_plateau,
        dark_weight=weights,
        lit_ratio=_lit_ratio(plateau, side_open, opening, closing, noise),
        ripple=_ripple(plateau, noise, level, sample_rate_hz),
        clipped=_clipped(window, opening, closing, noise),
        undershoot=undershoot,
        undershoot_u=undershoot_u,
        bounce=bounce,
        bounce_end=bounce_end,
    )
    result.refusal = _refusal(result, width, sample_rate_hz)
    return result


def _pad(span: float, u: float) -> float:
    return _PAD * span + 1 + min(2 * u, 0.5 * span)


def _without_dark(
    window: Window, opening: Edge, closing: Edge
) -> tuple[Array, Array, tuple[int, int], tuple[float, float]]:
    """Readings less the dark level, which runs straight between the darkness before and after."""
    one, two = window.opening, window.closing
    guard_before = max(2.0, 0.3 * opening.span)
    guard_after = max(2.0, 0.5 * closing.span)
    n_before = int(np.clip(opening.dark - guard_before - one.offset, 0, len(one.y)))
    from_after = int(np.clip(closing.dark + guard_after - two.offset, 0, len(two.y)))
    from_after = (
        max(from_after, len(two.y) - max(window.quiet_after, 8)) if window.quiet_after >= 16 else from_after
    )
    n_after = len(two.y) - from_after
    usable = [n >= 8 for n in (n_before, n_after)]
    before = float(np.mean(one.y[:n_before])) if usable[0] else math.nan
    after = float(np.mean(two.y[from_after:])) if usable[1] else math.nan
    if not usable[0]:
        before = after if usable[1] else 0.0
    if not usable[1]:
        after = before
    at_before = one.offset + (n_before - 1) / 2
    at_after = two.offset + (from_after + len(two.y) - 1) / 2
    slope = (after - before) / max(at_after - at_before, 1.0)
    dark_one = before + slope * (one.offset + np.arange(len(one.y)) - at_before)
    y_one = one.y - dark_one
    y_two = (
        y_one
        if window.is_whole
        else two.y - (before + slope * (two.offset + np.arange(len(two.y)) - at_before))
    )
    weights = (n_before if usable[0] else 0, n_after if usable[1] else 0)
    return y_one, y_two, weights, (before, after)


def _sum(side: Side, start: int, stop: int) -> float:
    return float(np.sum(side.y[max(0, start - side.offset) : max(0, stop - side.offset)]))


def _outward(side: Side, place: float, direction: int, span: float, noise: Noise, expected: float) -> int:
    """Move the end of the integral outward while there is clearly light left beyond it."""
    at = math.floor(place) if direction < 0 else math.ceil(place)
    step = max(3, math.ceil(0.25 * span))
    for _ in range(4):
        beyond = (at - step, at) if direction < 0 else (at, at + step)
        if beyond[0] - side.offset < 0 or beyond[1] - side.offset > len(side.y):
            break
        if _sum(side, *beyond) - expected < 4 * math.sqrt(noise.of_sum(step)) + 1e-9:
            break
        at += direction * step
    return int(np.clip(at, side.offset, side.offset + len(side.y)))


def _plateau_levels(
    window: Window, one: Side, two: Side, first: int, last: int, rate: float
) -> tuple[tuple[int, int], tuple[float, float]]:
    """Level of the light beside each edge; where the pulse is long, each edge has its own."""
    if window.is_whole:
        y = one.y[first - one.offset : last - one.offset]
        level = float(np.mean(y))
        return (len(y), len(y)), (level, level)
    y_1 = one.y[max(0, first - one.offset) :]
    y_2 = two.y[: max(0, last - two.offset)]
    # whole periods of a lamp on 50 or 60 Hz mains
    n = max(1, min(len(y_1), len(y_2), max(round(0.1 * rate), 1024)))
    return (n, n), (float(np.mean(y_1[:n])), float(np.mean(y_2[len(y_2) - n :])))


def _peak(side: Side, opening: Edge, closing: Edge) -> float:
    """Top of a curve without plateau: the vertex of a parabola through its upper part."""
    low = max(0, math.floor(opening.half - side.offset))
    high = min(len(side.y), math.ceil(closing.half - side.offset) + 1)
    y = side.y[low:high]
    if len(y) < 5:
        return float(np.max(y, initial=0.0))
    smooth = running_mean(y, max(1, len(y) // 8))
    near = np.flatnonzero(smooth > 0.82 * smooth.max())
    k = np.arange(near[0], near[-1] + 1)
    if len(k) < 5:
        return float(np.max(y))
    x = (k - k.mean()) / len(k)
    a, b, c = np.polyfit(x, y[k], 2)
    if a >= 0:
        return float(np.mean(y[k]))
    return float(c - b * b / (4 * a))


def _lit_ratio(plateau: Array, side: Side, opening: Edge, closing: Edge, noise: Noise) -> float:
    """How much more the readings scatter in the light than in darkness, as a ratio of variances."""
    y = plateau
    if len(y) < 16:
        y = side.y[
            max(0, math.floor(opening.half - side.offset)) : max(0, math.ceil(closing.half - side.offset))
        ]
        if len(y) < 64:
            return 1.0
    rough = rough_sigma(y)
    if noise.rough <= 0 or not math.isfinite(rough):
        return 1.0
    ratio = (rough / noise.rough) ** 2
    spread = 3 * math.sqrt(2 / len(y))
    return ratio if ratio > 1 + spread else 1.0


def _ripple(plateau: Array, noise: Noise, level: float, rate: float) -> float:
    """Relative rms of what the light does slowly while fully open, beyond the noise."""
    block = max(4, round(_RIPPLE_BLOCK_S * rate))
    count = len(plateau) // block
    if count < 4 or level <= 0:
        return 0.0
    means = plateau[: count * block].reshape(count, block).mean(axis=1)
    excess = float(np.var(means, ddof=1)) - noise.of_sum(block) / block**2 * (1 + 3 * math.sqrt(2 / count))
    return math.sqrt(max(excess, 0.0)) / level


def _clipped(window: Window, opening: Edge, closing: Edge, noise: Noise) -> bool:
    """True where the plateau is cut off by the converter."""
    side = window.opening
    low = max(0, math.floor(opening.half - side.offset))
    y = side.y[low : max(low + 1, math.ceil(closing.half - side.offset))]
    if not len(y):
        return False
    top = float(y.max())
    at_top = int(np.count_nonzero(y >= top - 0.5 * window.resolution))
    if window.clipped_at is not None and top >= window.clipped_at:
        return at_top >= 3
    # without a known full scale: a top as flat as no noisy reading is
    flat = at_top > max(8, 0.5 * len(y))
    return flat and noise.sigma > 2 * window.resolution


def _bounce(side: Side, stop: int, noise: Noise, level: float, rate: float) -> tuple[float, float | None]:
    """Exposure after the end of closing, where the light clearly comes back, and its end."""
    begin = stop - side.offset
    y = side.y[begin : begin + round(_BOUNCE_S * rate)]
    if len(y) < 4 or level <= 0:
        return 0.0, None
    n = int(np.clip((noise.sigma / (0.01 * level)) ** 2, 1, max(1, len(y) // 8)))
    smooth = running_mean(y, n)
    noisy = math.sqrt(noise.of_sum(n)) / n
    lit = np.flatnonzero(smooth > max(0.02 * level, 6 * noisy))
    if len(lit) < max(3, n // 2):
        return 0.0, None
    first, last = max(0, int(lit[0]) - n - len(lit) // 2), min(len(y), int(lit[-1]) + n + len(lit) // 2 + 1)
    exposure = float(np.sum(y[first:last]))
    if exposure < 6 * math.sqrt(noise.of_sum(last - first)):
        return 0.0, None
    return exposure, float(side.offset + begin + int(lit[-1]) + 1)


def _undershoot(
    window: Window, one: Side, two: Side, start: int, stop: float, noise: Noise, level: float, width: float
) -> tuple[float, float]:
    """How far the dark level right after closing lies below that before opening, and how sure that is."""
    n = int(max(16, min(width, 0.25 * len(one.y), 4096)))
    before = one.y[max(0, start - one.offset - 2 * n) : max(0, start - one.offset)]
    begin = math.ceil(stop - two.offset)
    after = two.y[begin : begin + n]
    if len(before) < 8 or len(after) < 8 or level <= 0:
        return 0.0, math.inf
    u = math.sqrt(noise.of_sum(len(before)) / len(before) ** 2 + noise.of_sum(len(after)) / len(after) ** 2)
    # `one` and `two` are free of the straight line through both darks: put the difference of the darks back
    drift = window_drift(window, one, two, start, stop)
    return (float(np.mean(before)) - float(np.mean(after)) - drift) / level, u / level


def window_drift(window: Window, one: Side, two: Side, start: float, stop: float) -> float:
    """
    What the straight dark line rises by from the beginning to the end of the pulse.

    Parameters
    ----------
    window : Window
        Readings as they were.
    one, two : Side
        Readings less the dark line.
    start, stop : float
        Ends of the pulse, [sample].

    Returns
    -------
    rise : float
        Scaled.
    """
    at_start = int(np.clip(start - one.offset, 0, len(one.y) - 1))
    at_stop = int(np.clip(stop - two.offset, 0, len(two.y) - 1))
    line_start = window.opening.y[at_start] - one.y[at_start]
    line_stop = window.closing.y[at_stop] - two.y[at_stop]
    return float(line_stop - line_start)


def _refusal(result: Draft, width: float, rate: float) -> str:
    """Why this pulse gives no figures; empty where it does."""
    opening, closing = result.opening, result.closing
    level = 0.5 * (result.levels[0] + result.levels[1])
    exposure = sum(result.edge_sums) + result.n_plateau * level
    counted = sum(result.n_edge) + result.n_plateau
    if level <= 0 or exposure < 10 * math.sqrt(result.noise.of_sum(counted)):
        return "too weak to be told from the noise"
    if width < _MIN_SAMPLES_WIDE:
        return f"shorter than {_MIN_SAMPLES_WIDE:.0f} samples: a click, or a shutter too fast for {rate:g} samples per second"
    if max(opening.span, closing.span) > _MAX_EDGE_S * rate:
        return "the light changes too slowly for a shutter"
    shorter, longer = sorted((opening.span, closing.span))
    if not result.has_plateau and longer > 6 * max(shorter, 1.0):
        return "rises at once and fades away: an AC-coupled input, or a flash"
    if result.undershoot > max(_UNDERSHOOT, 5 * result.undershoot_u) and not _drifts(result):
        return (
            f"after closing the light falls {100 * result.undershoot:.0f} % of full light below its dark level: "
            "an AC-coupled input, or a knock"
        )
    if result.undershoot < -max(_UNSETTLED, 5 * result.undershoot_u) and not _drifts(result):
        return f"the light does not come back: {-100 * result.undershoot:.0f} % of full light stay after closing"
    return ""


def _drifts(result: Draft) -> bool:
    """True where one straight line fits the darkness before and after: the light around drifts, nothing rings."""
    window = result.window
    one, two = window.opening, window.closing
    n_before, n_after = result.dark_weight
    if min(n_before, n_after) < 32:
        return False
    before, after = one.y[:n_before], two.y[len(two.y) - n_after :]
    slopes = []
    variances = []
    for y in (before, after):
        k = np.arange(len(y)) - (len(y) - 1) / 2
        slopes.append(float(k @ y) / float(k @ k))
        variances.append(result.noise.of_sum(len(y)) / len(y) / float(k @ k))
    distance = two.offset + len(two.y) - n_after / 2 - (one.offset + n_before / 2)
    seen = float(np.mean(after) - np.mean(before))
    expected = 0.5 * sum(slopes) * distance
    u = 0.5 * distance * math.sqrt(sum(variances))
    u = math.hypot(u, math.sqrt(result.noise.of_sum(n_before)) / n_before)
    same_way = slopes[0] * slopes[1] > 0
    return same_way and abs(seen - expected) < max(4 * u, 0.3 * abs(seen))


def noise_of(windows: list[Window]) -> Noise:
    """
    Noise of a channel from the darkness beside its pulses, in the unit of the recording.

    Parameters
    ----------
    windows : list of Window
        Windows of one channel.

    Returns
    -------
    noise : Noise
        Pooled.
    """
    pieces: list[Any] = []
    for window in windows:
        height = window.pulse.height
        if window.quiet_before >= 16:
            pieces.append(window.opening.y[: window.quiet_before] * height)
        if window.quiet_after >= 16:
            pieces.append(window.closing.y[-window.quiet_after :][::-1] * height)
    return estimate_noise(pieces)
