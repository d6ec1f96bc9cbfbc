"""A measured figure with its uncertainty, and what a formula makes of several: the GUM's first-order rule."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

#: Half the width of an interval that holds about 95 % of a normal spread, in standard uncertainties.
COVERAGE = 2.0
_STEP = 1e-6


@dataclass(frozen=True)
class Measured:
    """
    A figure and its standard uncertainty (k = 1), in the same unit.

    Raises
    ------
    ValueError
        If either is no finite number or the uncertainty is below zero.
    """

    value: float
    u: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.u)) or self.u < 0:
            raise ValueError(
                f"{self.value} with uncertainty {self.u}. Expected numbers, the second not below 0."
            )


@dataclass(frozen=True)
class Outcome:
    """
    What a formula makes of measured figures.

    Attributes
    ----------
    value, u : float
        The figure and its standard uncertainty.
    parts : mapping
        What each input adds to the uncertainty, in the unit of the figure; signs as the figure moves.
    """

    value: float
    u: float
    parts: Mapping[str, float]

    @property
    def measured(self) -> Measured:
        """The figure without its parts."""
        return Measured(self.value, self.u)

    @property
    def relative(self) -> float:
        """The standard uncertainty as a share of the figure."""
        return self.u / abs(self.value)

    @property
    def worst(self) -> str:
        """The input that adds most."""
        return max(self.parts, key=lambda name: abs(self.parts[name]))


def propagated(formula: Callable[..., float], **inputs: Measured) -> Outcome:
    """
    A formula's figure and its uncertainty from independent inputs.

    Parameters
    ----------
    formula : callable
        Takes the inputs by name, as floats, and returns a float; smooth near them.
    **inputs : Measured
        Independent of each other, any unit.

    Returns
    -------
    Outcome
        By JCGM 100:2008, 5.1.2: sensitivities are slopes, here central differences.
    """
    at = {name: one.value for name, one in inputs.items()}
    parts = {}
    for name, one in inputs.items():
        step = _STEP * (abs(one.value) or 1.0)
        slope = (formula(**{**at, name: one.value + step}) - formula(**{**at, name: one.value - step})) / (
            2 * step
        )
        parts[name] = slope * one.u
    return Outcome(formula(**at), math.hypot(*parts.values()), parts)
