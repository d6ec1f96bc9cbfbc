"""
Whether the answers that came were more surprising than they should be if the knowledge were right.

Each answer is held against the chances it had just before it was given. What comes then must not surprise
more often than those very chances say, whatever was asked and however the asking followed the answers:
sequential monitors, after Dawid 1984 and Cowell, Dawid and Spiegelhalter 1993 (memory). Two are kept:

- the sum of -ln(chance of what came) against its own expectation, variance and skewness: normal for many
  answers (a martingale's central limit theorem), and leaning to the right for few, for which the tail of the
  gamma distribution with those three moments is taken (Pearson's type III; memory);
- how many answers came of which the chance was below `RARE`, against the distribution of that number were
  the answers independent, each with its chance (Poisson-binomial), for few as well. The chances follow what
  was answered before, so this is near, not exact: the expected number holds all the same (a martingale).

An answer without a word of its own ("sort of", "don't know", an instrument's reading) has no place here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc, ndtr

Floats = NDArray[np.float64]
#: An answer of which the chance was below this is a surprise, [1].
RARE = 0.01
#: The two monitors together warn of sound knowledge about this often, [1].
FALSE_ALARM = 0.01


@dataclass(frozen=True, kw_only=True)
class Answered:
    """
    An answer that came.

    Attributes
    ----------
    sign : str
    chances : tuple of float
        Of each of its answers just before, [1].
    came : int
        Which one came.
    """

    sign: str
    chances: tuple[float, ...]
    came: int

    def __post_init__(self) -> None:
        if not all(0 <= one <= 1 for one in self.chances) or abs(math.fsum(self.chances) - 1) > 1e-6:
            raise ValueError(f"{self.sign!r}: the chances are from 0 to 1 and come to 1 together.")
        if not 0 <= self.came < len(self.chances):
            raise ValueError(f"{self.sign!r} has {len(self.chances)} answers, and answer {self.came} came.")

    @property
    def chance(self) -> float:
        """Of what came, [1]."""
        return self.chances[self.came]


@dataclass(frozen=True, kw_only=True)
class SignCheck:
    """How often a sign surprised, how often it should have, and how often it was answered."""

    sign: str
    surprises: int
    expected: float
    n: int


@dataclass(frozen=True, kw_only=True)
class ModelCheck:
    """
    What the monitors show.

    Attributes
    ----------
    n : int
        How many answers.
    z : float
        How many standard deviations the sum of -ln(chance) lies above its expectation; NaN where nothing
        could vary, infinite where something impossible came.
    p_z : float
        Chance of so high a sum or higher if the knowledge is right, [1].
    surprises : int
        How many came below `RARE`.
    expected : float
        How many should have.
    p_surprises : float
        Chance of so many or more if the knowledge is right, [1].
    impossible : tuple of str
        Signs of which an answer came that was held impossible.
    worst : tuple of SignCheck
        Signs that surprised, those first that did so most beyond what they should.
    """

    n: int
    z: float
    p_z: float
    surprises: int
    expected: float
    p_surprises: float
    impossible: tuple[str, ...]
    worst: tuple[SignCheck, ...]

    @property
    def warns(self) -> bool:
        """Whether the knowledge does not fit what came."""
        half = FALSE_ALARM / 2
        return bool(self.impossible) or self.p_surprises < half or self.p_z < half

    @property
    def says(self) -> str:
        """For a person, with the signs' ids."""
        return self.told({})

    def told(self, names: Mapping[str, str]) -> str:
        """For a person; `names` are those of signs by id, and one that has none keeps its id."""
        if not self.n:
            return "No answer has been held against what was expected yet."
        if self.impossible:
            those = ", ".join(names.get(one, one) for one in self.impossible)
            return f"An answer came that was held impossible: {those}. The knowledge of it is wrong there."
        told = (
            f"{self.surprises} of {self.n} answers had been held nearly impossible (under {100 * RARE:g} %); "
            f"{self.expected:.1f} would be usual"
        )
        if not self.warns:
            return f"{told}. Nothing speaks against the knowledge."
        if self.p_surprises >= FALSE_ALARM / 2:
            return f"Answers surprise more than they should, on the whole: the chances are too sure. {told}."
        most = ", ".join(names.get(one.sign, one.sign) for one in self.worst[:3])
        return f"More surprises than there should be: {told}. Most at {most}."


def model_check(answers: Iterable[Answered], rare: float = RARE) -> ModelCheck:
    """
    Hold answers against the chances they had.

    Parameters
    ----------
    answers : iterable of Answered
        Each with its chances after all that was answered before it in its job.
    rare : float
        Below which chance an answer is a surprise, [1].
    """
    told = list(answers)
    excess = variance = third = 0.0
    could = [math.fsum(p for p in one.chances if p < rare) for one in told]
    for one in told:
        logs = [math.log(p) if p > 0 else 0.0 for p in one.chances]
        mean = -math.fsum(p * log for p, log in zip(one.chances, logs, strict=True))
        variance += math.fsum(p * (-log - mean) ** 2 for p, log in zip(one.chances, logs, strict=True))
        third += math.fsum(p * (-log - mean) ** 3 for p, log in zip(one.chances, logs, strict=True))
        excess += (-math.log(one.chance) if one.chance > 0 else math.inf) - mean
    surprised = sum(one.chance < rare for one in told)
    z = math.inf if math.isinf(excess) else excess / math.sqrt(variance) if variance > 0 else math.nan
    signs: dict[str, list[int]] = {}
    for n, one in enumerate(told):
        signs.setdefault(one.sign, []).append(n)
    checks = [
        SignCheck(
            sign=sign,
            surprises=sum(told[n].chance < rare for n in those),
            expected=math.fsum(could[n] for n in those),
            n=len(those),
        )
        for sign, those in signs.items()
    ]
    return ModelCheck(
        n=len(told),
        z=z,
        p_z=_tail(z, third / variance**1.5) if variance > 0 else float(z != math.inf),
        surprises=surprised,
        expected=math.fsum(could),
        p_surprises=at_least(surprised, could),
        impossible=tuple(dict.fromkeys(one.sign for one in told if one.chance == 0)),
        worst=tuple(
            sorted((one for one in checks if one.surprises), key=lambda one: one.expected - one.surprises)
        ),
    )


def _tail(z: float, skewness: float) -> float:
    """Chance beyond z of what has mean 0, variance 1 and that skewness: a gamma distribution's, or normal."""
    if not skewness > 0.01:
        return float(ndtr(-z))
    shape = 4 / skewness**2
    return float(gammaincc(shape, max(0.0, shape + z * math.sqrt(shape))))


def at_least(count: int, chances: Sequence[float]) -> float:
    """
    Chance that `count` or more of independent things happen, each with its own chance: Poisson-binomial.

    The number is gone through thing by thing, kept only below `count`: sums of what is not negative.
    """
    if count <= 0:
        return 1.0
    below: Floats = np.zeros(count)
    below[0] = 1.0
    reached = 0.0
    for chance in chances:
        reached += chance * float(below[-1])
        below[1:] = below[1:] * (1 - chance) + below[:-1] * chance
        below[0] *= 1 - chance
    return min(1.0, reached)
