"""
A recording with the light curve as it was before the capacitors.

Integrating gathers noise. In a long opening behind a high corner so much comes together that the middle says
nothing any more; there the two edges are put back by themselves, each from the darkness beside it, and a
straight line bridges the light between them, which was not seen.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from pegwood.instruments.recordings import Recording
from pegwood.instruments.recordings._recording import Samples
from pegwood.instruments.shutter._steady import Known, columns, free_of, seen_through

__all__ = ["Coupling", "Opening", "Restored"]

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
    """

    a: float
    b: float
    bend: float
    covariance: Array
    sigma: float
    base: float
    origin: str

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
        once, twice, parabola = columns(y, step)
        light: Array = y + self.a * once + self.b * twice + self.bend * parabola
        return light


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
        coupling, opening = self.couplings[channel], self._opening_at(channel, ends[0])
        if coupling is None or opening is None or level == 0:
            return 0.0, 0.0
        if opening.edges is None:
            weights = [(opening.dark, _of_whole(opening.dark, ends, plateau, level, te))]
        else:
            light = self._light(channel, opening, coupling)
            weights = [(edge, _of_edge(edge, opening, ends, level, light)) for edge in opening.edges]
        pull, noise = np.zeros(3), 0.0
        for known, weight in weights:
            y = self._readings(channel, known.start, known.stop, coupling)
            by_one, by_noise = _through(weight, known, coupling, y, 1 / self.sample_rate_hz)
            pull += by_one
            noise += by_noise
        by_corners = max(0.0, float(pull @ coupling.covariance @ pull))
        return math.sqrt(by_corners), coupling.sigma * math.sqrt(noise)

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
        pull, noise = _through(weight, known, coupling, y, 1 / self.sample_rate_hz)
        return math.sqrt(max(0.0, float(pull @ coupling.covariance @ pull)) + coupling.sigma**2 * noise)


def _of_whole(
    dark: Known, ends: tuple[float, float], plateau: tuple[float, float], level: float, te: float
) -> Array:
    """What each reading of the light adds to the effective time: between its ends, and in its level."""
    weight = np.zeros(dark.stop - dark.start)
    first, last = (round(end) - dark.start for end in ends)
    weight[max(first, 0) : last + 1] = 1 / level
    full = slice(math.ceil(plateau[0]) - dark.start, math.floor(plateau[1]) - dark.start)
    if full.stop > full.start:
        weight[full] -= te / level / (full.stop - full.start)
    return weight


def _of_edge(edge: Known, opening: Opening, ends: tuple[float, float], level: float, light: Array) -> Array:
    """The same for an edge by itself, held against the level beside it."""
    weight = np.zeros(edge.stop - edge.start)
    first, last = (round(end) - edge.start for end in ends)
    weight[max(first, 0) : max(last, 0) + 1] = 1 / level
    full = edge.stretches[edge.lit or 0]
    held = float(weight @ light[edge.start - opening.start : edge.stop - opening.start])
    weight[full] -= held / level / (full.stop - full.start)
    return weight


def _through(weight: Array, known: Known, coupling: Coupling, y: Array, step: float) -> tuple[Array, float]:
    """How a figure changes with sum, product and bend; and its variance by gathered noise over sigma^2."""
    through = seen_through(weight, known)
    pull = np.array([float(through @ part) for part in columns(y, step)])
    once = np.cumsum(through[::-1])[::-1] * step
    twice = np.cumsum(once[::-1])[::-1] * step
    gathered = through + coupling.a * once + coupling.b * twice
    return pull, max(0.0, float(gathered @ gathered) - float(through @ through))
