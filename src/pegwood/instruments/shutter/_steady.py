"""
Stretches of constant light, read once: the rows of the normal equations, and what noise does to them.

The rows hold integrals of the readings, and so the noise that integrating gathers. What it adds to the normal
matrix and how the right side scatters follow in closed form: integrating is a matrix T, so noise of variance
s^2 in the readings has the covariance s^2 T T' in the integral, and only sums and adjoint sums are needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._noise import rough_sigma

__all__ = ["Known", "Rows", "Span", "Steady", "columns", "free_of", "seen_through", "undone"]

Array = NDArray[np.float64]
Span = tuple[int, int]
"""From and to, [sample]."""


@dataclass(frozen=True)
class Known:
    """
    Two stretches of constant light, [start, left) and [right, stop), and what happens between them, [sample].

    `lit` is the stretch that is lit by an unknown level, 0 or 1; None where both are dark.
    """

    start: int
    left: int
    right: int
    stop: int
    lit: int | None = None

    @property
    def stretches(self) -> tuple[slice, slice]:
        """Both, counted from the start."""
        return slice(0, self.left - self.start), slice(self.right - self.start, self.stop - self.start)

    def within(self, most: int) -> Known:
        """With no more of either."""
        start, stop = max(self.start, self.left - most), min(self.stop, self.right + most)
        return Known(start, self.left, self.right, stop, self.lit)

    def guarded(self, more: int) -> Known:
        """With so much more left out behind the edge."""
        return Known(self.start, self.left, min(self.right + more, self.stop), self.stop, self.lit)

    def in_bins(self, bin_samples: int) -> Known:
        """The same in whole bins; a bin that holds an edge is not constant."""
        start, right = -(-self.start // bin_samples), -(-self.right // bin_samples)
        return Known(start, self.left // bin_samples, right, self.stop // bin_samples, self.lit)


@dataclass(frozen=True)
class Shape:
    """Means of blocks before and after an edge, and how many blocks lie between; `lit` as in `Known`."""

    left: int
    between: int
    right: int
    lit: int | None

    @property
    def used(self) -> NDArray[np.int64]:
        """The blocks that are used, counted from the first."""
        first = np.arange(self.left)
        return np.concatenate((first, np.arange(self.right) + self.left + self.between))


@dataclass(frozen=True)
class Noisy:
    """
    What noise of variance one in the means of blocks adds to the normal equations of a shape.

    Parameters
    ----------
    normal : array, shape (2, 2)
        To the normal matrix of the integral and the double integral.
    right : array, shape (2,)
        To the right side.
    spare : int
        Rows less what is left free.
    """

    normal: Array
    right: Array
    spare: int


@dataclass(frozen=True)
class Rows:
    """
    Columns and right side of the normal equations, free of a constant, a slope and the level of a step.

    Parameters
    ----------
    columns : array, shape (m, 3)
        Less the integral, less the double integral, and less time squared.
    seen : array, shape (m,)
        Readings.
    shape : Shape
        Where they lie.
    step : float
        Between blocks, [s].
    block : int
        Samples to a mean.
    left, right : int
        Samples of the recording before and from which the light is constant.
    """

    columns: Array
    seen: Array
    shape: Shape
    step: float
    block: int = 1
    left: int = 0
    right: int = 0

    @property
    def first(self) -> int:
        """First sample of the recording that is used."""
        return self.left - self.shape.left * self.block

    @property
    def beyond(self) -> int:
        """The sample after the last."""
        return self.right + self.shape.right * self.block

    @property
    def noisy(self) -> Noisy:
        """What noise adds to them."""
        return _noisy(self.shape, self.step)

    def weights(self, a: float, b: float) -> Array:
        """
        How noise in the mean of each block, used or between, goes into the right side.

        Parameters
        ----------
        a, b : float
            Sum and product of the corners, [1/s], [1/s^2].

        Returns
        -------
        weights : array, shape (n, 3)
            Of the columns, times what is left over where the light is known.
        """
        weight = np.zeros((self.shape.left + self.shape.between + self.shape.right, 3))
        weight[self.shape.used] = self.columns
        once = _adjoint(weight, self.step)
        through: Array = weight + a * once + b * _adjoint(once, self.step)
        return through

    def scores(self, a: float, b: float) -> Array:
        """Covariance of the right side, for noise of variance one, shape (3, 3); parameters as `weights`."""
        through = self.weights(a, b)
        found: Array = through.T @ through
        return found

    def in_blocks(self, values: Array, start: int) -> Array:
        """
        Sums over the blocks of something that is given by sample.

        Parameters
        ----------
        values : array, shape (m,)
            By sample.
        start : int
            Sample of the recording that it begins with.

        Returns
        -------
        sums : array, shape (n,)
            For all blocks, those between included; zero where nothing is given.
        """
        it, block = self.shape, self.block
        sums = np.zeros(it.left + it.between + it.right)
        sample = np.arange(start, start + len(values))
        before = (sample - self.left) // block + it.left
        after = (sample - self.right) // block + it.left + it.between
        at = np.where(sample < self.right, np.minimum(before, it.left + it.between - 1), after)
        inside = (at >= 0) & (at < len(sums))
        np.add.at(sums, at[inside], values[inside])
        return sums


@dataclass(frozen=True)
class Steady:
    """
    The means of blocks in both stretches of constant light beside an edge.

    Parameters
    ----------
    means : array, shape (5, m)
        Time, readings, their integral and double integral, and time squared.
    shape : Shape
        Where they lie.
    step : float
        Between blocks, [s].
    highest : float
        Of all readings, those between the stretches too.
    sigma : float
        Standard deviation of the mean of a block.
    samples : int
        To a block.
    known : Known
        Where in the recording.
    """

    means: Array
    shape: Shape
    step: float
    highest: float
    sigma: float
    samples: int
    known: Known

    @classmethod
    def read(cls, y: Array, known: Known, step: float, block: int) -> Steady:
        """
        Integrate once what is known.

        Parameters
        ----------
        y : array, shape (n,)
            Readings from its start to its stop, less what the input settles at.
        known : Known
            Where the light is constant.
        step : float
            Between samples, [s].
        block : int
            Samples to a mean.

        Returns
        -------
        steady : Steady
            Blocks are counted from the edge.
        """
        left, right = known.left - known.start, known.right - known.start
        n_left, n_right = left // block, (len(y) - right) // block
        parts = (np.arange(len(y), dtype=np.float64) * step, y, *columns(y, step))
        before, after = slice(left - n_left * block, left), slice(right, right + n_right * block)
        means = [np.concatenate([_means(part[s], block) for s in (before, after)]) for part in parts]
        shape = Shape(n_left, round((right - left) / block), n_right, known.lit)
        sigma = rough_sigma(means[1][:n_left]) if n_left else 0.0
        return cls(np.stack(means), shape, block * step, float(np.abs(y).max()), sigma, block, known)

    def rows(self, most: int, guard: int) -> Rows | None:
        """
        The rows of no more than so many blocks on either side.

        Parameters
        ----------
        most : int
            Blocks.
        guard : int
            Blocks left out behind the edge.

        Returns
        -------
        rows : Rows or None
            None where there are not enough of them for what is left free.
        """
        it = self.shape
        left, right = min(it.left, most), max(0, min(it.right - guard, most))
        if left + right < 4:
            return None
        first = it.left + guard
        at = np.concatenate((np.arange(it.left - left, it.left), np.arange(first, first + right)))
        shape = Shape(left, it.between + guard, right, it.lit)
        t, *means = self.means[:, at]
        q = np.linalg.qr(_free_columns(t, left, it.lit))[0]  # exact: the edge need not begin with a block
        seen, *found = (part - q @ (q.T @ part) for part in means)
        place = (self.samples, self.known.left, self.known.right + guard * self.samples)
        return Rows(-np.stack(found, axis=1), seen, shape, self.step, *place)


def _means(y: Array, block: int) -> Array:
    whole: Array = y.reshape(-1, block).mean(axis=1)
    return whole


@lru_cache(maxsize=256)
def _noisy(shape: Shape, step: float) -> Noisy:
    """
    Traces of the products of the integrals' matrices, by the norms of their rows.

    Row i of the trapezoidal rule holds 1/2, i - 1 times 1, and 1/2; of that rule applied twice
    (i - 1/2) / 2, then i - 1, i - 2 ... 1, and 1/4. What is left free is taken off column by column.
    """
    at = shape.used
    q = np.linalg.qr(_free_columns(at.astype(np.float64), shape.left, shape.lit))[0]
    i = at[at > 0].astype(np.float64)
    ones = float(np.sum(i - 0.5))
    twos = float(np.sum((i - 1) * i * (2 * i - 1) / 6 + (i - 0.5) ** 2 / 4 + 1 / 16))
    both = float(np.sum((i - 1) * i / 2 + (i - 0.5) / 4 + 1 / 8))
    whole = np.zeros((shape.left + shape.between + shape.right, q.shape[1]))
    whole[at] = q
    back = _adjoint(whole, step), _adjoint(_adjoint(whole, step), step)
    normal = np.array([[ones * step**2, both * step**3], [both * step**3, twos * step**4]])
    normal -= [[float(np.sum(one * other)) for other in back] for one in back]
    own = np.array([0.5 * step * len(i), 0.25 * step**2 * len(i)])
    right = own - [float(np.sum(whole * one)) for one in back]
    return Noisy(normal, -right, len(at) - q.shape[1])


def _adjoint(weight: Array, step: float) -> Array:
    """The transpose of the trapezoidal rule."""
    back: Array = step * (np.cumsum(weight[::-1], axis=0)[::-1] - 0.5 * weight)
    back[0] -= 0.5 * step * weight.sum(axis=0)
    return back


def _free_columns(t: Array, n_left: int, lit: int | None) -> Array:
    """Darkness, a slope, and the level of the stretch that is lit, if one is."""
    if lit is None:
        return np.stack([np.ones_like(t), t], axis=1)
    is_lit = (np.arange(len(t)) < n_left) == (lit == 0)
    return np.stack([~is_lit, t, is_lit], axis=1).astype(np.float64)


def columns(y: Array, step: float) -> tuple[Array, Array, Array]:
    """
    Integral and double integral from the first reading on, by the trapezoidal rule; and time squared.

    Parameters
    ----------
    y : array, shape (n,)
        Readings.
    step : float
        Between samples, [s].

    Returns
    -------
    once, twice, squared : array, shape (n,)
        [s], [s^2] times the unit of the readings, and [s^2].
    """
    once = _integral(y, step)
    time = np.arange(len(y), dtype=np.float64) * step
    return once, _integral(once, step), time * time


def undone(y: Array, step: float, a: float, b: float, bend: float) -> Array:
    """
    The light before one or two capacitors, but for what a fit leaves free.

    Parameters
    ----------
    y : array, shape (n,)
        Readings less what the input settles at.
    step : float
        Between samples, [s].
    a, b, bend : float
        As of `Corners`.

    Returns
    -------
    light : array, shape (n,)
        In the unit of the readings.
    """
    once, twice, parabola = columns(y, step)
    light: Array = y + a * once + b * twice + bend * parabola
    return light


def _integral(y: Array, step: float) -> Array:
    sums = np.empty_like(y)
    sums[0] = 0.0
    np.cumsum(0.5 * step * (y[1:] + y[:-1]), out=sums[1:])
    return sums


def free_of(light: Array, known: Known) -> tuple[Array, float]:
    """
    Light less what the fit left free, so that it is zero where it is dark.

    Parameters
    ----------
    light : array, shape (n,)
        From the start of `known` to its stop.
    known : Known
        Where it is constant.

    Returns
    -------
    light, level : array, shape (n,), and float
        And the level of the stretch that is lit; 0 where both are dark.
    """
    at, free, middle = _at_known(light, known)
    values = np.linalg.lstsq(free.T @ free, free.T @ light[at], rcond=None)[
        0
    ]  # two or three columns, centred
    level, slope = float(values[0]), float(values[1])
    flat: Array = light - ((level - slope * middle) + slope * np.arange(len(light)))
    return flat, float(values[2]) - level if known.lit is not None else 0.0


def _at_known(light: Array, known: Known) -> tuple[NDArray[np.int64], Array, float]:
    """Samples at which the light is constant, the free columns there, and the middle they count from."""
    at = np.concatenate([np.arange(len(light))[s] for s in known.stretches])
    middle = float(np.mean(at))
    return at, _free_columns(at - middle, known.left - known.start, known.lit), middle


def seen_through(weight: Array, known: Known) -> Array:
    """
    Weights on light that still holds what the fit leaves free, that give what `weight` gives without it.

    Parameters
    ----------
    weight : array, shape (n,)
        Of a figure that is a weighted sum of `free_of`'s light.
    known : Known
        As there.

    Returns
    -------
    weight : array, shape (n,)
        Of the same figure as a sum of what went in there.
    """
    at, free, middle = _at_known(weight, known)
    away = np.arange(len(weight)) - middle
    taken = np.zeros(free.shape[1])
    taken[:2] = weight.sum(), float(weight @ away)
    out = weight.copy()
    out[at] -= free @ np.linalg.solve(free.T @ free, taken)
    return out
