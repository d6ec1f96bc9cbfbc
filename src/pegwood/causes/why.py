"""Why a fault is held as likely as it is: what raised it, what lowered it, and by how much."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault
from pegwood.causes.story import STORY
from pegwood.causes.weighing import chances

Kind = Literal["story", "finding", "sign", "ruling"]
#: Of a chance nearer to 0 or 1 the odds are not told apart: what is certain stays so.
NEAREST = 1e-12
#: What moves the odds by less is told as changing nothing.
NOTHING = math.log(1.05)


@dataclass(frozen=True, kw_only=True)
class Reason:
    """
    One thing that was told, seen or ruled, and what it did to the chance of the fault.

    Attributes
    ----------
    kind : str
    about : str
        The story's key, the sign or the fault by id.
    chance : float
        Of the fault once this came to all before it, [1].
    log_odds : float
        By how much this changed the natural logarithm of the odds: above 0 it raised them. Those of all
        reasons add up to the whole change.
    without : float
        What the chance would be now, were only this not known, [1].
    """

    kind: Kind
    about: str
    chance: float
    log_odds: float
    without: float

    @property
    def factor(self) -> float:
        """By what the odds were multiplied, [1]."""
        return math.exp(self.log_odds)

    @property
    def changes(self) -> bool:
        """Whether it changed anything worth a word."""
        return abs(self.log_odds) >= NOTHING


@dataclass(frozen=True, kw_only=True)
class Why:
    """A fault's chance before anything was known and now, [1], and all that lies between, in its order."""

    fault: Fault
    before: float
    now: float
    reasons: tuple[Reason, ...]


def why(causes: FamilyCauses, case: Case, fault: str) -> Why:
    """
    Why a fault is as likely as it is.

    What was told, seen and ruled is added one after the other, and each is then left out alone. Two signs
    that say the same share what they say: the later one adds little, and without either little is missing.

    Raises
    ------
    ValueError
        If the family has no such fault.
    """
    if fault not in causes.faults:
        raise ValueError(f"{fault!r} is no fault of this family.")
    if fault in case.rulings:  # then nothing else bears on it
        case = Case(rulings={fault: case.rulings[fault]})
    before = chance = chances(causes, Case())[fault]
    now = chances(causes, case)[fault]
    reasons = []
    for kind, about, so_far in _one_by_one(case):
        after = chances(causes, so_far)[fault]
        reasons.append(
            Reason(
                kind=kind,
                about=about,
                chance=after,
                log_odds=_log_odds(after) - _log_odds(chance),
                without=chances(causes, _without(case, kind, about))[fault],
            )
        )
        chance = after
    return Why(fault=causes.faults[fault], before=before, now=now, reasons=tuple(reasons))


@dataclass(frozen=True, kw_only=True)
class Moved:
    """
    One thing that was told, seen or ruled, and by how much it changed the log-odds of every fault.

    Attributes
    ----------
    kind, about : str
        As `Reason`.
    log_odds : mapping of str to float
        By fault.
    """

    kind: Kind
    about: str
    log_odds: Mapping[str, float]


def moved(causes: FamilyCauses, case: Case) -> tuple[Moved, ...]:
    """What each thing did to all faults, once it came to all before it: `Reason.log_odds` of every fault."""
    so_far = _all_log_odds(causes, Case())
    found = []
    for kind, about, grown in _one_by_one(case):
        after = _all_log_odds(causes, grown)
        found.append(Moved(kind=kind, about=about, log_odds={one: after[one] - so_far[one] for one in after}))
        so_far = after
    return tuple(found)


def _all_log_odds(causes: FamilyCauses, case: Case) -> dict[str, float]:
    return {fault: _log_odds(chance) for fault, chance in chances(causes, case).items()}


def _one_by_one(case: Case) -> Iterator[tuple[Kind, str, Case]]:
    """The case as it grew: the story first, then findings, signs and what was ruled."""
    so_far = Case()
    for key in STORY:
        if key in case.told:
            so_far = replace(so_far, told=so_far.told | {key})
        elif key in case.denied:
            so_far = replace(so_far, denied=so_far.denied | {key})
        else:
            continue
        yield "story", key, so_far
    for about, odds in case.odds.items():
        so_far = replace(so_far, odds={**so_far.odds, about: odds})
        yield "finding", about, so_far
    for sign, seen in case.answers.items():
        so_far = replace(so_far, answers={**so_far.answers, sign: seen})
        yield "sign", sign, so_far
    for about, there in case.rulings.items():
        so_far = replace(so_far, rulings={**so_far.rulings, about: there})
        yield "ruling", about, so_far


def _without(case: Case, kind: Kind, about: str) -> Case:
    if kind == "story":
        return replace(case, told=case.told - {about}, denied=case.denied - {about})
    if kind == "finding":
        return replace(case, odds={one: odds for one, odds in case.odds.items() if one != about})
    if kind == "sign":
        return replace(case, answers={one: seen for one, seen in case.answers.items() if one != about})
    return replace(case, rulings={one: there for one, there in case.rulings.items() if one != about})


def _log_odds(chance: float) -> float:
    kept = min(max(chance, NEAREST), 1 - NEAREST)
    return math.log(kept / (1 - kept))
