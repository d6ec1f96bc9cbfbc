"""What to do next with a camera: the look, the opening or the mend that saves most of the rest of the job."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.planning import choose
from pegwood.anatomy.planning.plan import Step, step_of
from pegwood.anatomy.planning.problem import waiting
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Mend
from pegwood.causes.planning.beliefs import Contradiction
from pegwood.causes.planning.expected_cost import (
    FOR_ESTIMATE,
    OVERSIGHTS,
    Bench,
    ExpectedCost,
    LookWorth,
    Opening,
    Prices,
    Weighing,
    until_it_holds,
)
from pegwood.causes.planning.pairs import LEAST_WORTH, SharedWay, first_of_pairs, opening_for_looks
from pegwood.causes.weighing import net_of

Kind = Literal["look", "open", "mend", "stop"]
#: So many faults are named that an opening is for.
MOST_NAMED = 4


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """
    Something to do next.

    Attributes
    ----------
    kind : str
        ``"look"`` (answer a sign), ``"open"`` (take parts off and look them over), ``"mend"``, ``"stop"``.
    id : str
        Of the sign, of the part that is worth most, or of the fault; empty for stop.
    says : str
        It in words.
    minutes, access_minutes : float
        Of the look or mend itself, and of the way to it from what is off now, its risks with it, [min].
    worth_minutes : float
        By how much less the rest of the job is expected to take, all this paid, [min].
    oversight : float
        The share of what leaving a fault closed costs that `worth_minutes` is reckoned with, [1].
    access : tuple of Step
        What comes off for it, in an order in which it can.
    parts : tuple of str
        What is looked over once it lies open.
    opens_for : tuple of (str, float)
        Faults that speak for it, and their chances, the likeliest first.
    with_look : str
        The sign that it pays together with, where it does not pay alone.
    mend : Mend, optional
    cautions : tuple of str
        Of every way and of the mend; whole sentences.
    """

    kind: Kind
    id: str
    says: str
    minutes: float = 0.0
    access_minutes: float = 0.0
    worth_minutes: float = 0.0
    oversight: float = 1.0
    access: tuple[Step, ...] = ()
    parts: tuple[str, ...] = ()
    opens_for: tuple[tuple[str, float], ...] = ()
    with_look: str = ""
    mend: Mend | None = None
    cautions: tuple[str, ...] = ()

    @property
    def rate(self) -> float:
        """What it saves for each minute that it takes, [1]."""
        return self.worth_minutes / max(self.minutes + self.access_minutes, 0.1)


@dataclass(frozen=True, kw_only=True)
class Advice:
    """
    What to do next.

    Attributes
    ----------
    proposals : tuple of Proposal
        The best first; the last is to stop here. Empty where what was seen cannot be.
    says : str
        In one sentence where the job stands.
    expected_minutes : float
        Of the rest of the job, mends and comebacks with it, if nothing more is asked, [min].
    contradiction : tuple of str
        Signs whose answers cannot all be.
    """

    proposals: tuple[Proposal, ...]
    says: str
    expected_minutes: float = 0.0
    contradiction: tuple[str, ...] = ()

    @property
    def first(self) -> Proposal | None:
        """The best; None where there is nothing to propose."""
        return self.proposals[0] if self.proposals else None


def next_actions(
    causes: FamilyCauses,
    construction: Construction,
    case: Case,
    *,
    off: Iterable[str] = (),
    mended: Iterable[str] = (),
    prices: Prices | None = None,
    most: int = 6,
    from_outside: bool = False,
) -> Advice:
    """
    What to do next.

    What pays even if leaving a fault closed were far less dear than it is comes first (`OVERSIGHTS`); of
    that, looks, openings and mends stand by what they save for each minute that they take. What is cheap and
    nearly sure so comes before a look that hardly changes anything; what is dear waits for what bears on it.

    Parameters
    ----------
    causes : FamilyCauses
    construction : Construction
        Of the same family.
    case : Case
    off : iterable of str
        Parts that are off.
    mended : iterable of str
        Faults that were put right; they stay ruled as found in the case, since they explain what was seen.
    prices : Prices, optional
        What the workshop reckons with.
    most : int
        How many to propose, stopping aside.
    from_outside : bool
        Only looks for which nothing more comes off, as before a camera is taken in.

    Raises
    ------
    ValueError
        If a part or a fault is none of the family.
    """
    off, mended = frozenset(off), frozenset(mended)
    if strange := off - construction.parts.keys():
        raise ValueError(f"{min(strange)!r} is no part of this family.")
    if strange := mended - causes.faults.keys():
        raise ValueError(f"{min(strange)!r} is no fault of this family.")
    case = case.within(causes)
    bench = Bench(seen=case.answers, unanswered=case.unanswered, known=case.rulings, off=off, mended=mended)
    try:
        costs = ExpectedCost(causes, construction, net_of(causes, case), prices)
        return _advice(costs, bench, construction, most, from_outside)
    except Contradiction as clash:
        return Advice(proposals=(), says=str(clash), contradiction=clash.signs)


def bench_check(
    causes: FamilyCauses,
    construction: Construction,
    case: Case,
    *,
    prices: Prices | None = None,
    most: int = 6,
) -> Advice:
    """
    The next look before anything is opened: only looks for which nothing comes off, and when to stop.

    Without prices it looks as for an estimate: what is wrong is to be known, and nothing is mended yet.
    """
    return next_actions(
        causes, construction, case, prices=prices or FOR_ESTIMATE, most=most, from_outside=True
    )


def _advice(
    costs: ExpectedCost, bench: Bench, construction: Construction, most: int, from_outside: bool
) -> Advice:
    told: dict[tuple[Kind, str], Proposal] = {}
    looked_over: set[str] = set()
    for oversight in OVERSIGHTS:
        now = costs.on(bench, oversight)
        for one in _paying(now, construction, most, from_outside, tries_pairs=oversight == OVERSIGHTS[-1]):
            if (one.kind, one.id) not in told and not (one.kind == "open" and looked_over & {*one.parts}):
                told[one.kind, one.id] = one
                looked_over |= {*one.parts}
        if len(told) >= most:
            break
    proposals = tuple(told.values())[:most]
    whole = costs.on(bench)
    return Advice(
        proposals=(*proposals, Proposal(kind="stop", id="", says="Stop here.")),
        says=_where_it_stands(whole, proposals),
        expected_minutes=whole.expected_minutes,
    )


def _paying(
    now: Weighing, construction: Construction, most: int, from_outside: bool, *, tries_pairs: bool
) -> list[Proposal]:
    """What pays with an oversight reckoned as it is now, the best first."""
    looks = now.looks(from_outside=from_outside)
    paying = sorted((one for one in looks if one.worth > LEAST_WORTH), key=lambda one: (-one.rate, one.sign))
    told = [_look(now, construction, one) for one in paying[:most]]
    if tries_pairs and not paying and (pair := first_of_pairs(now, looks)):
        first = _look(now, construction, pair.first)
        told = [replace(first, worth_minutes=pair.worth, with_look=pair.second)]
    if not from_outside:
        told += [_open(now, construction, one) for one in now.openings(most)]
        told += _mends(now)
        if tries_pairs and not paying and (shared := opening_for_looks(now, looks)):
            told.append(_open_for_looks(now, construction, shared))
    told = [replace(one, oversight=now.oversight) for one in told]
    return sorted(told, key=lambda one: (-one.rate, one.kind, one.id))


def _where_it_stands(now: Weighing, told: Sequence[Proposal]) -> str:
    if any(one.kind == "look" for one in told):
        return "There are looks that are worth their time."
    if any(not one.access for one in told):
        return "What lies open comes before any look: do that."
    if told:
        return "Opening it comes before any look."
    if now.opened.any():
        return "No look from outside is worth its time any more: it has to be opened."
    left = [
        (float(chance), fault)
        for fault, chance in zip(now.costs.faults, now.chances, strict=True)
        if fault.id not in now.bench.mended
    ]
    if not left:
        return "Nothing is known that could be wrong."
    chance, fault = max(left, key=lambda one: one[0])
    return f"Nothing is likely enough to be looked for; likeliest is {fault.name}, {chance:.0%}."


def _look(now: Weighing, construction: Construction, look: LookWorth) -> Proposal:
    sign = now.costs.causes.signs[look.sign]
    told = Proposal(kind="look", id=look.sign, says=sign.asks, minutes=look.minutes, worth_minutes=look.worth)
    return _by_the_way(told, now, construction, sign.off, look.access_minutes)


def _open(now: Weighing, construction: Construction, opening: Opening) -> Proposal:
    names = [construction.parts[part].name for part in opening.targets[:MOST_NAMED]]
    more = len(opening.targets) - len(names)
    looked = ", ".join(names) + (f" and {more} more" if more > 0 else "")
    found = [
        (fault.id, float(chance))
        for fault, chance in zip(now.costs.faults, now.chances, strict=True)
        if fault.part in opening.targets and chance > 0 and fault.id not in now.bench.mended
    ]
    told = Proposal(
        kind="open",
        id=opening.targets[0] if opening.targets else "",
        says=f"Open and look at: {looked}.",
        minutes=opening.minutes,
        worth_minutes=opening.worth,
        parts=opening.targets,
        opens_for=tuple(sorted(found, key=lambda one: (-one[1], one[0]))),
    )
    return _by_the_way(told, now, construction, opening.targets, opening.access_minutes)


def _open_for_looks(now: Weighing, construction: Construction, shared: SharedWay) -> Proposal:
    asks = now.costs.causes.signs[shared.looks[0]].asks
    more = len(shared.looks) - 1
    told = Proposal(
        kind="open",
        id=shared.opening.taken_off[-1],
        says="Open it for what can be seen then: " + asks + (f" And {more} more." if more else ""),
        worth_minutes=shared.worth,
        with_look=shared.looks[0],
    )
    return _by_the_way(told, now, construction, shared.opening.taken_off, shared.opening.access_minutes)


def _mends(now: Weighing) -> list[Proposal]:
    """
    Mends of what lies open: of faults that were found, and of likely ones where mending blindly costs less
    than looking first.
    """
    found = []
    prices, bench = now.costs.prices, now.bench
    for n, fault in enumerate(now.costs.faults):
        chance = float(now.chances[n])
        if now.closed[now.costs.at[fault.part]] or fault.id in bench.mended or not fault.mends:
            continue
        mend = min(fault.mends, key=lambda one: until_it_holds(one, now.costs.causes.faults))
        minutes = until_it_holds(mend, now.costs.causes.faults)
        worth = chance * float(now.comes_back[n]) - (1 - chance) * minutes
        found_there = bench.known.get(fault.id) is True
        blindly = fault.id not in bench.known and (1 - chance) * minutes < prices.look_at_part and worth > 0
        if found_there or blindly:
            found.append(
                Proposal(
                    kind="mend",
                    id=fault.id,
                    says=f"{mend.name[:1].upper()}{mend.name[1:]}.",
                    minutes=mend.minutes.likely,
                    worth_minutes=worth,
                    opens_for=((fault.id, chance),),
                    mend=mend,
                    cautions=mend.cautions,
                )
            )
    return found


def _by_the_way(
    told: Proposal, now: Weighing, construction: Construction, reach: Iterable[str], reckoned: float
) -> Proposal:
    """With the cheapest way there, its steps and their cautions."""
    reach = [part for part in reach if part not in now.bench.off and now.closed[now.costs.at[part]]]
    if not reach:
        return told
    chosen = choose(now.costs.strip_down, reach, now.bench.off)
    parts, _ = waiting(chosen.ways, now.bench.off)
    steps = tuple(step_of(construction, part, chosen.ways[part]) for part in parts)
    return replace(
        told,
        access=steps,
        access_minutes=chosen.cost,
        worth_minutes=told.worth_minutes + reckoned - chosen.cost,
        cautions=tuple(dict.fromkeys(one for step in steps for one in step.way.cautions)),
    )
