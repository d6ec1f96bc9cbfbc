"""Firings in the mean light of the frames, and how long each let light through, in frames."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.video._rate import Beat, beat_of
from pegwood.instruments.video._trace import Trace

__all__ = ["FEWEST_FRAMES", "TOO_SHORT", "Firing", "find_runs", "is_partial", "read_firing"]

FEWEST_FRAMES = 6
"""A firing shorter than this many frame periods is not timed: full light has to be seen (practice)."""
TOO_SHORT = f"it lasts less than {FEWEST_FRAMES} frames"
_DARK = 12  # frames of darkness looked at on either side,
_LEAST_DARK = 3
_MARGIN = 15  # and frames whose stamps are
_BOUNCE = 15  # frames after closing in which light that comes back belongs to the firing
_FOOT = 0.03  # of full light: where an edge is followed down to
_LONGEST_EDGE = 40  # frames
_FULL = 0.9
_PARTIAL = 0.02
_DIP = 0.15
_DRIFT = 0.3
_SLOW_EDGES, _SLOW_SHARE = 8, 0.2  # frames above half but below full light, at both edges together
_BRIGHTEST_RATIO = 6.0  # over noise

Array = NDArray[np.float64]


@dataclass
class Firing:
    """
    One firing in frames.

    Parameters
    ----------
    first, last : int
        First and last frame with light, counted among the frames kept.
    refusal : str
        Why it is not timed; empty where it is.
    period_s, period_u : float
        From frame to frame by the stamps around it, in the file's own time, [s], and its relative standard
        uncertainty, [-].
    open_frames : float
        Effective time in frame periods.
    opening, closing : array, shape (n,)
        Light of the frames of either edge over full light, [-].
    bounce_frames : float
        What of it came after the light had gone, in frame periods.
    n_full : int
        Frames surely fully open.
    level : float
        Full light above darkness, [-].
    noise_dark, noise_lit : float
        Standard deviation of a frame's mean light over full light, [-].
    waver : float
        What full light wavers by beyond noise, rms over full light, [-].
    drift : float
        Change of full light from the first to the last frame that is fully open, relative, [-].
    sags : bool
        True where much of it is neither at full light nor near an edge.
    band_frames : array, shape (2, BANDS)
        Sums of each strip's light over the frames of either edge, in frame periods.
    pull : float
        What the effective time would grow by if the exponent between stored value and light were 1 larger,
        in frame periods.
    """

    first: int
    last: int
    refusal: str = ""
    period_s: float = 0.0
    period_u: float = 0.0
    open_frames: float = 0.0
    opening: Array = field(default_factory=lambda: np.zeros(0))
    closing: Array = field(default_factory=lambda: np.zeros(0))
    bounce_frames: float = 0.0
    n_full: int = 0
    level: float = 0.0
    noise_dark: float = 0.0
    noise_lit: float = 0.0
    waver: float = 0.0
    drift: float = 0.0
    sags: bool = False
    band_frames: Array | None = None
    pull: float = 0.0


def find_runs(light: Array) -> list[tuple[int, int]]:
    """
    Stretches of frames that are more than half as bright as the brightest.

    Parameters
    ----------
    light : array, shape (n,)
        Mean light of every frame.

    Returns
    -------
    runs : list of (int, int)
        First and last frame of each, a short one right behind a long one left out; empty where nothing stands
        out of the noise.
    """
    middle = 0.5 * (float(light.min()) + float(light.max()))
    dark, lit = light[light <= middle], light[light > middle]
    if not len(dark) or not len(lit):
        return []
    height = float(np.median(lit) - np.median(dark))
    step = np.abs(np.diff(light))
    noise = float(np.median(step)) / 0.6745 / math.sqrt(2)
    if height < _BRIGHTEST_RATIO * noise:
        return []
    inside = np.concatenate([[False], light > float(np.median(dark)) + 0.5 * height, [False]])
    turns = np.flatnonzero(inside[1:] != inside[:-1])
    runs: list[tuple[int, int]] = []
    for a, b in zip(turns[::2], turns[1::2] - 1, strict=True):
        if runs and a - runs[-1][1] <= _BOUNCE and 3 * (b - a + 1) <= runs[-1][1] - runs[-1][0] + 1:
            continue  # a bounce: it belongs to the firing before
        runs.append((int(a), int(b)))
    return runs


def read_firing(trace: Trace, run: tuple[int, int], room: tuple[int, int], tick_s: float) -> Firing:
    """
    How long one firing let light through.

    Parameters
    ----------
    trace : Trace
        Mean light of the frames.
    run : (int, int)
        First and last frame above half of full light.
    room : (int, int)
        First frame after the firing before, last frame before the firing behind.
    tick_s : float
        Smallest step of the stamps, [s].

    Returns
    -------
    firing : Firing
        With a refusal where it can't be timed.
    """
    light = trace.light
    rough_dark = float(np.median(light[light <= 0.5 * (light.min() + light.max())]))
    rough = float(np.median(light[run[0] : run[1] + 1])) - rough_dark
    darkness = np.abs(light[light <= 0.5 * (light.min() + light.max())] - rough_dark)
    foot = rough_dark + max(_FOOT * rough, 6 * float(np.median(darkness)))
    a = _down(light, run[0], -1, room[0], foot)
    b = shut = _down(light, run[1], 1, room[1], foot)
    again = np.flatnonzero(light[shut + 1 : min(room[1], shut + _BOUNCE) + 1] > foot)
    if len(again):
        b = shut + 1 + int(again[-1])
    found = Firing(a, b)
    before = light[max(room[0], a - 1 - _DARK) : max(room[0], a - 1)]
    after = light[min(room[1] + 1, b + 2) : min(room[1] + 1, b + 2 + _DARK)]
    if min(len(before), len(after)) < _LEAST_DARK:
        found.refusal = "there is too little darkness before or after it: leave half a second around each"
        return found
    dark = float(before.mean()), float(after.mean())
    beat = beat_of(trace.stamps_s[max(0, a - _MARGIN) : b + _MARGIN + 1], tick_s)
    numbers = beat.numbers - beat.numbers[min(a, _MARGIN)]  # of frame a: 0
    offset = max(0, a - _MARGIN)
    found.period_s, found.period_u = beat.period_s, beat.period_u
    top = _top(light, run, dark)
    if top is None:
        found.refusal = TOO_SHORT
        return found
    first, last = top
    n = run[1] - run[0] + 1
    found.sags = n - (last - first + 1) > max(_SLOW_EDGES, _SLOW_SHARE * n)
    inner = light[first + 1 : last] - np.linspace(dark[0], dark[1], last - first - 1)
    ends, residual = _straight(inner)
    found.level = level = float(np.mean(ends))
    found.drift = (ends[1] - ends[0]) / level
    opening = (light[a - 1 : first + 1] - dark[0]) / ends[0]
    closing = (light[last : b + 2] - dark[1]) / ends[1]
    found.opening, found.closing = opening, closing
    missing = _missing(numbers, offset, (a - 2, first + 1), (last - 1, b + 2))
    found.n_full = int(numbers[last - offset] - numbers[first - offset]) - 1
    found.bounce_frames = float(closing[shut + 1 - last : b + 1 - last].sum())
    found.open_frames = float(opening.sum() + closing.sum()) + found.n_full
    dark_noise = np.concatenate([before - before.mean(), after - after.mean()])
    found.noise_dark = math.sqrt(float(dark_noise @ dark_noise) / max(1, len(dark_noise) - 2)) / level
    own = residual / level
    found.noise_lit = math.sqrt(float(own @ own) / max(1, len(own) - 2)) if len(own) > 2 else 0.0
    found.waver = math.sqrt(max(0.0, found.noise_lit**2 - found.noise_dark**2))
    shares = _shares(trace, (a - 1, first), (last, b + 1), (first + 1, last - 1))
    found.band_frames = np.array([up_or_down.sum(axis=0) for up_or_down in shares])
    found.pull = sum(_pull(share) for share in shares)
    found.refusal = _refusal(found, beat, missing, own, trace)
    return found


def _down(light: Array, start: int, step: int, bound: int, foot: float) -> int:
    """The last frame above the foot of an edge."""
    k = start
    while k != bound and abs(k - start) < _LONGEST_EDGE and light[k + step] > foot:
        k += step
    return k


def _top(light: Array, run: tuple[int, int], dark: tuple[float, float]) -> tuple[int, int] | None:
    """First and last frame that is nearly fully lit, with at least two between them."""
    lit = light[run[0] : run[1] + 1] - 0.5 * sum(dark)
    high = np.flatnonzero(lit >= _FULL * float(np.median(lit)))
    if len(high) < 4:
        return None
    return run[0] + int(high[0]), run[0] + int(high[-1])


def _straight(inner: Array) -> tuple[tuple[float, float], Array]:
    """Full light at both ends by a straight line (the mean where it is short), and what is left over."""
    n = len(inner)
    if n < 8:
        mean = float(inner.mean())
        return (mean, mean), inner - mean
    k = np.arange(n) - (n - 1) / 2
    slope, mean = float(k @ inner) / float(k @ k), float(inner.mean())
    reach = (n + 1) / 2
    return (mean - slope * reach, mean + slope * reach), inner - mean - slope * k


def _missing(numbers: NDArray[np.int64], offset: int, *stretches: tuple[int, int]) -> bool:
    """Whether a frame is missing where the light changes."""
    for low, high in stretches:
        part = numbers[max(0, low - offset) : high - offset + 1]
        if len(part) > 1 and int(np.diff(part).max()) > 1:
            return True
    return False


def _shares(
    trace: Trace, opening: tuple[int, int], closing: tuple[int, int], inner: tuple[int, int]
) -> tuple[Array, Array]:
    """For every strip of rows the light of the frames of either edge, over full light."""
    full = trace.bands[inner[0] : inner[1] + 1].mean(axis=0)
    before = trace.bands[max(0, opening[0] - _LEAST_DARK) : opening[0] + 1].mean(axis=0)
    after = trace.bands[closing[1] : closing[1] + 1 + _LEAST_DARK].mean(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        up: Array = (trace.bands[opening[0] : opening[1] + 1] - before) / (full - before)
        down: Array = (trace.bands[closing[0] : closing[1] + 1] - after) / (full - after)
    return up, down


def _pull(shares: Array) -> float:
    """
    An exponent that is off by a share e moves a partly lit strip's light p by e p ln p.

    Strip by strip: where rows are read one after another, a frame half lit is bright in some and dark in
    others, and of those no exponent changes anything.
    """
    usable = shares[:, np.isfinite(shares).all(axis=0)]
    if not usable.size:
        return 0.0
    inside = np.clip(usable, 1e-6, 1.0)
    return abs(float((inside * np.log(inside)).mean(axis=1).sum()))


def _refusal(found: Firing, beat: Beat, missing: bool, own: Array, trace: Trace) -> str:
    if beat.is_torn:
        return "the time stamps around it are irregular, or the pace of replay changes in it"
    if missing:
        return "frames are missing where its light changes"
    if found.sags or abs(found.drift) > _DRIFT:
        return "full light sags or swells while it lasts: lock the phone's exposure, or use a steadier lamp"
    edges = (trace.repeats[found.first : found.first + len(found.opening)],
             trace.repeats[found.last - len(found.closing) + 3 : found.last + 2])  # fmt: skip
    partial = tuple(is_partial(edge[1:], found.noise_dark) for edge in (found.opening, found.closing))
    if any(bool((e[: len(p)] & p[: len(e)]).any()) for e, p in zip(edges, partial, strict=True)):
        return "a frame is repeated where its light changes: the file holds fewer frames than it says"
    if found.open_frames < FEWEST_FRAMES:
        return TOO_SHORT
    if len(own) and float(np.abs(own).max()) > max(_DIP, 6 * found.noise_dark):
        return "the light changes while it is open: lock the phone's exposure, and use a lamp that is steady"
    return ""


def is_partial(share: Array, noise: float) -> NDArray[np.bool_]:
    """
    Which frames of an edge are neither dark nor fully lit.

    Parameters
    ----------
    share : array, shape (n,)
        Light over full light, [-].
    noise : float
        Its standard deviation in darkness, [-].

    Returns
    -------
    partial : array of bool, shape (n,)
        clear of both by 2 % of full light, or four times the noise.
    """
    clear = max(_PARTIAL, 4 * noise)
    partial: NDArray[np.bool_] = (share > clear) & (share < 1 - clear)
    return partial
