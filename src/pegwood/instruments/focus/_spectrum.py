"""
From the edge's profile to its modulation transfer.

The slope of the profile is the line-spread function. Far out it has to be cut off by a window, which changes
its transform: a perfect lens's line spreads as 1/x^2, and 1/100 of it lies beyond ten pixels even of a sharp
picture. So a plain two-figure form, ``exp(-a f - b f^2)`` times the pixel's own, is seen through the same
window, and what the window does to that is undone. The form serves for nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.focus._spline import Knots, basis

__all__ = ["Through", "crossing"]

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Through:
    """
    How a profile's coefficients become a spectrum, for one window and one set of frequencies.

    Parameters
    ----------
    knots : Knots
        Of the profile.
    half_window : float
        Where the window ends, [pixel].
    f50 : float
        About where half the modulation is left, [cycles/pixel].
    degrees : float
        Angle of the edge's normal to a side of the pixels, [degree].
    """

    knots: Knots
    half_window: float
    f50: float
    degrees: float

    @cached_property
    def f(self) -> Array:
        """Frequencies, [cycles/pixel]; the first is zero."""
        return np.linspace(0, min(2.2 * self.f50, 0.95), 56)

    @cached_property
    def _x(self) -> Array:
        n = int(np.ceil(2 * self.half_window / self.knots.spacing * 6))
        return (np.arange(n) + 0.5) / n * 2 * self.half_window - self.half_window

    @cached_property
    def _window(self) -> Array:
        """Flat in the middle half, then half a cosine down to nothing."""
        far = np.clip(2 * np.abs(self._x) / self.half_window - 1, 0, 1)
        window: Array = 0.5 + 0.5 * np.cos(np.pi * far)
        return window

    @cached_property
    def matrix(self) -> Complex:
        """Spectrum per coefficient, shape (n_f, size)."""
        first, s = self.knots.place(self._x)
        slopes = basis(s, derivative=True) / self.knots.spacing
        rows = np.zeros((len(self._x), self.knots.size))
        at = np.arange(len(self._x))
        for i in range(4):
            rows[at, first + i] += slopes[i]
        wave = np.exp(-2j * np.pi * np.outer(self.f, self._x)) * self._window
        out: Complex = wave @ rows * (self._x[1] - self._x[0])
        return out

    @cached_property
    def _g(self) -> Array:
        """Frequencies the form is drawn at."""
        step = 1 / (8 * self.half_window)
        return np.arange(0.5, min(8 * self.f50, 4.0) / step) * step

    @cached_property
    def _seen(self) -> Array:
        """What the window makes of a modulation at `_g`, seen at `f`."""
        line = np.cos(2 * np.pi * np.outer(self._x, self._g)) * 2 * (self._g[1] - self._g[0])
        wave = np.cos(2 * np.pi * np.outer(self.f, self._x)) * self._window
        seen: Array = wave @ line * (self._x[1] - self._x[0])
        return seen

    def pixel(self, f: Array) -> Array:
        """The square pixel's own modulation along the edge's normal."""
        turn = np.deg2rad(self.degrees)
        own: Array = np.sinc(f * np.cos(turn)) * np.sinc(f * np.sin(turn))
        return own

    def form(self, f: Array, ab: Array) -> Array:
        """The two-figure form; `ab` in units of `f50`."""
        r = f / self.f50
        x = np.clip(ab[0] * r, 0, 1)
        lens = (2 / np.pi) * (np.arccos(x) - x * np.sqrt(1 - x * x))
        shape: Array = lens * np.exp(-ab[1] * r * r) * self.pixel(f)
        return shape

    def fitted(self, spectrum: Array, start: Array | None = None, steps: int = 30) -> Array:
        """
        The form that looks most like a spectrum, both through the window.

        Parameters
        ----------
        spectrum : array, shape (n_f,)
            Modulus, one at zero.

        Returns
        -------
        ab : array, shape (2,)
        """
        ab = np.array([0.1, 0.5]) if start is None else start.copy()
        use = slice(1, max(int(np.argmax(spectrum < 0.4)), 12))
        for _ in range(steps):
            base = self._through(ab)
            grad = np.stack([(self._through(ab + e) - base) / 1e-5 for e in 1e-5 * np.eye(2)], axis=1)
            step = np.linalg.lstsq(grad[use], (spectrum - base)[use], rcond=None)[0]
            new = np.clip(ab + np.clip(step, -0.4, 0.4), [0.0, -0.5], [1.0, 6.0])
            if new[0] == 0 and ab[0] == 0:  # the other alone
                g = grad[use, 1]
                new[1] = np.clip(ab[1] + g @ (spectrum - base)[use] / (g @ g), -0.5, 6.0)
            done = np.abs(new - ab).max() < 1e-5
            ab = new
            if done:
                break
        return ab

    def profile(self, ab: Array, x: Array) -> Array:
        """The profile of an edge that the form makes, 0 to 1, by the sine transform."""
        far = np.linspace(0, 3.5 * self.half_window, 700)
        weight = self.form(self._g, ab) / self._g * (self._g[1] - self._g[0]) / np.pi
        half = np.sin(2 * np.pi * np.outer(far, self._g)) @ weight
        out: Array = 0.5 + np.sign(x) * np.interp(np.abs(x), far, half)
        return out

    def _through(self, ab: Array) -> Array:
        seen = self._seen @ self.form(self._g, ab)
        whole: Array = seen / seen[0]
        return whole

    def undone(self, spectrum: Array, ab: Array) -> Array:
        """A spectrum with the window's doing undone, as far as the form tells it."""
        out: Array = spectrum * self.form(self.f, ab) / self._through(ab)
        return out


def crossing(f: Array, mtf: Array, level: float = 0.5) -> float | None:
    """
    Where a modulation first falls to a level.

    Parameters
    ----------
    f, mtf : array, shape (n,)
        Frequencies and modulation.
    level : float
        [-].

    Returns
    -------
    at : float or None
        By a parabola through what lies about it, which averages noise; None if it never falls so low.
    """
    below = np.flatnonzero(mtf < level)
    if not len(below) or below[0] == 0:
        return None
    k = int(below[0])
    rough = f[k - 1] + (f[k] - f[k - 1]) * (mtf[k - 1] - level) / max(mtf[k - 1] - mtf[k], 1e-12)
    near = np.abs(f - rough) < 0.15 * rough
    if near.sum() < 5:
        return float(rough)
    fit = np.polynomial.Polynomial.fit(f[near], mtf[near] - level, 2)
    roots = fit.roots()
    real = roots[np.abs(roots.imag) < 1e-12].real
    real = real[np.abs(real - rough) < 0.15 * rough]
    return float(real[np.argmin(np.abs(real - rough))]) if len(real) else float(rough)
