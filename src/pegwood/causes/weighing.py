"""What is likely wrong with one camera, after all that was told, seen and known of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.inference import FaultNet, posterior
from pegwood.causes.inference.predicted import predicted
from pegwood.causes.known import Fault, Sign

#: A sign is told as unexplained where it is likelier than not that no fault of the net showed it.
UNEXPLAINED_FROM = 0.5


@dataclass(frozen=True, kw_only=True)
class Likely:
    """A fault and its chance, [1]; `ruled` where somebody said that it is, or is not, there."""

    fault: Fault
    chance: float
    before: float
    ruled: bool | None = None


@dataclass(frozen=True, kw_only=True)
class Unexplained:
    """A sign that was seen, and how likely it is that none of the faults showed it, [1]."""

    sign: Sign
    chance: float


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """
    What is likely.

    Attributes
    ----------
    faults : tuple of Likely
        All of the family, the likeliest first.
    evidence_p : float
        Chance of all that was seen, as the knowledge has it, [1].
    unexplained : tuple of Unexplained
    is_possible : bool
        Whether the knowledge can explain what was seen at all; if not, the chances are those before.
    approximate : bool
        Whether it could not be done exactly.
    off : float
        By how much a chance may be off where it is approximate, [1].
    """

    faults: tuple[Likely, ...]
    evidence_p: float
    unexplained: tuple[Unexplained, ...]
    is_possible: bool
    approximate: bool = False
    off: float = 0.0

    @property
    def chances(self) -> Mapping[str, float]:
        """By fault."""
        return {one.fault.id: one.chance for one in self.faults}


def net_of(causes: FamilyCauses, case: Case) -> FaultNet:
    """The family's net after the story, and after what findings say of its faults."""
    net = causes.net(case.told)
    if not case.odds:
        return net
    return net.with_chances(
        {fault: times_odds(prior, case.odds.get(fault, 1.0)) for fault, prior in net.priors.items()}
    )


def times_odds(chance: float, factor: float) -> float:
    """A chance once its odds are multiplied."""
    return chance * factor / (chance * factor + (1 - chance))


#: Weighings that are kept: a page asks for the same case, and for those on the way to it, again and again.
MOST_KEPT = 512


def weigh(causes: FamilyCauses, case: Case) -> Weighed:
    """
    What is likely wrong.

    Raises
    ------
    ValueError
        If the case speaks of what is none of the family: see `Case.within`.
    """
    return _weighed(
        causes,
        case.told,
        frozenset((sign, tuple(seen)) for sign, seen in case.answers.items()),
        frozenset(case.rulings.items()),
        frozenset(case.odds.items()),
    )


@lru_cache(maxsize=MOST_KEPT)
def _weighed(
    causes: FamilyCauses,
    told: frozenset[str],
    answers: frozenset[tuple[str, tuple[float, ...]]],
    rulings: frozenset[tuple[str, bool]],
    odds: frozenset[tuple[str, float]],
) -> Weighed:
    case = Case(
        told=told, answers=dict(sorted(answers)), rulings=dict(sorted(rulings)), odds=dict(sorted(odds))
    )
    net = net_of(causes, case)
    before = causes.net().priors
    found = posterior(net, case.answers, case.rulings)
    faults = tuple(
        Likely(
            fault=fault,
            chance=found.faults[fault.id],
            before=before[fault.id],
            ruled=case.rulings.get(fault.id),
        )
        for fault in causes.faults.values()
    )
    return Weighed(
        faults=tuple(sorted(faults, key=lambda one: (-one.chance, one.fault.id))),
        evidence_p=math.exp(found.log_evidence),
        unexplained=(),
        is_possible=found.is_possible,
    )


def chance_of(causes: FamilyCauses, case: Case, sign: str, seen: Sequence[float]) -> float:
    """
    How likely an answer to a sign is, given all else that is known of the case, [1].

    Parameters
    ----------
    seen : sequence of float
        How likely what was seen is at each level; of a plain answer 1 at its level and 0 elsewhere.
    """
    net = net_of(causes, case)
    others = {one: weights for one, weights in case.answers.items() if one != sign}
    chances = predicted(net, others, case.rulings, [sign])[sign].chances
    return float(np.clip(np.dot(chances, seen), 0.0, 1.0))
