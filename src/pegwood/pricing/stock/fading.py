"""
A part that gets worse on the shelf: a selenium cell, a battery, a rubber roller.

From what was measured of it on several days: it loses the same share each year (an exponential; an
assumption, as two or three readings can tell no other shape). With one reading nothing can be said of the
future, and nothing is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats


class CannotTell(ValueError):
    """What was measured does not tell how it fades: the message says why and what would."""


@dataclass(frozen=True)
class Reading:
    """
    What was measured of a part.

    Parameters
    ----------
    years : float
        When, [years] from any one day.
    value, u : float
        In one unit, above 0; `u` is the standard uncertainty, k = 1.
    """

    years: float
    value: float
    u: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(one) for one in (self.years, self.value, self.u)):
            raise ValueError("a reading is plain numbers.")
        if not (self.value > 0 and self.u > 0):
            raise ValueError("what is measured of a part, and its uncertainty, are above 0.")


@dataclass(frozen=True)
class Fading:
    """
    How a part fades: ln(value) falls on a line.

    Attributes
    ----------
    per_year, u_per_year : float
        Share lost in a year, [1]: a year later 1 - that of it is left; its standard uncertainty.
    mean : tuple of float
        ln(value) at `at`, and by how much it falls in a year.
    spread : tuple of tuple of float
        Variances and covariance of these two.
    at : float
        [years]
    """

    per_year: float
    u_per_year: float
    mean: tuple[float, float]
    spread: tuple[tuple[float, float], tuple[float, float]]
    at: float

    def _log(self, years: float) -> tuple[float, float]:
        since = years - self.at
        (var, cov), (_, var_fall) = self.spread
        # rounding may leave less than nothing where all hangs on one reading
        spread = max(var - 2 * since * cov + since**2 * var_fall, 0.0)
        return self.mean[0] - since * self.mean[1], math.sqrt(spread)

    def value(self, years: float) -> tuple[float, float]:
        """What is left then, and its standard uncertainty, in the unit of the readings."""
        log, u = self._log(years)
        return math.exp(log), math.exp(log) * u

    def still_good(self, years: float, least: float) -> float:
        """Chance that it is then still `least` or more, [1]."""
        if not least > 0:
            raise ValueError(f"the least that is of use is {least:g}. Expected above 0.")
        log, u = self._log(years)
        if u == 0:
            return float(log >= math.log(least))
        return float(stats.norm.sf((math.log(least) - log) / u))


def fading_of(readings: Sequence[Reading]) -> Fading:
    """
    How a part fades, from readings of it.

    Weighted least squares of ln(value) on time, each reading weighed by its own uncertainty (GUM; any text on
    straight-line fits). With two readings that is the line through both.

    Raises
    ------
    CannotTell
        If all readings are of one day, or scatter about the line more than their uncertainties allow.
    """
    years = np.array([one.years for one in readings], dtype=np.float64)
    if len(readings) < 2 or np.ptp(years) < 1 / 365:
        raise CannotTell("Measured on one day only. Measure it again in some months to see how it fades.")
    u = np.array([one.u / one.value for one in readings])
    logs = np.log([one.value for one in readings])
    weights = 1 / u**2
    at = float(weights @ years / weights.sum())
    since = years - at
    about = float(weights @ since**2)
    fall = -float(weights @ (since * logs)) / about
    log = float(weights @ logs / weights.sum())
    scatter = float(weights @ (logs - log + fall * since) ** 2)
    if len(readings) > 2 and stats.chi2.sf(scatter, len(readings) - 2) < 0.01:
        raise CannotTell(
            "The readings scatter more than their uncertainties allow, or it does not fade evenly. "
            "Look at how it was measured."
        )
    return Fading(
        per_year=1 - math.exp(-fall),
        u_per_year=math.exp(-fall) / math.sqrt(about),
        mean=(log, fall),
        spread=((1 / float(weights.sum()), 0.0), (0.0, 1 / about)),
        at=at,
    )
