"""
Brier and log score of chances that were told before the truth was known.

Only what was found to be there or not to be there can be scored. Where a repairer looks mostly at what is
likely, unlikely faults are scored too seldom: the score is of what was looked at. Faults of one job hang
together, so many faults of few jobs say less than their number.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import entr

Floats = NDArray[np.float64]
#: A chance told as nearer to 0 or 1 than this counts as this in the log score, which else could be infinite.
CLIP = 1e-6
#: Below so many predictions a calibration error is mostly noise.
FEW = 200


@dataclass(frozen=True)
class Prediction:
    """A chance that was told, [1], and whether it was so; `job` tells the jobs apart, empty for unknown."""

    chance: float
    was: bool
    job: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.chance <= 1:  # refuses NaN too
            raise ValueError(f"a chance of {self.chance:g} cannot be. Expected 0 to 1.")


@dataclass(frozen=True, kw_only=True)
class Scores:
    """
    How good predictions were.

    Attributes
    ----------
    n, jobs : int
        How many predictions, and of how many jobs they are known to be.
    brier : float
        Mean squared difference, [1]: 0 is perfect, 0.25 is a coin.
    log : float
        Mean of -ln(chance of what was so), [nat].
    clipped : int
        How many were told as surer than `CLIP` and were wrong: their log score would be infinite, or nearly.
    base : float
        How often it was so, [1].
    brier_of_base : float
        The Brier score of one who always tells `base`, afterwards; a better one has learned something.
    z : float
        Of `calibration_z`; NaN where every chance was 0, 1/2 or 1.
    """

    n: int
    jobs: int
    brier: float
    log: float
    clipped: int
    base: float
    brier_of_base: float
    z: float

    @property
    def log_of_base(self) -> float:
        """The log score of one who always tells `base`, afterwards, [nat]: the entropy of `base`."""
        return float(entr(self.base) + entr(1 - self.base))

    @property
    def is_few(self) -> bool:
        """Whether there are too few for more than a hint."""
        return self.n < FEW

    @property
    def says(self) -> str:
        """For a person."""
        found = f"Brier score {self.brier:.3f} over {self.n} chances; always telling the mean gives "
        found += f"{self.brier_of_base:.3f}. Log score {self.log:.3f}."
        if self.clipped:
            found += f" {self.clipped} held certain came out the other way."
        if self.is_few:
            found += f" Under about {FEW} this is mostly noise."
        return found


def scores(predictions: Iterable[Prediction], clip: float = CLIP) -> Scores:
    """
    Brier score (Brier 1950) and log score (Good 1952) of predictions (memory).

    Raises
    ------
    ValueError
        If there are none, or `clip` is not above 0 and below 1/2.
    """
    if not 0 < clip < 0.5:
        raise ValueError(f"clip is {clip:g}. Expected above 0, below 0.5.")
    told = list(predictions)
    chance, was = arrays(told)
    of_truth = np.where(was == 1, chance, 1 - chance)
    base = float(was.mean())
    return Scores(
        n=len(told),
        jobs=len({one.job for one in told if one.job}),
        brier=float(np.mean((chance - was) ** 2)),
        log=float(-np.log(np.clip(of_truth, clip, 1 - clip)).mean()),
        clipped=int(np.sum(of_truth < clip)),
        base=base,
        brier_of_base=base * (1 - base),
        z=calibration_z(told),
    )


def calibration_z(predictions: Iterable[Prediction]) -> float:
    """
    How many standard deviations the Brier score lies above what it should be if the chances were right.

    Spiegelhalter 1986, as Rufibach prints it (J. Clin. Epidemiol. 63, 2010, 938; seen): sum (x-p)(1-2p) over
    the root of sum (1-2p)^2 p(1-p). Beyond 2 either way the chances are not right. NaN where nothing
    can vary.
    """
    chance, was = arrays(predictions)
    lever = 1 - 2 * chance
    spread = math.sqrt(float((lever**2 * chance * (1 - chance)).sum()))
    return float(((was - chance) * lever).sum()) / spread if spread > 0 else math.nan


def brier_of_answers(chances: Sequence[Sequence[float]], came: Sequence[int]) -> float:
    """
    Mean over questions of the squared differences summed over a question's answers, not halved.

    Parameters
    ----------
    chances : sequence of sequence of float
        Of each answer, [1]; questions may have different numbers of answers.
    came : sequence of int
        Which answer came.

    Raises
    ------
    ValueError
        If there are none, or an answer is none of its question's.
    """
    if not chances or len(chances) != len(came):
        raise ValueError(
            f"{len(came)} answers came to {len(chances)} questions. Expected one each, one or more."
        )
    total = 0.0
    for told, which in zip(chances, came, strict=True):
        if not 0 <= which < len(told):
            raise ValueError(f"answer {which} came to a question of {len(told)} answers.")
        total += math.fsum((chance - (n == which)) ** 2 for n, chance in enumerate(told))
    return total / len(came)


def arrays(predictions: Iterable[Prediction]) -> tuple[Floats, Floats]:
    """Chances and outcomes, both of shape (n,)."""
    told = list(predictions)
    if not told:
        raise ValueError(
            "there is nothing to score yet: no chance that was told has been found right or wrong."
        )
    return np.array([one.chance for one in told]), np.array([float(one.was) for one in told])
