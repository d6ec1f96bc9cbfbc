"""Which new parts a camera will need: by what is likely wrong with it, and by how that is mended."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault
from pegwood.causes.planning.expected_cost import until_it_holds
from pegwood.causes.weighing import chances

#: A fault that is rarer changes no chance of a part that anybody would see.
SEEN_FROM = 1e-3
#: What stands for 'surely not' as a factor on odds, which has to be above nought.
HARDLY = 1e-12


@dataclass(frozen=True, kw_only=True)
class Needed:
    """
    A part that may have to be new.

    Attributes
    ----------
    part : str
        By id in the family.
    chance : float
        How likely it is needed, [1].
    by : tuple of (str, float)
        Faults whose mends take it, and how likely each needs it, [1]; the likeliest first.
    """

    part: str
    chance: float
    by: tuple[tuple[str, float], ...]


def parts_needed(causes: FamilyCauses, case: Case, least: float = 0.01) -> tuple[Needed, ...]:
    """
    Parts that mends of what is likely wrong take, the likeliest first.

    A fault is mended by the mend that costs least until it holds, as the adviser proposes it; where that does
    not do, by the next. Several faults may ask for one part: how likely it is that any does is exact, one
    fault after the other with those before it known not to ask.

    Parameters
    ----------
    causes : FamilyCauses
    case : Case
    least : float
        What is less likely is left out, [1].

    Raises
    ------
    ValueError
        If the case speaks of what is none of the family: see `Case.within`.
    """
    there = chances(causes, case)
    asks: dict[str, dict[str, float]] = {}
    for fault in causes.faults.values():
        if there[fault.id] >= SEEN_FROM:
            for part, share in parts_taken(fault, causes.faults).items():
                asks.setdefault(part, {})[fault.id] = share
    found = []
    for part, shares in asks.items():
        by = sorted(((fault, there[fault] * share) for fault, share in shares.items()), key=_likeliest)
        if math.fsum(chance for _, chance in by) < least:
            continue  # at most the sum
        chance = by[0][1] if len(by) == 1 else _any(causes, case, shares)
        if chance >= least:
            found.append(Needed(part=part, chance=chance, by=tuple(by)))
    return tuple(sorted(found, key=lambda one: (-one.chance, one.part)))


def parts_taken(fault: Fault, faults: Mapping[str, Fault]) -> dict[str, float]:
    """
    Parts that mending a fault takes, and how often each, [1].

    Parameters
    ----------
    fault : Fault
    faults : mapping of str to Fault
        Of the family: what a mend may break costs, too.
    """
    not_yet = 1.0  # none of the mends before did it
    free_of: dict[str, float] = {}  # nor was the part taken by any of them
    for mend in sorted(fault.mends, key=lambda one: until_it_holds(one, faults)):
        for part in mend.parts:
            # Once it is new, it is not taken a second time: the first mend that takes it counts.
            free_of.setdefault(part, not_yet)
        not_yet *= 1 - mend.success
    return free_of


def _any(causes: FamilyCauses, case: Case, shares: Mapping[str, float]) -> float:
    """
    How likely it is that any of several faults asks for a part, [1].

    P(none asks) = P(the first does not) P(the second does not, given that) ...: that a fault does not ask is
    evidence on it alone, a factor of 1 - share on its odds.
    """
    none, odds = 1.0, dict(case.odds)
    for fault, share in shares.items():
        here = chances(causes, replace(case, odds=odds))[fault]
        none *= 1 - here * share
        if none <= 0:
            return 1.0
        odds[fault] = odds.get(fault, 1.0) * max(1 - share, HARDLY)
    return 1 - none


def _likeliest(one: tuple[str, float]) -> tuple[float, str]:
    return -one[1], one[0]
