"""Simulated meters: what they show at a light is reckoned here from physics, without the analysis."""

import math
from dataclasses import dataclass

import numpy as np


@dataclass
class Bench:
    """Light rising over some levels, then falling over the same."""

    levels: tuple
    both_ways: bool = True

    @property
    def light(self):
        up = np.array(self.levels, dtype=float)
        return np.concatenate([up, up[::-1]]) if self.both_ways else up

    @property
    def way(self):
        up = np.ones(len(self.levels))
        return np.concatenate([up, -up]) if self.both_ways else up


def rounded(values, division):
    """To the nearest mark of a scale."""
    return division * np.round(values / division) if division else values


def leaking(light, knee):
    """Shown by a cell whose weak current is partly lost: of I, the share I / (I + I_0) is seen."""
    return light + np.log2(2.0**light / (2.0**light + 2.0**knee))


def in_series(light, knee):
    """Shown by a meter with a resistance in series: I / (1 + I / I_0)."""
    return light - np.log2(1 + 2.0 ** (light - knee))


def table(light, shown, way=None, decimals=2):
    """The readings as somebody types them."""
    lines = ["reference_ev,shown_ev" + (",direction" if way is not None else "")]
    for i, (true, read) in enumerate(zip(light, shown, strict=True)):
        told = f"{true:g},{read:.{decimals}f}"
        if way is not None:
            told += "," + {1: "up", -1: "down", 0: ""}[int(way[i])]
        lines.append(told)
    return "\n".join(lines) + "\n"


def binomial_bounds(n, low=0.93, high=0.97, sure=0.999):
    """Shares of n cases between which a coverage that truly lies in `low` to `high` stays."""
    from scipy.stats import binom

    tail = (1 - sure) / 2
    return binom.ppf(tail, n, low) / n, binom.ppf(1 - tail, n, high) / n


def is_close(value, other, within):
    return math.isclose(value, other, abs_tol=within)
