"""Whether things told as 30 % came true three times in ten: reliability by bins, and what follows from it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.intervals import LEVEL, Interval, exact_interval
from pegwood.causes.scoring.scores import FEW, Floats, Prediction, arrays


@dataclass(frozen=True, kw_only=True)
class Bin:
    """
    Predictions of about one chance.

    Attributes
    ----------
    low, high : float
        The bin, with its lower end, [1]; the last has its upper end too.
    n, came : int
        How many there were, and how many were so.
    told : float
        Mean of the chances told, [1].
    share : float
        How often it was so, [1].
    interval : (float, float)
        Clopper-Pearson, 90 %, as though each prediction stood alone.
    """

    low: float
    high: float
    n: int
    came: int
    told: float
    share: float
    interval: Interval

    @property
    def agrees(self) -> bool:
        """Whether the interval holds what was told."""
        return self.interval[0] <= self.told <= self.interval[1]


@dataclass(frozen=True, kw_only=True)
class Reliability:
    """
    Reliability by bins; empty bins are left out.

    Attributes
    ----------
    bins : tuple of Bin
    ece : float
        Expected calibration error: mean of |told - share| weighted by n, [1].
    ece_l2 : float
        Root of the weighted mean square, [1].
    worst : float
        Largest |told - share|, [1].
    n : int
    """

    bins: tuple[Bin, ...]
    ece: float
    ece_l2: float
    worst: float
    n: int

    @property
    def is_few(self) -> bool:
        """Whether there are too few for more than a hint."""
        return self.n < FEW

    @property
    def says(self) -> str:
        """For a person."""
        found = f"Chances were off by {100 * self.ece:.1f} points on the mean over {self.n}"
        off = [one for one in self.bins if not one.agrees]
        if self.is_few:
            return f"{found}; under about {FEW} this is mostly noise."
        if not off:
            return f"{found}; every bin holds what was told."
        worst = max(off, key=lambda one: abs(one.told - one.share))
        return (
            f"{found}; what was told as {100 * worst.told:.0f} % came {worst.came} times in {worst.n}, "
            f"{'too seldom' if worst.share < worst.told else 'too often'}."
        )


@dataclass(frozen=True, kw_only=True)
class Split:
    """
    Murphy's split of the Brier score: brier = reliability - resolution + uncertainty + within.

    Attributes
    ----------
    reliability : float
        How far what came lies from what was told; smaller is better.
    resolution : float
        How far apart the bins' shares lie; larger is better.
    uncertainty : float
        What the world makes it: base (1 - base).
    within : float
        What the spread of chances inside the bins adds; 0 where each bin holds one chance only.
    """

    reliability: float
    resolution: float
    uncertainty: float
    within: float

    @property
    def brier(self) -> float:
        """The Brier score, put together again."""
        return self.reliability - self.resolution + self.uncertainty + self.within


def reliability(predictions: Iterable[Prediction], bins: int = 10, level: float = LEVEL) -> Reliability:
    """
    Reliability in bins of one width.

    Raises
    ------
    ValueError
        If there is no prediction, or fewer than one bin.
    """
    chance, was = arrays(predictions)
    edges, where = _binned(chance, bins)
    found = []
    for one in np.unique(where):
        here = where == one
        n, came = int(here.sum()), int(was[here].sum())
        found.append(
            Bin(
                low=float(edges[one]),
                high=float(edges[one + 1]),
                n=n,
                came=came,
                told=float(chance[here].mean()),
                share=came / n,
                interval=exact_interval(came, n, level),
            )
        )
    gaps = np.array([abs(one.told - one.share) for one in found])
    weights = np.array([one.n for one in found]) / len(chance)
    return Reliability(
        bins=tuple(found),
        ece=float(weights @ gaps),
        ece_l2=math.sqrt(float(weights @ gaps**2)),
        worst=float(gaps.max()),
        n=len(chance),
    )


def murphy_split(predictions: Iterable[Prediction], bins: int | None = None) -> Split:
    """
    Reliability, resolution and uncertainty (Murphy 1973), and what bins add (Stephenson, Coelho and Jolliffe
    2008); memory.

    Parameters
    ----------
    predictions : iterable of Prediction
    bins : int, optional
        Without: each distinct chance is a bin of its own.
    """
    chance, was = arrays(predictions)
    where = np.unique(chance, return_inverse=True)[1] if bins is None else _binned(chance, bins)[1]
    base = float(was.mean())
    terms: list[Sequence[float]] = []
    for one in np.unique(where):
        here = where == one
        told, share = chance[here], float(was[here].mean())
        mean = float(told.mean())
        inside = float(((told - mean) ** 2).sum() - 2 * ((told - mean) * (was[here] - share)).sum())
        n = int(here.sum())
        terms.append((n * (mean - share) ** 2, n * (share - base) ** 2, inside))
    of, apart, inside = (math.fsum(column) / len(chance) for column in zip(*terms, strict=True))
    return Split(reliability=of, resolution=apart, uncertainty=base * (1 - base), within=inside)


def _binned(chance: Floats, bins: int) -> tuple[Floats, NDArray[np.intp]]:
    """Edges, and the bin of each chance; a chance on an edge is in the bin above it."""
    if bins < 1:
        raise ValueError(f"{bins} bins cannot be. Expected one or more.")
    above = np.floor(chance * bins + 1e-9).astype(np.intp)  # 0.6 is on its edge though 0.6 * 5 may fall short
    return np.arange(bins + 1) / bins, np.minimum(above, bins - 1)
