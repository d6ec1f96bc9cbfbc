"""
The error of a meter over its range, by weighted regression.

The error is taken as ``a + b x + c x^2 + h d``: x runs from -1 to 1 over the range read, d is one half for
light rising and minus one half for light falling. Which terms there are depends on what was read, not on
what it says. Two things are looked for and, where found, heeded: a bend that no bow follows, and errors that
belong to a level (a filter, a mark of the scale) and not to a reading. Both make the uncertainty larger.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.fitting import Fit, fit_linear
from pegwood.instruments.meter._grouped import Grouped, fit_grouped
from pegwood.instruments.meter.typed import Readings
from pegwood.instruments.uncertainty import Component, Measured

__all__ = ["ErrorFit", "fit_error"]

Array = NDArray[np.float64]

KNOT = 1 / 3
"""Where the bends begin that a bow does not follow, in half-ranges from the middle."""
FEW = 0.6
"""Scatter below so many divisions is fitted as rounded readings; above, rounding is part of the scatter."""
LIKELY_BENT = 0.01
"""A chance below which a bend is not taken for luck."""
LIKELY_LEVELS = 0.25
"""The same for errors that belong to levels; not small, for an error of a filter passed over costs more."""
SURELY_LEVELS = 0.01
USUAL = {"level": math.inf, "slope": 0.3, "bow": 0.2, "way": 0.15}
"""How large each term usually is on a meter, [EV] (practice); of weight only where divisions hide it."""


@dataclass(frozen=True)
class ErrorFit:
    """
    The fitted error.

    Parameters
    ----------
    fit : Fit or Grouped
        The parameters.
    terms : tuple of str
        What each of them is: "level", "slope", "bow", "low bend", "high bend", "way".
    middle, half_range : float
        Middle of the range of light read, and half its width, [EV].
    how : "line", "rounded" or "by levels"
        Which way it was fitted.
    way : Fit or None
        The fit that tells up from down, where it is another than `fit`.
    scatter : float
        Standard deviation of a reading about the fit, rounding included, [EV].
    scatter_df : int
        Its degrees of freedom, [-].
    notes : tuple of str
        How it was reckoned.
    """

    fit: Fit | Grouped
    terms: tuple[str, ...]
    middle: float
    half_range: float
    how: str
    scatter: float
    scatter_df: int
    way: Fit | None = None
    notes: tuple[str, ...] = ()

    def row(self, ev: float) -> Array:
        """The parameters' factors for the error at a level, up and down taken together, shape (p,)."""
        x = 0.0 if self.half_range == 0 else (ev - self.middle) / self.half_range
        row: Array = _columns(np.array([x]), np.zeros(1), self.terms)[0]
        return row

    def at(self, ev: float, more: Sequence[Component] = ()) -> Measured:
        """
        The error at a level.

        Parameters
        ----------
        ev : float
            The light, [EV].
        more : sequence of Component, optional
            What else is uncertain about it, [EV].

        Returns
        -------
        error : Measured
            Shown less true, [EV].
        """
        return self.fit.of(self.row(ev), "readings", more)

    def curve(self, ev: Array) -> Array:
        """
        The fitted error, without its uncertainty.

        Parameters
        ----------
        ev : array, shape (n,)
            The light, [EV].

        Returns
        -------
        error : array, shape (n,)
            Shown less true, [EV].
        """
        return np.array([float(self.row(float(one)) @ self.fit.values) for one in ev])

    def slope(self, more: Sequence[Component] = ()) -> Measured | None:
        """EV shown per EV true, less one, of the best line through the fit, [EV/EV]; None at one level."""
        if "slope" not in self.terms:
            return None
        grid = np.linspace(-1, 1, 2001)
        columns = _columns(grid, np.zeros(grid.size), self.terms)
        return self.fit.of(grid @ columns / (grid @ grid) / self.half_range, "readings", more)

    def bow(self) -> Measured | None:
        """Error at the ends less that in the middle, [EV]; None where it wasn't fitted."""
        if "bow" not in self.terms:
            return None
        ends = (_columns(np.array([-1.0, 1.0]), np.zeros(2), self.terms)).mean(axis=0)
        return self.fit.of(ends - _columns(np.zeros(1), np.zeros(1), self.terms)[0], "readings")

    def hysteresis(self) -> Measured | None:
        """Shown with the light rising less falling, [EV]; None where the ways weren't told."""
        if "way" not in self.terms:
            return None
        return (self.way or self.fit).of([float(term == "way") for term in self.terms], "readings")

    def __post_init__(self) -> None:
        if self.way is not None and self.way.values.size != len(self.terms):
            raise ValueError("up and down are told by a fit with the same terms")


def fit_error(readings: Readings, terms: tuple[str, ...] | None = None) -> ErrorFit | None:
    """
    Fit the error over the range.

    Parameters
    ----------
    readings : Readings
        As typed.
    terms : tuple of str, optional
        What to fit, and nothing beyond it; found from what was read if not given.

    Returns
    -------
    fit : ErrorFit or None
        None where there are too few readings for any.
    """
    true = readings.reference
    levels = np.unique(np.round(true, 6)).size
    middle, half = float(true.max() + true.min()) / 2, float(true.max() - true.min()) / 2
    told = terms is not None
    terms = terms or _terms(true.size, levels, not readings.one_way)
    if true.size <= len(terms):
        return None
    x = (true - middle) / half if levels > 1 else np.zeros(true.size)
    way = readings.direction / 2
    design = _columns(x, way, terms)
    error = readings.error
    fit = fit_linear(design, error)
    uneven = readings.division.max() - readings.division.min() > 1e-9
    if readings.division.max() > 0 and (uneven or fit.residual_sd < FEW * readings.division.max()):
        grouped = fit_grouped(design, error, readings.division, np.array([USUAL[term] for term in terms]))
        if grouped is not None:
            note = "Divisions are coarse against the scatter: each reading counts as anywhere within its own."
            return ErrorFit(grouped, terms, middle, half, "rounded", fit.residual_sd, fit.df, notes=(note,))
        return _widened(fit, terms, middle, half, float(readings.division.max()))
    notes: list[str] = []
    if told:
        return ErrorFit(fit, terms, middle, half, "line", fit.residual_sd, fit.df)
    by_levels, luck = _by_levels(design, error, true, terms, fit)
    if levels >= 7 and "bow" in terms and fit.df >= 5:
        bent_terms = (*terms[:3], "low bend", "high bend", *terms[3:])
        bent_design = _columns(x, way, bent_terms)
        bent = fit_linear(bent_design, error)
        # where levels are off by themselves, readings at one level are no further witnesses of a bend
        plain, bowed = (fit, bent)
        if by_levels is not None and levels >= 9:
            inner = _inner(design, error, true, terms)
            plain, bowed = (
                _outer(one, error, true, its, inner)
                for one, its in ((design, terms), (bent_design, bent_terms))
            )
        if _better(plain, bowed) < LIKELY_BENT:
            fit, terms, design = bent, bent_terms, bent_design
            notes.append("The error bends more at an end than a bow does; the fit follows it.")
            by_levels, luck = _by_levels(design, error, true, terms, fit)
    if by_levels is not None:
        notes.append("Readings at one level agree better than the levels do: filters or marks of the "
                     "scale are off by "
                     "themselves, so each level counts once.")  # fmt: skip
        return ErrorFit(
            by_levels, terms, middle, half, "by levels", fit.residual_sd, fit.df,
            # only where levels surely differ: readings that agree within a level by luck would tell too much
            _within(design, error, true, terms) if luck < SURELY_LEVELS else fit, tuple(notes),
        )  # fmt: skip
    return ErrorFit(fit, terms, middle, half, "line", fit.residual_sd, fit.df, notes=tuple(notes))


def _terms(n: int, levels: int, both_ways: bool) -> tuple[str, ...]:
    """What can be told from so many readings at so many levels."""
    way = ("way",) if both_ways else ()
    if levels == 1:
        return ("level", *way)
    line = ("level", "slope")
    if levels >= 3 and n - len(line) - len(way) - 1 >= 2 and levels + bool(way) >= 4:
        return (*line, "bow", *way)
    return (*line, *way)


def _columns(x: Array, way: Array, terms: Sequence[str]) -> Array:
    known = {
        "level": np.ones_like(x),
        "slope": x,
        "bow": x**2,
        "low bend": np.maximum(0, -x - KNOT) ** 2,
        "high bend": np.maximum(0, x - KNOT) ** 2,
        "way": way,
    }
    return np.column_stack([known[term] for term in terms])


def _better(fit: Fit, fuller: Fit) -> float:
    """Chance that a fuller fit is better by luck alone (F test)."""
    from scipy.stats import f

    rest = fuller.residual_sd**2 * fuller.df
    if rest == 0:
        return 1.0
    more = fit.df - fuller.df
    return float(
        f.sf(max(fit.residual_sd**2 * fit.df - rest, 0) / more / (rest / fuller.df), more, fuller.df)
    )


def _groups(true: Array) -> Array:
    """Which level each reading belongs to, shape (n, n_levels)."""
    _, place = np.unique(np.round(true, 6), return_inverse=True)
    return np.asarray(np.eye(place.max() + 1)[place], dtype=float)


def _within(design: Array, error: Array, true: Array, terms: tuple[str, ...]) -> Fit | None:
    """Up against down within each level; what belongs to a level falls out. As many parameters as `terms`."""
    if "way" not in terms:
        return None
    place = terms.index("way")
    inner = _inner(design, error, true, terms)
    values, cover = np.zeros(len(terms)), np.zeros((len(terms), len(terms)))
    values[place], cover[place, place] = inner.values[0], inner.covariance[0, 0]
    return Fit(values, cover, inner.df, inner.residual_sd, inner.residuals, inner.leverage)


def _inner(design: Array, error: Array, true: Array, terms: tuple[str, ...]) -> Fit:
    """Up against down within each level, every level with a height of its own."""
    way = [design[:, terms.index("way")]] if "way" in terms else []
    return fit_linear(np.column_stack([*way, _groups(true)]), error)


def _outer(design: Array, error: Array, true: Array, terms: tuple[str, ...], inner: Fit) -> Fit:
    """The means of the levels, up and down made alike, fitted with all terms but the way."""
    groups = _groups(true)
    counts = groups.sum(axis=0)
    own = [i for i, term in enumerate(terms) if term != "way"]
    apart = inner.values[0] * design[:, terms.index("way")] if "way" in terms else 0
    rows = (groups.T @ design / counts[:, None])[:, own]
    return fit_linear(rows, groups.T @ (error - apart) / counts)


def _by_levels(
    design: Array, error: Array, true: Array, terms: tuple[str, ...], fit: Fit
) -> tuple[Fit | None, float]:
    """The fit with each level counted once, where levels scatter more than readings; and the luck in it."""
    n, n_levels = _groups(true).shape
    own = [i for i, term in enumerate(terms) if term != "way"]
    if n_levels < len(own) + 2 or n < n_levels + ("way" in terms) + 2:
        return None, 1.0
    inner = _inner(design, error, true, terms)
    luck = 1.0 if inner.residual_sd == 0 else _better(fit, inner)
    if luck >= LIKELY_LEVELS:
        return None, luck
    outer = _outer(design, error, true, terms, inner)
    values, cover = np.zeros(len(terms)), np.zeros((len(terms), len(terms)))
    values[own], cover[np.ix_(own, own)] = outer.values, outer.covariance
    if "way" in terms:
        values[terms.index("way")] = inner.values[0]
    return Fit(values, cover, outer.df, outer.residual_sd, error - design @ values, fit.leverage), luck


def _widened(fit: Fit, terms: tuple[str, ...], middle: float, half: float, division: float) -> ErrorFit:
    """Where the likelihood could not be drawn: the scatter no smaller than rounding alone may make it."""
    wide = math.hypot(fit.residual_sd, division / math.sqrt(12) * math.sqrt(2))
    cover = fit.covariance * (wide / fit.residual_sd) ** 2 if fit.residual_sd else fit.covariance
    note = "The divisions are coarse against the scatter; the uncertainty is widened for it."
    safe = Fit(fit.values, cover, fit.df, wide, fit.residuals, fit.leverage)
    return ErrorFit(safe, terms, middle, half, "rounded", fit.residual_sd, fit.df, notes=(note,))
