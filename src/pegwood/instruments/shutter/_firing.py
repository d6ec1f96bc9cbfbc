"""
From the readings around a pulse to the exposure of its edges, the full-open level and what belongs to them.

The effective time is the exposure over the full-open illuminance (ISO 516; te = (1/E0) * integral of E dt).
With the full-open level taken from the plateau it splits into the plateau's duration, which no noise touches,
and the exposure of the two edges over that level. So noise, hum, ripple and an uncertain dark level count
only while an edge lasts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._clipped import is_clipped, variances
from pegwood.instruments.shutter._curve import thin
from pegwood.instruments.shutter._doubts import refusal, undershoot
from pegwood.instruments.shutter._draft import Draft
from pegwood.instruments.shutter._fitting import Edge
from pegwood.instruments.shutter._flicker import jump, lit_noise, modulation, swell, valley
from pegwood.instruments.shutter._noise import Noise, rough_sigma
from pegwood.instruments.shutter._steady import Span
from pegwood.instruments.shutter._window import Outline, Side, Window, running_mean

__all__ = ["draft"]

Array = NDArray[np.float64]

_PAD = 0.15  # of an edge, beyond where the fit says it ends: costs little noise, forgives the fit
_BOUNCE_S = 0.06
_AROUND = 64  # samples of darkness to see a jump against
_SWINGS, _DRIFTS = 1.5, 0.1  # times the amplitude of the ripple; of full light, where there is none
_BESIDE_S = 2.5e-3  # a quarter of the period of a lamp on mains


@dataclass(frozen=True)
class _Plateau:
    """
    Light when fully open, beside the opening and beside the closing edge.

    `means` are over the whole plateau, `levels` where the edges meet it; `n` counts readings as good as
    the level; `doubts` are relative uncertainties by a light that wavers; `ripple` is its relative rms; `y`
    the readings beside the opening edge, and `lit_noise` how much noisier they are than darkness.
    """

    means: tuple[float, float]
    levels: tuple[float, float]
    n: tuple[int, int]
    doubts: tuple[float, float]
    ripple: float
    y: Array
    lit_noise: float = 1.0


@dataclass(frozen=True)
class _Parts:
    """How the pulse is divided: edges to integrate and the plateau between them."""

    plateau: _Plateau
    sums: tuple[float, float]
    counts: tuple[int, int]
    n_plateau: int


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
    one, two, dark = _without_dark(window, opening, closing)
    start = _outward(one, opening.dark - _pad(opening.span, opening.u_dark), -1, opening.span, noise)
    stop = _outward(two, closing.dark + _pad(closing.span, closing.u_dark), +1, closing.span, noise)
    parts = _with_plateau(window, one, two, edges, (start, stop), sample_rate_hz, noise)
    has_plateau = parts is not None
    if parts is None:
        parts = _without_plateau(window, outline, one, two, edges, (start, stop))
    plateau = parts.plateau
    level = 0.5 * (plateau.levels[0] + plateau.levels[1])
    bounce, bounce_end, n_bounce = _bounce(two, stop, noise, level, sample_rate_hz)
    low, low_u, off_line = undershoot(window, (one, two), (start, bounce_end or stop), noise, level, edges)
    result = Draft(
        pulse=window.pulse,
        is_whole=window.is_whole,
        resolution=window.resolution,
        above_half=outline.half_down - outline.half_up + 1,
        points=thin(one, two, edges, bounce_end, window.is_whole),
        opening=opening,
        closing=closing,
        noise=noise,
        has_plateau=has_plateau,
        peak=level,
        mean=0.5 * (plateau.means[0] + plateau.means[1]),
        levels=plateau.levels,
        n_level=plateau.n,
        level_doubts=plateau.doubts,
        edge_sums=parts.sums,
        n_edge=parts.counts,
        n_plateau=parts.n_plateau,
        dark=dark,
        lit_ratio=_lit_ratio(plateau.y, one, opening, closing, noise),
        ripple=plateau.ripple,
        swell=_swell(plateau, window.is_whole, level, noise, sample_rate_hz),
        sudden=_sudden(
            _pieces(one, two, window.is_whole, start, stop, bounce_end or stop),
            plateau,
            level,
            noise,
            sample_rate_hz,
            max(opening.span, closing.span, 1.0),
        ),
        bounce_peak=_bounce_peak(two, stop, bounce_end, level),
        clipped=is_clipped(window, (opening, closing), plateau.y, noise),
        quiet=variances(window, opening, plateau.y),
        undershoot=low,
        undershoot_u=low_u,
        off_line=off_line,
        bounce=bounce,
        bounce_end=bounce_end,
        n_bounce=n_bounce,
        stray=_stray(window, one, two, start, bounce_end or stop),
        bent=_bent(window, one, two, parts, noise),
    )
    result.refusal = refusal(result, window, sample_rate_hz)
    return result


def _with_plateau(
    window: Window,
    one: Side,
    two: Side,
    edges: tuple[Edge, Edge],
    ends: tuple[int, int],
    rate: float,
    noise: Noise,
) -> _Parts | None:
    """Divide a pulse that has a plateau; None where it has none worth the name."""
    opening, closing = edges
    gap = closing.full - opening.full
    if gap < max(3.0, 0.04 * (closing.half - opening.half)):
        return None
    first = math.ceil(opening.full + min(_pad(opening.span, opening.u_full), 0.25 * gap))
    last = math.floor(closing.full - min(_pad(closing.span, closing.u_full), 0.25 * gap))
    if last - first < 3:
        return None
    plateau = _plateau_levels(window, one, two, edges, (first, last), rate, noise)
    if min(plateau.n) < 3:
        return None
    return _Parts(
        plateau,
        (_sum(one, ends[0], first), _sum(two, last, ends[1])),
        (first - ends[0], ends[1] - last),
        last - first,
    )


def _without_plateau(
    window: Window,
    outline: Outline,
    one: Side,
    two: Side,
    edges: tuple[Edge, Edge],
    ends: tuple[int, int],
) -> _Parts:
    """Divide a pulse that only rises and falls: its own top stands for the full-open level."""
    opening, closing = edges
    peak = _peak(one, opening, closing) if window.is_whole else outline.level
    middle = round(0.5 * (opening.half + closing.half))
    return _Parts(
        _Plateau((peak, peak), (peak, peak), (0, 0), (0.0, 0.0), 0.0, np.zeros(0)),
        (_sum(one, ends[0], middle), _sum(two, middle, ends[1])),
        (middle - ends[0], ends[1] - middle),
        0,
    )


def _pad(span: float, u: float) -> float:
    return _PAD * span + 1 + min(u, 0.3 * span)


def _bounce_peak(side: Side, stop: int, end: float | None, level: float) -> float:
    """How bright it gets after closing, over the level; the brightest readings may be noise."""
    y = side.y[max(0, stop - side.offset) : max(0, math.ceil(end or stop) - side.offset)]
    return float(np.quantile(y, 0.95)) / level if len(y) and level > 0 else 0.0


def _stray(window: Window, one: Side, two: Side, start: int, stop: float) -> float:
    """Light inside the pulse but before the opening or after the end of what was integrated."""
    before = _sum(one, window.pulse.start, start)
    after = _sum(two, math.ceil(stop), window.pulse.stop)
    return max(before, after)


def _bent(window: Window, one: Side, two: Side, parts: _Parts, noise: Noise) -> float:
    """How far the light in the middle of a long firing strays from the line between its ends."""
    if window.inside is None or not parts.n_plateau:
        return 0.0
    mean, at = window.inside
    ends = (float(one.offset), float(two.offset + len(two.y)))
    place = (at - ends[0]) / (ends[1] - ends[0])
    dark = (1 - place) * (window.opening.y[0] - one.y[0]) + place * (window.closing.y[-1] - two.y[-1])
    levels = parts.plateau.means
    expected = (1 - place) * levels[0] + place * levels[1]
    n = min(parts.plateau.n)
    noisy = 3 * math.sqrt(noise.of_sum(n) / n**2) / expected
    strays = (mean - dark) / expected - 1
    return math.copysign(max(0.0, abs(strays) - noisy), strays)


def _without_dark(window: Window, opening: Edge, closing: Edge) -> tuple[Side, Side, tuple[Span, Span]]:
    """Readings less the dark level, which runs straight between the darkness before and after; and these."""
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
    after_at = two.offset + from_after
    spans = (
        (one.offset, one.offset + (n_before if usable[0] else 0)),
        (after_at, after_at + (n_after if usable[1] else 0)),
    )
    lit_one = _less_line(one, before, slope, at_before)
    lit_two = lit_one if window.is_whole else _less_line(two, before, slope, at_before)
    return lit_one, lit_two, spans


def _less_line(side: Side, value: float, slope: float, at: float) -> Side:
    """Readings less a straight line through a value at a sample of the recording."""
    line = np.arange(len(side.y), dtype=np.float64)
    line += side.offset - at
    line *= slope
    line += value
    return Side(side.y - line, side.offset)


def _sum(side: Side, start: int, stop: int) -> float:
    return float(np.sum(side.y[max(0, start - side.offset) : max(0, stop - side.offset)]))


def _outward(side: Side, place: float, direction: int, span: float, noise: Noise) -> int:
    """Move the end of the integral outward while there is clearly light left beyond it."""
    at = math.floor(place) if direction < 0 else math.ceil(place)
    step = max(3, math.ceil(0.25 * span))
    for _ in range(4):
        beyond = (at - step, at) if direction < 0 else (at, at + step)
        if beyond[0] - side.offset < 0 or beyond[1] - side.offset > len(side.y):
            break
        if _sum(side, *beyond) < 4 * math.sqrt(noise.of_sum(step)) + 1e-9:
            break
        at += direction * step
    return int(np.clip(at, side.offset, side.offset + len(side.y)))


def _plateau_levels(
    window: Window,
    one: Side,
    two: Side,
    edges: tuple[Edge, Edge],
    span: tuple[int, int],
    rate: float,
    noise: Noise,
) -> _Plateau:
    """Level of the light for each edge: the mean of the plateau, or what is beside it if the light wavers."""
    first, last = span
    if window.is_whole:
        y_1 = y_2 = one.y[max(0, first - one.offset) : max(0, last - one.offset)]
        n = len(y_1)
    else:
        y_1, y_2 = one.y[max(0, first - one.offset) :], two.y[: max(0, last - two.offset)]
        # 50 ms: whole periods of a lamp on 50 and on 60 Hz mains
        n = min(len(y_1), len(y_2), max(round(0.05 * rate), 1024))
        y_1, y_2 = y_1[:n], y_2[len(y_2) - n :]
    if n < 3:
        return _Plateau((0.0, 0.0), (0.0, 0.0), (0, 0), (0.0, 0.0), 0.0, y_1)
    means = (float(np.mean(y_1)), float(np.mean(y_2)))
    if min(means) <= 0:
        return _Plateau(means, means, (n, n), (0.0, 0.0), 0.0, y_1)
    lit = lit_noise(y_1, noise)
    ripple = modulation(y_1, noise, means[0], lit)
    if not window.is_whole:
        ripple = max(ripple, modulation(y_2, noise, means[1], lit_noise(y_2, noise)))
    m = min(n, max(round(_BESIDE_S * rate), 8))
    lines = (_line(y_1[:m][::-1], noise), _line(y_2[n - m :], noise))
    if ripple == 0 and not any(slope for _, slope, _ in lines):
        return _Plateau(means, means, (n, n), (0.0, 0.0), 0.0, y_1, lit)
    # the light of an edge lies on average a third of its span before the plateau
    gaps = (first - edges[0].full + edges[0].span / 3, edges[1].full + edges[1].span / 3 - last)
    # a lamp that wavers turns back: its slope reaches no further than its own swing
    reach = max(_SWINGS * math.sqrt(2) * ripple, _DRIFTS)
    levels = tuple(
        float(np.clip(mid + slope * (m / 2 + gap), (1 - reach) * mean, (1 + reach) * mean))
        for (mid, slope, _), gap, mean in zip(lines, gaps, means, strict=True)
    )
    doubts = tuple(
        0.5 * abs(level / mean - 1) + 0.5 * ripple + 0.5 * rest
        for level, mean, (_, _, rest) in zip(levels, means, lines, strict=True)
    )
    counts = tuple(max(3, m // 4) if slope else m for _, slope, _ in lines)
    return _Plateau(
        means, (levels[0], levels[1]), (counts[0], counts[1]), (doubts[0], doubts[1]), ripple, y_1, lit
    )


def _line(y: Array, noise: Noise) -> tuple[float, float, float]:
    """Mean, slope per reading and relative rms about the line; a slope that is not clear is none."""
    n = len(y)
    mid = float(np.mean(y))
    k = np.arange(n) - (n - 1) / 2
    slope = float(k @ y) / float(k @ k)
    rest = modulation(y - slope * k, noise, mid, lit_noise(y, noise))
    unclear = 4 * math.sqrt(noise.of_sum(n) / n / float(k @ k))
    if abs(slope) < unclear or abs(slope) * n / math.sqrt(12) < 2 * rest * mid:
        slope = 0.0
    return mid, slope, rest


def _swell(plateau: _Plateau, is_whole: bool, level: float, noise: Noise, rate: float) -> float:
    """Amplitude of a lamp on mains, from a plateau shorter than its period."""
    return swell(plateau.y, noise, level, plateau.lit_noise, rate) if is_whole else 0.0


def _sudden(
    pieces: list[tuple[Array, Array]], plateau: _Plateau, level: float, noise: Noise, rate: float, span: float
) -> float:
    """Amplitude of the lamp by what no shutter does: light jumps, or sinks between two bright moments."""
    found = 0.0
    for lit, around in pieces:
        ratio = plateau.lit_noise if len(plateau.y) >= 16 else lit_noise(lit, noise)
        found = max(found, valley(lit, noise, level, ratio), jump(around, noise, level, ratio, rate, span))
    return 0.5 * found


def _pieces(
    one: Side, two: Side, is_whole: bool, start: int, stop: int, end: float
) -> list[tuple[Array, Array]]:
    """Readings between first and last light, and with some darkness around and a bounce."""
    after = min(len(two.y), math.ceil(end) + _AROUND - two.offset)
    if is_whole:
        lit = one.y[max(0, start - one.offset) : max(0, stop - one.offset)]
        return [(lit, one.y[max(0, start - _AROUND - one.offset) : after])]
    lit_1, lit_2 = one.y[max(0, start - one.offset) :], two.y[: max(0, stop - two.offset)]
    return [(lit_1, one.y[max(0, start - _AROUND - one.offset) :]), (lit_2, two.y[:after])]


def _peak(side: Side, opening: Edge, closing: Edge) -> float:
    """Top of a curve without plateau: of a parabola or of two straight flanks, whichever fits better."""
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
    bend = float(np.sum((y[k] - np.polyval((a, b, c), x)) ** 2))
    round_top = float(c - b * b / (4 * a)) if a < 0 else float(np.mean(y[k]))
    pointed_top, tent = _tent(x, y[k])
    return pointed_top if tent < bend else round_top


def _tent(x: Array, y: Array) -> tuple[float, float]:
    """Top of two straight flanks, and the squared residuals of the flanks."""
    top = int(np.clip(np.argmax(y), 2, len(y) - 3))
    best = (float(y.max()), math.inf)
    for split in range(max(2, top - 2), min(len(y) - 2, top + 3)):
        up, down = np.polyfit(x[:split], y[:split], 1), np.polyfit(x[split:], y[split:], 1)
        if up[0] <= 0 or down[0] >= 0:
            continue
        left = float(np.sum((y[:split] - np.polyval(up, x[:split])) ** 2))
        left += float(np.sum((y[split:] - np.polyval(down, x[split:])) ** 2))
        if left < best[1]:
            best = (float(np.polyval(up, (down[1] - up[1]) / (up[0] - down[0]))), left)
    return best


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


def _bounce(
    side: Side, stop: int, noise: Noise, level: float, rate: float
) -> tuple[float, float | None, int]:
    """Exposure after the end of closing, where the light clearly comes back, its end, and readings summed."""
    begin = stop - side.offset
    y = side.y[begin : begin + round(_BOUNCE_S * rate)]
    if len(y) < 4 or level <= 0:
        return 0.0, None, 0
    n = int(np.clip((noise.sigma / (0.01 * level)) ** 2, 1, max(1, len(y) // 8)))
    smooth = running_mean(y, n)
    noisy = math.sqrt(noise.of_sum(n)) / n
    lit = np.flatnonzero(smooth > max(0.02 * level, 6 * noisy))
    if len(lit) < max(3, n // 2):
        return 0.0, None, 0
    first, last = max(0, int(lit[0]) - n - len(lit) // 2), min(len(y), int(lit[-1]) + n + len(lit) // 2 + 1)
    exposure = float(np.sum(y[first:last]))
    if exposure < 6 * math.sqrt(noise.of_sum(last - first)):
        return 0.0, None, 0
    return exposure, float(side.offset + begin + int(lit[-1]) + 1), last - first
