"""What to do next with a job's camera, in words: a look, an opening, a mend, or to stop."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Sign
from pegwood.causes.planning import Advice, Proposal, bench_check, next_actions
from pegwood.web.causes import words
from pegwood.web.causes.kept import Kept
from pegwood.web.causes.stage import Stage

#: So many faults are named that a look or an opening bears on.
MOST_NAMED = 4
#: So many other things to do stand beside the first.
MOST_OTHERS = 4
_lately: Kept[Advice] = Kept(100)


@dataclass(frozen=True, kw_only=True)
class Doing:
    """
    A proposal in words.

    Attributes
    ----------
    proposal : Proposal
    minutes, access, worth : str
        Of itself, of the way to it, and what it saves of the rest of the job; empty for nothing.
    comes_off : tuple of str
        Parts, in order.
    bears_on : tuple of (str, str)
        Faults by name, and their chances.
    reach : tuple of str
        Parts that a press adds to the way in, by id.
    with_look : str
        The question that it pays together with; empty where it pays alone.
    """

    proposal: Proposal
    minutes: str
    access: str
    worth: str
    comes_off: tuple[str, ...]
    bears_on: tuple[tuple[str, str], ...]
    reach: tuple[str, ...]
    with_look: str


@dataclass(frozen=True, kw_only=True)
class Advised:
    """What to do next, what else could be done, and where the job stands."""

    first: Doing | None
    others: tuple[Doing, ...]
    says: str
    contradiction: tuple[Sign, ...]


def advised(stage: Stage) -> Advised:
    """What to do next, from what is off and what is mended."""
    causes, construction = stage.causes, stage.construction
    found = _advice(stage)
    chances = stage.weighed.chances
    doings = [doing(causes, construction, one, chances) for one in found.proposals if one.kind != "stop"]
    return Advised(
        first=doings[0] if doings else None,
        others=tuple(doings[1 : 1 + MOST_OTHERS]),
        says=found.says,
        contradiction=tuple(causes.signs[one] for one in found.contradiction if one in causes.signs),
    )


def is_at_hand(stage: Stage) -> bool:
    """Whether what to do next was worked out already: it takes a tenth of a second or two."""
    return _lately.has(_rests_on(stage), _key(stage))


def _advice(stage: Stage) -> Advice:
    return _lately.get(_rests_on(stage), _key(stage), lambda: _work_out(stage))


def _rests_on(stage: Stage) -> tuple[object, ...]:
    return stage.causes, stage.construction


def _work_out(stage: Stage) -> Advice:
    if stage.is_bench_check:
        return bench_check(stage.causes, stage.construction, stage.case)
    return next_actions(
        stage.causes,
        stage.construction,
        stage.case,
        off=stage.off.intersection(stage.construction.parts),
        mended=stage.mended.intersection(stage.causes.faults),
    )


def _key(stage: Stage) -> Hashable:
    case = stage.case
    return (
        case.told,
        case.denied,
        frozenset((sign, tuple(seen)) for sign, seen in case.answers.items()),
        case.unanswered,
        frozenset(case.rulings.items()),
        frozenset(case.odds.items()),
        stage.off,
        stage.mended,
        stage.is_bench_check,
    )


def doing(
    causes: FamilyCauses, construction: Construction, one: Proposal, chances: Mapping[str, float]
) -> Doing:
    """A proposal in words."""
    bears_on = bearing(causes.signs[one.id], chances) if one.kind == "look" else one.opens_for[:MOST_NAMED]
    names = tuple(step.part.name for step in one.access)
    return Doing(
        proposal=one,
        minutes=words.minutes(one.minutes) if one.minutes else "",
        access=words.whole(one.access_minutes) if one.access_minutes else "",
        worth=words.whole(one.worth_minutes) if one.worth_minutes >= 1 else "",
        comes_off=names,
        bears_on=tuple((causes.faults[fault].name, words.chance(chance)) for fault, chance in bears_on),
        reach=_reach(construction, one),
        with_look=causes.signs[one.with_look].asks if one.with_look in causes.signs else "",
    )


def bearing(sign: Sign, chances: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    """The faults that a look bears on most: those that are least decided."""
    linked = [(one.fault, chances[one.fault]) for one in sign.shown_by]
    return tuple(sorted(linked, key=lambda one: -one[1] * (1 - one[1]))[:MOST_NAMED])


def _reach(construction: Construction, one: Proposal) -> tuple[str, ...]:
    """What the way in is to reach so that all that comes off for it does: parts that wait for no other."""
    coming = [step.part.id for step in one.access]
    before = {after for step in one.access for after in step.way.after}
    return tuple(part for part in coming if part not in before and construction.parts[part].ways)
