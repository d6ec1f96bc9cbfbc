"""
A recording with the light curve as it was before the capacitors.

Integrating gathers noise. In a long opening behind a high corner so much comes together that the middle says
nothing any more; there the two edges are put back by themselves, each from the darkness beside it, and a
straight line bridges the light between them, which was not seen.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from pegwood.instruments.recordings import Recording
from pegwood.instruments.recordings._recording import Samples
from pegwood.instruments.shutter._steady import Known, Rows, Span, columns, free_of, seen_through, undone

__all__ = ["Coupling", "Held", "Opening", "Restored"]

Array = NDArray[np.float64]

_SLOW_S = 0.03  # slower than three periods of a lamp on mains
_HELD = 6  # restored firings kept in memory


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
    origin : str
        How it is known, in words.
    gain : array, shape (3, 3)
        What an error of the right side of the fit does to the first three.
    rows : tuple of Rows
        What was fitted; empty where the corners come from elsewhere.
    """

    a: float
    b: float
    bend: float
    covariance: Array
    sigma: float
    base: float
    origin: str
    gain: Array = field(default_factory=lambda: np.zeros((3, 3)))
    rows: tuple[Rows, ...] = ()

    @property
    def corners_hz(self) -> tuple[float, ...]:
        """The corners, highest first, [Hz]; where noise makes a pair of them complex, their middle twice."""
        if self.b == 0:
            return (self.a / (2 * math.pi),)
        half = math.sqrt(max(0.0, self.a**2 / 4 - self.b))
        return tuple(w / (2 * math.pi) for w in (self.a / 2 + half, self.a / 2 - half))

    def undone(self, y: Array, step: float) -> Array:
        """
        The light but for what a fit leaves free.

        Parameters
        ----------
        y : array, shape (n,)
            Readings less `base`.
        step : float
            Between samples, [s].

        Returns
        -------
        light : array, shape (n,)
            In the unit of the readings.
        """
        return undone(y, step, self.a, self.b, self.bend)

    def along(self, gathered: Array, known: Known) -> Array:
        """
        Covariance of a figure's noise with the errors of sum, product and bend.

        Parameters
        ----------
        gathered : array, shape (n,)
            What each reading adds to the figure.
        known : Known
            Where these readings lie.

        Returns
        -------
        covariance : array, shape (3,)
            In the unit of the figure times theirs; zero for a fit that saw none of these readings.
        """
        scores = np.zeros(3)
        for rows in self.rows:
            if rows.first < known.stop and known.start < rows.beyond:
                blocks = rows.in_blocks(gathered, known.start)
                scores += rows.weights(self.a, self.b).T @ blocks / rows.block
        found: Array = self.sigma**2 * self.gain @ scores
        return found


@dataclass(frozen=True)
class Opening:
    """
    One firing: where it is dark beside it, and its two edges by themselves where its middle was not seen.

    `edges` is None where it was seen whole.
    """

    dark: Known
    edges: tuple[Known, Known] | None = None

    @property
    def start(self) -> int:
        """First sample."""
        return self.dark.start

    @property
    def stop(self) -> int:
        """Last sample and one."""
        return self.dark.stop


@dataclass(frozen=True)
class Held:
    """
    Light that is summed up, and the steady light it is held against.

    Parameters
    ----------
    light, steady : (float, float)
        From and to, [sample]; `steady` is empty where the level comes from elsewhere.
    level : float
        In the unit of the readings.
    share : float
        What the light comes to, in samples of that level.
    """

    light: tuple[float, float]
    steady: tuple[float, float]
    level: float
    share: float

    def weight(self, start: int, stop: int) -> Array:
        """What each reading from start to stop adds to that sum."""
        weight = np.zeros(stop - start)
        first, last = (round(end) - start for end in self.light)
        weight[max(first, 0) : max(last + 1, 0)] = 1 / self.level
        steady = slice(max(math.ceil(self.steady[0]) - start, 0), max(math.floor(self.steady[1]) - start, 0))
        n = len(weight[steady])
        if n:
            weight[steady] -= self.share / self.level / n
        return weight


@dataclass(frozen=True)
class Restored(Recording):
    """
    A recording with the light curve as it was before the capacitors, firing by firing; in between as it is.

    `couplings` and `openings` are by channel.
    """

    inner: Recording = field(kw_only=True)
    couplings: tuple[Coupling | None, ...] = field(kw_only=True)
    openings: tuple[tuple[Opening, ...], ...] = field(kw_only=True)
    _held: OrderedDict[tuple[int, int], Array] = field(
        kw_only=True, repr=False, compare=False, default_factory=OrderedDict
    )

    def blocks(self, n: int) -> Iterator[Samples]:
        """As for every recording."""
        start = 0
        for block in self.inner.blocks(n):
            yield self._put_back(block, start)
            start += len(block)

    def read(self, start: int, stop: int) -> Samples:
        """As for every recording."""
        return self._put_back(self.inner.read(start, stop), start)

    def stray(self, start: int, stop: int) -> Samples | None:
        """As for every recording."""
        return self.inner.stray(start, stop)

    def _put_back(self, raw: Samples, start: int) -> Samples:
        out = raw.copy()
        for channel, (coupling, openings) in enumerate(zip(self.couplings, self.openings, strict=True)):
            if coupling is None:
                continue
            out[:, channel] -= coupling.base
            for opening in openings:
                low, high = max(opening.start, start), min(opening.stop, start + len(raw))
                if low < high:
                    light = self._light(channel, opening, coupling)
                    part = light[low - opening.start : high - opening.start]
                    out[low - start : high - start, channel] = part
        return out

    def _light(self, channel: int, opening: Opening, coupling: Coupling) -> Array:
        key = (channel, opening.start)
        if key not in self._held:
            whole = opening.edges is None
            make = self._in_one if whole else self._bridged
            self._held[key] = make(channel, opening, coupling)
            while len(self._held) > _HELD:
                self._held.popitem(last=False)
        return self._held[key]

    def _in_one(self, channel: int, opening: Opening, coupling: Coupling) -> Array:
        y = self._readings(channel, opening.dark.start, opening.dark.stop, coupling)
        return free_of(coupling.undone(y, 1 / self.sample_rate_hz), opening.dark)[0]

    def _bridged(self, channel: int, opening: Opening, coupling: Coupling) -> Array:
        """
        Both edges, and a straight line from the level after the first to the level before the second.

        On that line stands what the capacitors let through: noise, and the ripple of a lamp if it has one.
        """
        assert opening.edges is not None
        step = 1 / self.sample_rate_hz
        light = self._ripple(self._readings(channel, opening.start, opening.stop, coupling))
        levels = []
        for edge in opening.edges:
            restored, level = free_of(
                coupling.undone(self._readings(channel, edge.start, edge.stop, coupling), step), edge
            )
            light[edge.start - opening.start : edge.stop - opening.start] = restored
            levels.append(level)
        lit = slice(opening.edges[0].stop - opening.start, opening.edges[1].start - opening.start)
        light[lit] += np.linspace(levels[0], levels[1], lit.stop - lit.start)
        return light

    def _ripple(self, y: Array) -> Array:
        """What the readings have beside their slow course; in two passes, for that course is bent."""
        n = max(3, round(_SLOW_S * self.sample_rate_hz))
        for _ in range(2):
            y = y - uniform_filter1d(y, n, mode="nearest")
        return y

    def _readings(self, channel: int, start: int, stop: int, coupling: Coupling) -> Array:
        return self.inner.read(start, stop)[:, channel].astype(np.float64) - coupling.base

    def seams(self, channel: int) -> tuple[int, ...]:
        """Samples at which a stretch that was put back meets the readings as they came."""
        return tuple(at for opening in self.openings[channel] for at in (opening.start, opening.stop))

    def is_bridged(self, channel: int, at: float) -> bool:
        """
        Whether only the edges of a firing were seen.

        Parameters
        ----------
        channel : int
            Channel.
        at : float
            Its first light, [sample].

        Returns
        -------
        is_bridged : bool
            True where its middle is a straight line.
        """
        opening = self._opening_at(channel, at)
        return opening is not None and opening.edges is not None

    def _opening_at(self, channel: int, at: float) -> Opening | None:
        return next((o for o in self.openings[channel] if o.start <= at < o.stop), None)

    def doubt(self, channel: int, held: Sequence[Held], dark: tuple[Span, Span]) -> tuple[float, float]:
        """
        Standard uncertainty of an effective time by the corners, and by the noise that integrating gathers.

        Parameters
        ----------
        channel : int
            Channel.
        held : sequence of Held
            What is summed up: the whole, or each edge by itself.
        dark : ((int, int), (int, int))
            Darkness before and after from whose means it is counted, from and to, [sample].

        Returns
        -------
        by_corners, by_noise : float
            [sample].
        """
        coupling, opening = self.couplings[channel], self._opening_at(channel, held[0].light[0])
        if coupling is None or opening is None or any(one.level == 0 for one in held):
            return 0.0, 0.0
        windows = (opening.dark,) if opening.edges is None else opening.edges
        weights = []
        for known in windows:
            weight = np.sum([one.weight(known.start, known.stop) for one in held], axis=0)
            weights.append((known, _above_dark(weight, known.start, dark)))
        pull, noise, both = np.zeros(3), 0.0, np.zeros(3)
        for known, weight in weights:
            y = self._readings(channel, known.start, known.stop, coupling)
            by_one, gathered, direct = _through(weight, known, coupling, y, 1 / self.sample_rate_hz)
            pull += by_one
            noise += max(0.0, float(gathered @ gathered) - direct)
            both += coupling.along(gathered, known)
        by_corners = max(0.0, float(pull @ coupling.covariance @ pull))
        by_noise = coupling.sigma**2 * noise
        # the corners were found in the very noise that is gathered here, and some of one undoes the other
        together = max(0.0, by_corners + by_noise + 2 * float(pull @ both))
        share = math.sqrt(together / (by_corners + by_noise)) if by_corners + by_noise else 0.0
        return share * math.sqrt(by_corners), share * math.sqrt(by_noise)

    def wander(self, channel: int, opening: Opening) -> float:
        """
        How far the middle of a firing may be off by the noise that integrating gathers, and by the corners.

        Parameters
        ----------
        channel : int
            Channel.
        opening : Opening
            One of its firings.

        Returns
        -------
        wander : float
            Standard uncertainty, in the unit of the readings.
        """
        coupling = self.couplings[channel]
        if coupling is None:
            return 0.0
        known = opening.dark
        weight = np.zeros(known.stop - known.start)
        left, fifth = known.left - known.start, (known.right - known.left) // 5
        weight[left + 2 * fifth : left + 3 * fifth] = 1 / max(1, fifth)
        y = self._readings(channel, known.start, known.stop, coupling)
        pull, gathered, direct = _through(weight, known, coupling, y, 1 / self.sample_rate_hz)
        noise = max(0.0, float(gathered @ gathered) - direct)
        return math.sqrt(max(0.0, float(pull @ coupling.covariance @ pull)) + coupling.sigma**2 * noise)


def _above_dark(weight: Array, start: int, dark: tuple[Span, Span]) -> Array:
    """The same for light that is counted from a straight line between the means of both darknesses."""
    stretches = [slice(max(a - start, 0), max(b - start, 0)) for a, b in dark]
    at = [np.arange(len(weight))[stretch] for stretch in stretches]
    there = [stretch for stretch, samples in zip(stretches, at, strict=True) if len(samples)]
    if not there:
        return weight
    out, total = weight.copy(), float(weight.sum())
    if len(there) < 2:
        out[there[0]] -= total / len(out[there[0]])
        return out
    middle = [float(np.mean(samples)) for samples in at]
    later = float(weight @ (np.arange(len(weight)) - middle[0])) / (middle[1] - middle[0])
    for stretch, share in zip(stretches, (total - later, later), strict=True):
        out[stretch] -= share / len(out[stretch])
    return out


def _through(
    weight: Array, known: Known, coupling: Coupling, y: Array, step: float
) -> tuple[Array, Array, float]:
    """How a figure changes with sum, product and bend, and with each reading; and what is direct of that."""
    through = seen_through(weight, known)
    pull = np.array([float(through @ part) for part in columns(y, step)])
    once = np.cumsum(through[::-1])[::-1] * step
    twice = np.cumsum(once[::-1])[::-1] * step
    gathered = through + coupling.a * once + coupling.b * twice
    return pull, gathered, float(through @ through)
