"""
Measured values that carry their uncertainty, its degrees of freedom and its budget.

A thin glue over GTC (the GUM Tree Calculator), which does the propagation, the Welch-Satterthwaite formula
and the coverage factors. GTC is loaded on first use: it is slow to import and most of the house never needs
it.

Method: JCGM 100:2008 (GUM), clauses 4, 5 and annex G.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

__all__ = ["Component", "Kind", "Mark", "Measured", "combine", "mean_of", "propagate"]

Kind = Literal["A", "B"]
Mark = Literal["seen", "memory", "practice", ""]


@dataclass(frozen=True)
class Component:
    """
    One line of an uncertainty budget.

    Parameters
    ----------
    name : str
        What contributes, in the field's words ("noise", "clock").
    u : float
        Standard uncertainty it contributes to the result (k = 1), in the unit of the result.
    df : float
        Degrees of freedom, [-]; ``math.inf`` where the figure is taken as known.
    kind : "A" or "B"
        "A" from statistics of the readings, "B" from anything else (GUM 4.2, 4.3).
    note : str
        How the figure came about.
    source : str
        Where an outside figure comes from; empty where it was measured in the record itself.
    mark : "seen", "memory", "practice" or ""
        How well the source is known; empty where there is no outside figure.

    Raises
    ------
    ValueError
        If `u` is negative or not finite, `df` is below 1, or an outside figure lacks its mark.
    """

    name: str
    u: float
    df: float = math.inf
    kind: Kind = "B"
    note: str = ""
    source: str = ""
    mark: Mark = ""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.u) and self.u >= 0):
            raise ValueError(
                f"Component {self.name!r}: the uncertainty must be finite and not negative, not {self.u!r}"
            )
        if not self.df >= 1:
            raise ValueError(
                f"Component {self.name!r}: the degrees of freedom must be at least 1, not {self.df!r}"
            )
        if self.source and not self.mark:
            raise ValueError(
                f"Component {self.name!r}: an outside figure needs a mark: seen, memory or practice"
            )


@dataclass(frozen=True)
class Measured:
    """
    A value, its standard uncertainty (k = 1), degrees of freedom and budget.

    Parameters
    ----------
    value : float
        The estimate, in a unit its owner names.
    u : float
        Standard uncertainty, same unit.
    df : float
        Effective degrees of freedom, [-].
    budget : tuple of Component
        What `u` is made of.

    Raises
    ------
    ValueError
        If `value` is not finite, or `u` or `df` is not possible.
    """

    value: float
    u: float
    df: float = math.inf
    budget: tuple[Component, ...] = ()

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"A measured value must be finite, not {self.value!r}")
        if not (math.isfinite(self.u) and self.u >= 0):
            raise ValueError(f"A standard uncertainty must be finite and not negative, not {self.u!r}")
        if not self.df >= 1:
            raise ValueError(f"Degrees of freedom must be at least 1, not {self.df!r}")

    def coverage_factor(self, probability: float = 0.95) -> float:
        """
        Factor k of Student's t for a two-sided interval (GUM G.3).

        Parameters
        ----------
        probability : float
            Wanted coverage, between 0 and 1, [-].

        Returns
        -------
        factor : float
            k, [-].
        """
        if not 0 < probability < 1:
            raise ValueError(f"A coverage probability lies between 0 and 1, not {probability!r}")
        return float(_gtc().reporting.k_factor(self.df, 100 * probability))

    def coverage_interval(self, probability: float = 0.95) -> tuple[float, float]:
        """
        Symmetric interval that holds the true value with the given probability.

        Parameters
        ----------
        probability : float
            Wanted coverage, between 0 and 1, [-].

        Returns
        -------
        low, high : float
            Ends of the interval, in the unit of the value.
        """
        half_width = self.coverage_factor(probability) * self.u
        return self.value - half_width, self.value + half_width

    def scaled(self, factor: float) -> Measured:
        """
        The same quantity in another unit: value, uncertainty and budget times a known `factor`.

        Parameters
        ----------
        factor : float
            Exact factor, [-].

        Returns
        -------
        measured : Measured
            The value in the new unit.
        """
        budget = tuple(
            Component(c.name, c.u * abs(factor), c.df, c.kind, c.note, c.source, c.mark) for c in self.budget
        )
        return Measured(self.value * factor, self.u * abs(factor), self.df, budget)


def combine(value: float, components: Sequence[Component]) -> Measured:
    """
    A value with independent contributions, each already in the unit of the value.

    Parameters
    ----------
    value : float
        The estimate.
    components : sequence of Component
        Independent contributions.

    Returns
    -------
    measured : Measured
        Root sum of squares and Welch-Satterthwaite degrees of freedom, both by GTC (GUM 5.1.2, G.4).
    """
    if all(math.isinf(c.df) for c in components):
        # nothing for Welch-Satterthwaite to do: the root sum of squares is all there is
        return Measured(float(value), math.hypot(*(c.u for c in components)), math.inf, tuple(components))
    gtc = _gtc()
    total = gtc.ureal(value, 0)
    for c in components:
        if c.u > 0:
            total = total + gtc.ureal(0, c.u, c.df)
    return Measured(float(value), float(total.u), _df_of(total), tuple(components))


def mean_of(readings: Sequence[float], name: str = "repeatability") -> Measured:
    """
    Mean of independent readings with the uncertainty of that mean (type A, GUM 4.2).

    Parameters
    ----------
    readings : sequence of float, shape (n,)
        At least two readings, any unit.
    name : str
        Name of the budget's only component.

    Returns
    -------
    measured : Measured
        Mean, s / sqrt(n), n - 1 degrees of freedom.

    Raises
    ------
    ValueError
        If there are fewer than two readings.
    """
    if len(readings) < 2:
        raise ValueError(f"A spread needs at least two readings, not {len(readings)}")
    estimate = _gtc().type_a.estimate([float(reading) for reading in readings])
    u, df = float(estimate.u), float(len(readings) - 1)
    component = Component(name, u, df, "A", f"standard deviation of the mean of {len(readings)} readings")
    return Measured(float(estimate.x), u, df, (component,))


def propagate(
    function: Callable[..., Any],
    inputs: Mapping[str, Measured],
    correlations: Mapping[tuple[str, str], float] | None = None,
) -> Measured:
    """
    Carry measured inputs through a function (law of propagation of uncertainty, GUM 5.1 and 5.2).

    Parameters
    ----------
    function : callable
        Takes the inputs by name as GTC uncertain numbers (use GTC's own `log`, `cos` ...) and returns one.
    inputs : mapping of str to Measured
        Input quantities by name.
    correlations : mapping of (str, str) to float, optional
        Correlation coefficients between inputs, [-]. Correlated inputs must come from one set of simultaneous
        readings, so they share their degrees of freedom.

    Returns
    -------
    measured : Measured
        Result; each input is one line of the budget.
    """
    gtc = _gtc()
    correlated = sorted({name for pair in correlations or {} for name in pair})
    unknown = [name for name in correlated if name not in inputs]
    if unknown:
        raise ValueError(f"A correlation names an input that is not there: {unknown[0]!r}")
    numbers = {n: gtc.ureal(m.value, m.u, m.df, label=n) for n, m in inputs.items() if n not in correlated}
    if correlated:
        dfs = {inputs[name].df for name in correlated}
        if len(dfs) != 1:
            raise ValueError(
                "Correlated inputs must share their degrees of freedom: one set of simultaneous readings"
            )
        ensemble = gtc.multiple_ureal(
            [inputs[n].value for n in correlated], [inputs[n].u for n in correlated], dfs.pop(), correlated
        )
        numbers.update(zip(correlated, ensemble, strict=True))
        for (first, second), r in (correlations or {}).items():
            gtc.set_correlation(r, numbers[first], numbers[second])
    result = function(**numbers)
    budget = tuple(
        Component(
            name, abs(float(gtc.reporting.u_component(result, numbers[name]))), inputs[name].df, "B", "input"
        )
        for name in inputs
    )
    return Measured(float(result.x), float(result.u), _df_of(result), budget)


def _df_of(number: Any) -> float:
    """Degrees of freedom of a GTC number; infinite where it has no uncertainty at all."""
    df = float(number.df)
    return max(df, 1.0) if math.isfinite(df) else math.inf


def _gtc() -> Any:
    import GTC
    import GTC.reporting
    import GTC.type_a

    return GTC
