"""What is likely wrong with one camera, after all that was told, seen and known of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses, story_of
from pegwood.causes.inference import FaultNet, TooWide, with_odds
from pegwood.causes.inference.approximate import posterior_or_near
from pegwood.causes.inference.predicted import unexplained
from pegwood.causes.known import Fault, Sign
from pegwood.causes.story import COMMON, TRACED
from pegwood.causes.story_net import StoryPosterior, posterior_over_stories

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
    story : mapping of str to float
        How likely each thing of the story is that leaves traces, [1]; 1 and 0 where it was told or denied.
    evidence_p : float
        Chance of all that was seen, as the knowledge has it, [1].
    unexplained : tuple of Unexplained
    is_possible : bool
        Whether the knowledge can explain what was seen at all; if not, the chances are those before.
    approximate : bool
        Whether it could not be done exactly.
    off : float
        By how much a chance may be off at most where it is approximate, [1]; 1 where no bound is known.
    """

    faults: tuple[Likely, ...]
    story: Mapping[str, float]
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
    """
    One net for the case, in which its faults come independently.

    What is unknown of the story is as likely in it as it is after all that was seen, and of each fault by
    itself. That is near enough to plan by; `weigh` goes through all stories instead.
    """
    over = _over_stories(causes, case)
    return causes.net_with(over.before, over.story)


#: Weighings that are kept: a page asks for the same case, and for those on the way to it, again and again.
MOST_KEPT = 512
#: A case as a key: told, denied, answers, rulings, odds.
_Key = tuple[
    frozenset[str],
    frozenset[str],
    frozenset[tuple[str, tuple[float, ...]]],
    frozenset[tuple[str, bool]],
    frozenset[tuple[str, float]],
]


def _key(case: Case) -> _Key:
    return (
        case.told,
        case.denied,
        frozenset((sign, tuple(seen)) for sign, seen in case.answers.items()),
        frozenset(case.rulings.items()),
        frozenset(case.odds.items()),
    )


def _case(key: _Key) -> Case:
    """In one order, so that the same case comes to the same figures to the last digit."""
    told, denied, answers, rulings, odds = key
    return Case(
        told=told,
        denied=denied,
        answers=dict(sorted(answers)),
        rulings=dict(sorted(rulings)),
        odds=dict(sorted(odds)),
    )


def _over_stories(causes: FamilyCauses, case: Case) -> StoryPosterior:
    return _posterior(causes, _key(case))


@lru_cache(maxsize=2 * MOST_KEPT)
def _posterior(causes: FamilyCauses, key: _Key) -> StoryPosterior:
    """Exact where that can be; else with one net, and how far off it may be."""
    case = _case(key)
    try:
        return posterior_over_stories(
            causes, case.answers, case.rulings, told=case.told, denied=case.denied, odds=case.odds
        )
    except TooWide:
        return _in_one_net(causes, case)


def _in_one_net(causes: FamilyCauses, case: Case) -> StoryPosterior:
    """
    What is unknown of the story taken for each fault by itself. How much that is off by nobody can say, so no
    bound holds unless the whole story is told.
    """
    story = story_of(case.told, case.denied)
    net = with_odds(causes.net(case.told, case.denied), case.odds)
    try:
        found = posterior_or_near(net, case.answers, case.rulings)
        faults, log_evidence, off = found.faults, found.log_evidence, found.off
    except TooWide:  # then nothing can be said but what was ruled, and what was likely before
        faults = {fault: float(case.rulings.get(fault, prior)) for fault, prior in net.priors.items()}
        log_evidence, off = 0.0, 1.0
    return StoryPosterior(
        faults=faults,
        story={item: float(story.get(item, COMMON[item])) for item in TRACED},
        log_evidence=log_evidence,
        before=net.priors,
        approximate=True,
        off=off if story.keys() >= set(TRACED) else 1.0,
    )


def chances(causes: FamilyCauses, case: Case) -> Mapping[str, float]:
    """The chance of each fault, [1]: `weigh` without what that tells besides, which takes as long again."""
    return _over_stories(causes, case).faults


def weigh(causes: FamilyCauses, case: Case) -> Weighed:
    """
    What is likely wrong.

    Raises
    ------
    ValueError
        If the case speaks of what is none of the family: see `Case.within`.
    """
    return _weighed(causes, _key(case))


@lru_cache(maxsize=MOST_KEPT)
def _weighed(causes: FamilyCauses, key: _Key) -> Weighed:
    found, case = _posterior(causes, key), _case(key)
    faults = (
        Likely(
            fault=fault,
            chance=found.faults[fault.id],
            before=fault.prior,
            ruled=case.rulings.get(fault.id),
        )
        for fault in causes.faults.values()
    )
    alone = _alone(causes.net_with(found.before, found.story), case)
    return Weighed(
        faults=tuple(sorted(faults, key=lambda one: (-one.chance, one.fault.id))),
        story=found.story,
        evidence_p=math.exp(found.log_evidence),
        unexplained=tuple(
            Unexplained(sign=causes.signs[sign], chance=chance)
            for sign, chance in alone.items()
            if chance >= UNEXPLAINED_FROM
        ),
        is_possible=found.is_possible,
        approximate=found.approximate,
        off=found.off,
    )


def _alone(net: FaultNet, case: Case) -> Mapping[str, float]:
    try:
        return unexplained(net, case.answers, case.rulings)
    except TooWide:  # nothing is told of that, rather than something that is not known
        return {}


def chances_of(causes: FamilyCauses, case: Case, sign: str) -> tuple[float, ...] | None:
    """
    How likely each answer to a sign is, given all else that is known of the case, [1].

    Returns
    -------
    tuple of float or None
        None where what is known besides cannot be, or where it cannot be told exactly.
    """
    others = {one: weights for one, weights in case.answers.items() if one != sign}
    before = _over_stories(causes, replace(case, answers=others))
    if not before.is_possible or before.approximate:
        return None
    levels = range(len(causes.signs[sign].answers))
    found = []
    for level in levels:
        seen = tuple(float(level == one) for one in levels)
        after = _over_stories(causes, replace(case, answers={**others, sign: seen}))
        if after.approximate:
            return None
        found.append(math.exp(after.log_evidence - before.log_evidence) if after.is_possible else 0.0)
    total = math.fsum(found)  # 1 but for rounding
    return tuple(one / total for one in found)
