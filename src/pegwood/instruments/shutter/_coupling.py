"""
A light curve that came through capacitors, put back as it was before them.

A sound input passes no direct current: behind one capacitor the light x arrives as y with y' + w y = x', so
x = y + w * integral of y; behind two, x = y + (w1 + w2) * integral of y + w1 w2 * double integral of y (w in
rad/s; the high-pass of the textbooks, from memory). That is linear in a = w1 + w2 and b = w1 w2, and before
and after a firing x is known: it is dark. Linear least squares over the darkness beside all firings therefore
gives a and b with their covariance, whatever the firings look like; a constant and a slope for each firing
take up what was left of the one before, a common parabola takes up the converter's own offset.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording
from pegwood.instruments.recordings._recording import Samples
from pegwood.instruments.shutter._noise import rough_sigma
from pegwood.instruments.shutter._scan import Envelope

__all__ = ["Coupling", "Restored", "is_coupled", "restore"]

Array = NDArray[np.float64]

_OPENS, _ARMED = 0.3, 0.15  # of the highest swing: an opening begins; another may begin
_GUARD_BEFORE_S, _GUARD_AFTER_S = 1.5e-3, 4e-3  # between an edge and what is taken for darkness
_BOUNCE_S = 0.05
_DARK_S = 0.5  # of darkness on either side, at the most
_TAU = 8.0  # and so many time constants: beyond, the integral only gathers noise
_LEAST_DARK_S = 0.02
_WIDEST_BIN_S = 4e-3
_FEWEST_BINS = 8
_BEGINS_BINS = 60
_ENOUGH = 12  # firings tell whether there is a capacitor
_DRAWS = 64
_BLOCK = 16  # samples averaged for the fit
_SLOWEST_HZ, _FASTEST_HZ = 0.02, 60.0  # corners that are believed
_SURE, _CLEAR = 5.0, 4.0  # standard uncertainties, to believe in a capacitor, and in a second one
_HELD = 6  # restored firings kept in memory
_MISFIT = 0.02  # of the swing: what the darkness may be off


@dataclass(frozen=True)
class _Firing:
    """Where a firing lies: darkness is [start, opens) and [closed, stop), [sample]."""

    start: int
    opens: int
    closed: int
    stop: int

    @property
    def dark(self) -> tuple[slice, slice]:
        """Both stretches of darkness, counted from the start."""
        return slice(0, self.opens - self.start), slice(self.closed - self.start, self.stop - self.start)

    def within(self, dark: int) -> _Firing:
        """With no more darkness than that on either side."""
        return _Firing(
            max(self.start, self.opens - dark), self.opens, self.closed, min(self.stop, self.closed + dark)
        )

    def in_bins(self, bin_samples: int) -> _Firing:
        """The same in whole bins; a bin that holds an edge is no darkness."""
        return _Firing(
            -(-self.start // bin_samples),
            self.opens // bin_samples,
            -(-self.closed // bin_samples),
            self.stop // bin_samples,
        )


@dataclass(frozen=True)
class Coupling:
    """
    High-pass of one channel.

    Parameters
    ----------
    a, b : float
        Sum and product of the corners, [1/s], [1/s^2].
    bend : float
        Half of b times what the input settles at beside `base`, in the unit of the readings, [1/s^2].
    covariance : array, shape (3, 3)
        Of these three.
    sigma : float
        Standard deviation of one reading in the dark, in the unit of the readings.
    base : float
        Reading that the input settles at.
    """

    a: float
    b: float
    bend: float
    covariance: Array
    sigma: float
    base: float

    @property
    def corners_hz(self) -> tuple[float, ...]:
        """The corners, highest first, [Hz]; where noise makes a pair of them complex, their middle twice."""
        if self.b == 0:
            return (self.a / (2 * math.pi),)
        half = math.sqrt(max(0.0, self.a**2 / 4 - self.b))
        return tuple(w / (2 * math.pi) for w in (self.a / 2 + half, self.a / 2 - half))


@dataclass(frozen=True)
class _Corners:
    """As in `Coupling`."""

    a: float
    b: float
    bend: float
    covariance: Array

    @property
    def slower(self) -> float:
        """The lower corner, [rad/s]; where noise makes a pair of them complex, their middle."""
        return self.a / 2 - math.sqrt(max(0.0, self.a**2 / 4 - self.b)) if self.b else self.a


@dataclass(frozen=True)
class _Moments:
    """What noise adds to the normal matrix and the right side, and the covariance of the right side."""

    normal: Array
    right: Array
    scores: Array


@dataclass(frozen=True)
class Restored(Recording):
    """
    A recording with the light curve as it was before the capacitors, firing by firing; in between as it is.

    `couplings` and `firings` are by channel.
    """

    inner: Recording = field(kw_only=True)
    couplings: tuple[Coupling | None, ...] = field(kw_only=True)
    firings: tuple[tuple[_Firing, ...], ...] = field(kw_only=True)
    _held: OrderedDict[tuple[int, int], Array] = field(kw_only=True, repr=False, compare=False)

    def blocks(self, n: int) -> Iterator[Samples]:
        """As for every recording."""
        start = 0
        for block in self.inner.blocks(n):
            yield self._put_back(block, start)
            start += len(block)

    def read(self, start: int, stop: int) -> Samples:
        """As for every recording."""
        return self._put_back(self.inner.read(start, stop), start)

    def _put_back(self, raw: Samples, start: int) -> Samples:
        out = raw.copy()
        for channel, (coupling, firings) in enumerate(zip(self.couplings, self.firings, strict=True)):
            if coupling is None:
                continue
            out[:, channel] -= coupling.base
            for firing in firings:
                low, high = max(firing.start, start), min(firing.stop, start + len(raw))
                if low < high:
                    light = self._firing(channel, firing, coupling)
                    out[low - start : high - start, channel] = light[low - firing.start : high - firing.start]
        return out

    def _firing(self, channel: int, firing: _Firing, coupling: Coupling) -> Array:
        key = (channel, firing.start)
        if key not in self._held:
            y = self.inner.read(firing.start, firing.stop)[:, channel].astype(np.float64) - coupling.base
            once, twice, parabola = _columns(y, 1 / self.sample_rate_hz)
            light = y + coupling.a * once + coupling.b * twice + coupling.bend * parabola
            light -= _line_through(light, firing)
            self._held[key] = light
            while len(self._held) > _HELD:
                self._held.popitem(last=False)
        return self._held[key]

    def doubt(
        self, channel: int, ends: tuple[float, float], plateau: tuple[float, float], level: float, te: float
    ) -> tuple[float, float]:
        """
        Standard uncertainty of an effective time by the corners, and by the noise that integrating gathers.

        Parameters
        ----------
        channel : int
            Channel.
        ends : (float, float)
            First and last light, [sample].
        plateau : (float, float)
            From fully open to beginning to close, [sample]; empty where the level comes from elsewhere.
        level : float
            Full-open level, in the unit of the readings.
        te : float
            Effective time, [sample].

        Returns
        -------
        by_corners, by_noise : float
            [sample].
        """
        coupling = self.couplings[channel]
        firing = next((f for f in self.firings[channel] if f.start <= ends[0] < f.stop), None)
        if coupling is None or firing is None or level == 0:
            return 0.0, 0.0
        step = 1 / self.sample_rate_hz
        weight = np.zeros(firing.stop - firing.start)
        first, last = (round(end) - firing.start for end in ends)
        weight[max(first, 0) : last + 1] = 1 / level
        full = slice(math.ceil(plateau[0]) - firing.start, math.floor(plateau[1]) - firing.start)
        if full.stop > full.start:
            weight[full] -= te / level / (full.stop - full.start)
        weight = _as_through_line(weight, firing)
        y = self.inner.read(firing.start, firing.stop)[:, channel].astype(np.float64) - coupling.base
        pull = np.array([float(weight @ part) for part in _columns(y, step)])
        by_corners = max(0.0, float(pull @ coupling.covariance @ pull))
        once = np.cumsum(weight[::-1])[::-1] * step
        twice = np.cumsum(once[::-1])[::-1] * step
        gathered = weight + coupling.a * once + coupling.b * twice
        by_noise = coupling.sigma**2 * max(0.0, float(gathered @ gathered) - float(weight @ weight))
        return math.sqrt(by_corners), math.sqrt(by_noise)


def is_coupled(envelope: Envelope, recording: Recording) -> bool:
    """
    Whether a channel came through a capacitor, by its envelope alone.

    Parameters
    ----------
    envelope : Envelope
        From the first pass.
    recording : Recording
        What it was made of.

    Returns
    -------
    is_coupled : bool
        True where a high-pass is clear beyond doubt.
    """
    if envelope.bin_samples > _WIDEST_BIN_S * recording.sample_rate_hz:
        return False  # too coarse to tell an edge from darkness
    step = envelope.bin_samples / recording.sample_rate_hz
    base = _base(envelope)
    rows, height = [], 0.0
    firings = _firings(envelope, recording)
    for firing in firings[:: len(firings) // _ENOUGH + 1]:
        bins = firing.in_bins(envelope.bin_samples)
        y = envelope.mean[bins.start : bins.stop].astype(np.float64) - base
        if min(bins.opens - bins.start, bins.stop - bins.closed) >= _FEWEST_BINS:
            rows.append(_dark_rows(y, bins, step, 1))
            height = max(height, float(np.abs(y).max()))
    return _believed(rows, height) is not None


def restore(recording: Recording, envelopes: list[Envelope], light: Collection[int]) -> Restored | None:
    """
    Put the light curve back as it was before the capacitors.

    Parameters
    ----------
    recording : Recording
        As it came.
    envelopes : list of Envelope
        From the first pass, one for each channel.
    light : collection of int
        Channels that hold light; others stay as they are.

    Returns
    -------
    restored : Restored or None
        None where no channel shows firings behind one or two capacitors.
    """
    couplings: list[Coupling | None] = []
    firings: list[tuple[_Firing, ...]] = []
    for channel, envelope in enumerate(envelopes):
        found = _firings(envelope, recording) if channel in light else []
        base = _base(envelope)
        coupling, found = _fitted(recording, channel, found, base)
        couplings.append(coupling)
        firings.append(tuple(found))
    if not any(couplings):
        return None
    return Restored(
        name=recording.name,
        sample_rate_hz=recording.sample_rate_hz,
        n_channels=recording.n_channels,
        n_samples=recording.n_samples,
        format=recording.format,
        sample_rate_u=recording.sample_rate_u,
        warnings=recording.warnings,
        inner=recording,
        couplings=tuple(couplings),
        firings=tuple(firings),
        _held=OrderedDict(),
    )


def _base(envelope: Envelope) -> float:
    """What the dark input settles at: as the record begins, for later it may be open more than closed."""
    first = envelope.mean[:_BEGINS_BINS]
    whole = float(envelope.high.max() - envelope.low.min())
    return float(np.median(first if float(np.ptp(first)) < 0.1 * whole else envelope.mean))


def _firings(envelope: Envelope, recording: Recording) -> list[_Firing]:
    """Where the light leaves darkness with a swing, and where it came back to it."""
    base, bin_samples = _base(envelope), envelope.bin_samples
    up, down = envelope.high - base, base - envelope.low
    highest = float(max(up.max(), down.max()))
    starts = np.flatnonzero(np.maximum(up, down) > 0.5 * highest)
    if highest <= 0 or not len(starts):
        return []
    swing, back = (up, down) if up[starts[0]] >= down[starts[0]] else (down, up)
    opens = _openings(swing, float(swing.max()))
    bounce = round(_BOUNCE_S * recording.sample_rate_hz / bin_samples)
    edges = []
    for first, beyond in zip(opens, [*opens[1:], len(swing)], strict=True):
        least = _ARMED * float(swing.max())
        after = back[first:beyond]
        if float(after.max()) > least:
            closed = first + int(after.argmax())
        else:
            closed = first + _down_again(swing[first:beyond], least, bounce)
        edges.append((first * bin_samples, (closed + 1) * bin_samples))
    return _with_darkness(edges, recording)


def _down_again(swing: NDArray[np.floating], least: float, bounce: int) -> int:
    """Last bin above `least` before it stays down for as long as blades bounce."""
    above = np.flatnonzero(swing > least)
    gaps = np.flatnonzero(np.diff(above) > bounce)
    return int(above[gaps[0]] if len(gaps) else above[-1])


def _openings(swing: NDArray[np.floating], highest: float) -> list[int]:
    """Bins in which it swings up, after it was down."""
    clear = np.flatnonzero((swing > _OPENS * highest) | (swing < _ARMED * highest))
    up = swing[clear] > _OPENS * highest
    up[1:] &= ~up[:-1]
    opens: list[int] = clear[up].tolist()
    return opens


def _with_darkness(edges: list[tuple[int, int]], recording: Recording) -> list[_Firing]:
    rate, n = recording.sample_rate_hz, recording.n_samples
    before, after, dark = (round(s * rate) for s in (_GUARD_BEFORE_S, _GUARD_AFTER_S, _DARK_S))
    least = round(_LEAST_DARK_S * rate)
    found = []
    for i, (opens, closed) in enumerate(edges):
        start = (edges[i - 1][1] + opens) // 2 if i else 0
        stop = (closed + edges[i + 1][0]) // 2 if i + 1 < len(edges) else n
        firing = _Firing(
            max(start, opens - before - dark),
            opens - before,
            closed + after,
            min(stop, closed + after + dark),
        )
        if firing.opens - firing.start >= least and firing.stop - firing.closed >= least:
            found.append(firing)
    return found


def _fitted(
    recording: Recording, channel: int, firings: list[_Firing], base: float
) -> tuple[Coupling | None, list[_Firing]]:
    """Corners by least squares over all darkness that tells of them, and the firings with no more of it."""
    step = 1 / recording.sample_rate_hz
    rows, height, sigma = _rows(recording, channel, firings, base)
    found = _believed(rows, height) if rows else None
    if found is None:
        return None, firings
    dark = round(max(_TAU / found.slower, 4 * _LEAST_DARK_S) / step)
    if dark < 0.8 * _DARK_S / step:  # beyond the tail an integral only gathers noise
        firings = [firing.within(dark) for firing in firings]
        rows, height, sigma = _rows(recording, channel, firings, base)
        found = _believed(rows, height)
    if found is not None:
        found = _believed(rows, height, _moments(rows, firings, found, sigma, step))
    if found is None:
        return None, firings
    return Coupling(found.a, found.b, found.bend, found.covariance, sigma, base), firings


def _rows(
    recording: Recording, channel: int, firings: list[_Firing], base: float
) -> tuple[list[tuple[Array, Array]], float, float]:
    """Normal equations of each firing, the highest reading, and the noise of one; none if any was cut off."""
    rows, height, rough = [], 0.0, [0.0]
    for firing in firings:
        y = recording.read(firing.start, firing.stop)[:, channel].astype(np.float64) - base
        if recording.full_scale is not None and np.abs(y + base).max() >= 0.999 * recording.full_scale:
            return [], 0.0, 0.0
        height = max(height, float(np.abs(y).max()))
        rows.append(_dark_rows(y, firing, 1 / recording.sample_rate_hz, _BLOCK))
        rough.append(rough_sigma(_block_means(y[firing.dark[0]], _BLOCK)))
    return rows, height, math.sqrt(_BLOCK * float(np.mean(np.square(rough[1:] or rough))))


def _moments(
    rows: list[tuple[Array, Array]], firings: list[_Firing], found: _Corners, sigma: float, step: float
) -> _Moments:
    """
    What noise does to the normal equations, by drawing some.

    The integrals are noisy as well. Least squares takes its columns for exact; left alone, the noise they
    hold pulls the corners towards zero, and what is left over is no longer independent from row to row (W. A.
    Fuller, Measurement Error Models, moment-corrected least squares; mark: memory).
    """
    draws = max(2, _DRAWS // len(firings))
    rng = np.random.default_rng(len(firings))
    values = np.array([found.a, found.b, 0.0])
    normal, right, scores = np.zeros((3, 3)), np.zeros(3), np.zeros((3, 3))
    for (columns, _), firing in zip(rows, firings, strict=True):
        for _ in range(draws):
            noise = sigma * rng.standard_normal(firing.stop - firing.start)
            noisy, seen = _dark_rows(noise, firing, step, _BLOCK)
            noisy[:, 2] = 0.0  # time itself is exact
            normal += noisy.T @ noisy / draws
            right += noisy.T @ seen / draws
            score = columns.T @ (seen - noisy @ values)
            scores += np.outer(score, score) / draws
    return _Moments(normal, right, scores)


def _believed(
    rows: list[tuple[Array, Array]], height: float, moments: _Moments | None = None
) -> _Corners | None:
    """The corners of two capacitors where the second is clear, else of one; None where none is."""
    two, one = _solve(rows, 3, moments), _solve(rows, 1, moments)
    if two is not None and two[0][1] > _CLEAR * math.sqrt(two[1][1, 1]):
        values, covariance, variance = two
        found = _Corners(float(values[0]), float(values[1]), float(values[2]), covariance)
    elif one is not None:
        values, covariance, variance = one
        found = _Corners(float(values[0]), 0.0, 0.0, np.diag([float(covariance[0, 0]), 0.0, 0.0]))
    else:
        return None
    slowest, fastest = 2 * math.pi * _SLOWEST_HZ, 2 * math.pi * 2 * _FASTEST_HZ
    is_clear = found.a > _SURE * math.sqrt(found.covariance[0, 0])
    if not (slowest < found.a < fastest and is_clear) or math.sqrt(variance) > _MISFIT * height:
        return None
    return found


def _dark_rows(y: Array, firing: _Firing, step: float, block: int) -> tuple[Array, Array]:
    """Columns and right side of the normal equations in the dark, free of a line."""
    parts: tuple[Array, ...] = (np.arange(len(y), dtype=np.float64) * step, y, *_columns(y, step))
    t, *means = (np.concatenate([_block_means(part[s], block) for s in firing.dark]) for part in parts)
    q, _ = np.linalg.qr(np.stack([np.ones_like(t), t], axis=1))
    seen, *columns = (part - q @ (q.T @ part) for part in means)
    return -np.stack(columns, axis=1), seen


def _block_means(y: Array, block: int) -> Array:
    whole: Array = y[: len(y) // block * block].reshape(-1, block).mean(axis=1)
    return whole


def _solve(
    rows: list[tuple[Array, Array]], columns: int, moments: _Moments | None
) -> tuple[Array, Array, float] | None:
    """Values, covariance, and variance of a row."""
    normal = sum((part[:, :columns].T @ part[:, :columns] for part, _ in rows), np.zeros((columns, columns)))
    right = sum((part[:, :columns].T @ seen for part, seen in rows), np.zeros(columns))
    if moments is not None:
        normal = normal - moments.normal[:columns, :columns]
        right = right - moments.right[:columns]
    count = sum(len(seen) - 2 for _, seen in rows) - columns
    if count < 8 or not (np.diag(normal) > 0).all():
        return None
    scale = np.sqrt(np.diag(normal))
    try:
        inverse = np.linalg.inv(normal / np.outer(scale, scale)) / np.outer(scale, scale)
    except np.linalg.LinAlgError:
        return None
    if not (np.diag(inverse) > 0).all():
        return None  # nothing but noise
    values = inverse @ right
    variance = sum(float(np.sum((seen - part[:, :columns] @ values) ** 2)) for part, seen in rows) / count
    if moments is None:
        return values, inverse * variance, variance
    return values, inverse @ moments.scores[:columns, :columns] @ inverse, variance


def _columns(y: Array, step: float) -> tuple[Array, Array, Array]:
    """Integral and double integral from the first reading on, by the trapezoidal rule; and time squared."""
    once = _integral(y, step)
    time = np.arange(len(y), dtype=np.float64) * step
    return once, _integral(once, step), time * time


def _integral(y: Array, step: float) -> Array:
    sums = np.empty_like(y)
    sums[0] = 0.0
    np.cumsum(0.5 * step * (y[1:] + y[:-1]), out=sums[1:])
    return sums


def _line_through(light: Array, firing: _Firing) -> Array:
    """Straight line through the darkness on both sides."""
    t = np.arange(len(light), dtype=np.float64)
    dark = np.concatenate([t[s] for s in firing.dark]).astype(np.int64)
    middle = float(np.mean(dark))
    slope, level = np.polyfit(dark - middle, light[dark], 1)
    line: Array = level + slope * (t - middle)
    return line


def _as_through_line(weight: Array, firing: _Firing) -> Array:
    """Weights on readings from which no line was taken, that give what `weight` gives after it was."""
    t = np.arange(len(weight), dtype=np.float64)
    dark = np.concatenate([t[s] for s in firing.dark]).astype(np.int64)
    middle = float(np.mean(dark))
    away = t - middle
    out = weight.copy()
    spread = float(np.sum(away[dark] ** 2))
    out[dark] -= weight.sum() / len(dark) + away[dark] * float(weight @ away) / spread
    return out
