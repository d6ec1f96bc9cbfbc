"""Whether a firing belongs to the others of its marked speed. It only says so; a person decides."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.given import table_beside
from pegwood.instruments.shutter._group import SHARED, summarise
from pegwood.instruments.shutter.results import Shot, Summary
from pegwood.instruments.verdicts import Limit

__all__ = ["Doubt", "doubts", "group_of", "robust_spread"]

_FEWEST = 3
_RULES = table_beside(__package__, "belonging.toml")


@dataclass(frozen=True)
class Doubt:
    """
    Why a firing may not belong to its group.

    Parameters
    ----------
    kind : "first firing", "misfire" or "bounce"
        Short name.
    says : str
        One line for a person.
    """

    kind: Literal["first firing", "misfire", "bounce"]
    says: str


def doubts(shots: Sequence[Shot]) -> list[tuple[Doubt, ...]]:
    """
    What stands against each firing of one marked speed.

    A firing is held against the median of the others, in EV, by Student's t: their spread (median absolute
    deviation) pooled with what a shutter in order repeats within, and the firing's own uncertainty.

    Parameters
    ----------
    shots : sequence of Shot
        In order of time, one for each firing.

    Returns
    -------
    found : list of tuple of Doubt
        One for each shot; empty where nothing stands against it.
    """
    stops = np.array([math.log2(shot.effective.value) for shot in shots])
    own = np.array([_own_ev(shot) for shot in shots])
    found = []
    for i, shot in enumerate(shots):
        against: list[Doubt] = []
        if len(shots) >= _FEWEST:
            against.extend(_far(i, stops, own))
        if shot.bounce:
            extra = shot.bounce_extra_s / shot.effective.value
            against.append(
                Doubt(
                    "bounce",
                    f"The blades reopen after closing; that adds {100 * extra:.2g} % of the exposure.",
                )
            )
        found.append(tuple(against))
    return found


def group_of(shots: Sequence[Shot], target_s: float | None, limit: Limit | None) -> Summary:
    """
    Firings of one marked speed, one shot each, taken as one group, as the analysis of a recording does.

    Parameters
    ----------
    shots : sequence of Shot
        In order of time.
    target_s : float or None
        Time the marking stands for, [s].
    limit : Limit or None
        The workshop's limit.

    Returns
    -------
    summary : Summary
        Empty where there is no shot.
    """
    return summarise([[shot] for shot in shots], target_s, limit)


def robust_spread(values: NDArray[np.float64]) -> float:
    """
    Standard deviation of a few normal values, by their median absolute deviation.

    Parameters
    ----------
    values : array, shape (n,)
        At least two.

    Returns
    -------
    spread : float
        In the unit of the values.
    """
    n = len(values)
    few = _RULES["spread_of_few"]
    factor = few["factor"][n - 2] if n - 2 < len(few["factor"]) else n / (n - few["more"])
    return float(1.4826 * factor * np.median(np.abs(values - np.median(values))))


def _far(i: int, stops: NDArray[np.float64], own: NDArray[np.float64]) -> list[Doubt]:
    from scipy.stats import t as student

    rule = _RULES["scatter"]
    others = np.delete(stops, i)
    n = len(others)
    df = rule["df"] + n - 1
    pooled = (rule["df"] * rule["ev"] ** 2 + (n - 1) * robust_spread(others) ** 2) / df
    noise = own[i] ** 2 + float(np.mean(np.delete(own, i) ** 2)) / n
    u = math.sqrt(pooled * (1 + _RULES["median"]["variance_ratio"] / n) + noise)
    away = float(stops[i] - np.median(others))
    chance = 2 * float(student.sf(abs(away) / u, df))
    if chance >= rule["flagged_below"]:
        return []
    side = "longer" if away > 0 else "shorter"
    by_chance = "less than once in 1000" if chance < 1e-3 else f"about once in {round(1 / chance)}"
    far = f"{abs(away):.2f} EV {side} than the middle of the other {n}; by chance {by_chance}"
    if i == 0:
        return [Doubt("first firing", f"The first firing is {far}: a shutter that has rested, or a misfire.")]
    return [Doubt("misfire", f"{far[0].upper()}{far[1:]}. Fire again and look.")]


def _own_ev(shot: Shot) -> float:
    """Uncertainty that is drawn anew at every firing, [EV]."""
    variance = sum(c.u**2 for c in shot.effective.budget if c.name not in SHARED)
    return math.sqrt(variance) / (shot.effective.value * math.log(2))
