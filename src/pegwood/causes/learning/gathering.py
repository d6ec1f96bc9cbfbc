"""
Lessons laid out by mechanism: what was heard of each use of one in a family, under the mechanism's own ids.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from scipy.special import logit

from pegwood.anatomy.construction import WITHIN
from pegwood.anatomy.learning.minutes import implausible
from pegwood.causes.before_signs import chance
from pegwood.causes.family_net import FamilyCauses, story_of
from pegwood.causes.known import Fault, Mend, Sign
from pegwood.causes.learning.chances import Told
from pegwood.causes.learning.lessons import Lesson, MendDone, with_comebacks
from pegwood.causes.story import COMMON, STORY

Use = tuple[str, str]  # the family's id, and what the mechanism is called there
Done = tuple[str, str]  # the fault's id in the mechanism, and the mend's name
#: A story as one number: told is 1, denied 2, unknown 0, at the place of each thing in `STORY`.
PLACES = {one: 3**n for n, one in enumerate(STORY)}


@dataclass
class Fact:
    """
    What lessons say of one chance, how often it was so and how often not, and which lessons those are.

    The rows are laid end to end as `Told.of` takes them; `story` is what bears on the fault of each one's
    story, as a number.
    """

    rows: array[float] = field(default_factory=lambda: array("d"))
    story: array[int] = field(default_factory=lambda: array("i"))
    keys: list[str] = field(default_factory=list)
    was: int = 0
    was_not: int = 0

    @cached_property
    def told(self) -> Told:
        """To learn from, as though there were no stories; asked for when all is gathered."""
        return Told.of(self.rows)

    def told_of(self, fault: Fault) -> Told:
        """To learn from, each story shifting the odds as it does of that fault with its chance."""
        if not self.story:  # what comes from elsewhere is counted as though without
            return self.told
        numbers, which = np.unique(np.frombuffer(self.story, dtype=np.intc), return_inverse=True)
        then = np.array([chance(fault, said_by(int(one))) for one in numbers])
        return replace(self.told, shift=(logit(then) - logit(fault.prior))[which])


@dataclass
class Looks:
    """
    All answers to a sign of one use.

    Attributes
    ----------
    causes : tuple of str
        The faults that show it there, and as `of_story` what of the story does.
    keys : list of str
        Whose each answer is.
    likely : list of tuple of float
        How likely what was seen is at each level.
    after : array of float
        Chance of each cause after all that was seen, answer after answer.
    moved : array of int
        Whether it is one that signs moved, likewise.
    """

    causes: tuple[str, ...]
    keys: list[str] = field(default_factory=list)
    likely: list[tuple[float, ...]] = field(default_factory=list)
    after: array[float] = field(default_factory=lambda: array("d"))
    moved: array[int] = field(default_factory=lambda: array("b"))


@dataclass
class Heard:
    """
    What was heard of one use of a mechanism in a family.

    `counts` are what another workshop handed on of what causes show, by sign and fault (empty for the leak).
    """

    use: Use
    mechanism: str
    faults: dict[str, Fact] = field(default_factory=dict)
    mends: dict[Done, Fact] = field(default_factory=dict)
    looks: dict[str, Looks] = field(default_factory=dict)
    minutes: dict[Done, list[tuple[str, float]]] = field(default_factory=dict)
    counts: dict[tuple[str, str], tuple[float, ...]] = field(default_factory=dict)


@dataclass
class Gathered:
    """
    All that was heard here, by use; what comes from elsewhere; what nobody knows any more, a line each.

    `over_file` is how much longer a mend took elsewhere than its file says, at that bench's pace, by
    mechanism and what was done.
    """

    uses: dict[Use, Heard] = field(default_factory=dict)
    elsewhere: list[Heard] = field(default_factory=list)
    over_file: dict[tuple[str, Done], float] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)

    def own(self, use: Use, mechanism: str) -> Heard:
        """Of this use, from this bench's jobs."""
        return self.uses.get(use) or Heard(use, mechanism)

    def twins(self, use: Use, mechanism: str) -> list[Heard]:
        """Of the same use in the same family, from elsewhere."""
        return [one for one in self.elsewhere if (one.use, one.mechanism) == (use, mechanism)]

    def kin(self, use: Use, mechanism: str) -> list[Heard]:
        """Of the same mechanism elsewhere in the family, or in other families."""
        several = (*self.uses.values(), *self.elsewhere)
        return [one for one in several if one.mechanism == mechanism and one.use != use]


def gathered(lessons: Iterable[Lesson], families: Mapping[str, FamilyCauses]) -> Gathered:
    """
    Lessons by the use of a mechanism that they speak of.

    Parameters
    ----------
    lessons : iterable of Lesson
    families : mapping of str to FamilyCauses
        By id, as the files know them.
    """
    found = Gathered()
    ledgers: dict[str, _Ledger] = {}
    for one in with_comebacks(lessons):
        if one.family not in families:
            found.left_out.append(f"{one.key}: there is no family {one.family!r} any more.")
            continue
        if one.family not in ledgers:
            ledgers[one.family] = _Ledger(families[one.family], found)
        ledgers[one.family].enter(one)
    return found


class _Ledger:
    """Enters the lessons of one family; what of them stays the same from job to job is worked out once."""

    def __init__(self, causes: FamilyCauses, found: Gathered) -> None:
        self.causes, self.found = causes, found
        self.facts: dict[str, Fact] = {}
        self.looks: dict[str, tuple[Sign, Looks]] = {}
        self.before: dict[tuple[str, int], float] = {}
        self.faults = {fault: n for n, fault in enumerate(causes.faults)}
        self.raised = np.zeros((len(self.faults), len(PLACES)), dtype=np.intc)
        for n, fault in enumerate(causes.faults.values()):
            self.raised[n, [list(PLACES).index(one.by) for one in fault.raised]] = 1

    def enter(self, one: Lesson) -> None:
        story = story_of(one.told, one.denied)
        said = [PLACES[of] * (2 - story[of]) if of in story else 0 for of in PLACES]
        numbers = (self.raised @ np.array(said, dtype=np.intc)).tolist()
        if not one.comeback_of:
            for fault, there in one.ruled.items():
                if fact := self._fact(one, fault, 0.5, there, numbers):
                    fact.was += there
                    fact.was_not += not there
            for fault, of in one.moved.items():
                self._fact(one, fault, of.before, of.after, numbers)
        at = {**one.ruled, **{fault: of.after for fault, of in one.moved.items()}}
        for named, likely in one.answers.items():
            sign, looks = self._sign(named) or (None, None)
            if sign is None or looks is None or len(sign.leak) != len(likely):
                says = f"there is no sign {named!r} with {len(likely)} answers any more."
                self.found.left_out.append(f"{one.key}: {says}")
                continue
            looks.keys.append(one.key)
            looks.likely.append(likely)
            for link in sign.shown_by:
                looks.after.append(at[link.fault] if link.fault in at else self._before(link.fault, numbers))
                looks.moved.append(link.fault in one.moved)
            for by in (of.by for of in sign.tells_of):
                looks.after.append(story[by] if by in story else one.traced.get(by, COMMON[by]))
                looks.moved.append(by not in story and by in one.traced)
        for done in one.mends:
            self._mend(one, done)

    def _before(self, fault: str, numbers: list[int]) -> float:
        key = (fault, numbers[self.faults[fault]])
        if key not in self.before:
            self.before[key] = chance(self.causes.faults[fault], said_by(key[1]))
        return self.before[key]

    def _heard(self, called: str) -> Heard:
        use = (self.causes.family, called)
        if use not in self.found.uses:
            self.found.uses[use] = Heard(use, self.causes.mechanisms.get(called, ""))
        return self.found.uses[use]

    def _fact(self, one: Lesson, fault: str, before: float, after: float, numbers: list[int]) -> Fact | None:
        if fault not in self.facts:
            if fault not in self.causes.faults:
                self.found.left_out.append(f"{one.key}: there is no fault {fault!r} any more.")
                return None
            called, own = split(fault)
            self.facts[fault] = self._heard(called).faults.setdefault(own, Fact())
        fact = self.facts[fault]
        fact.rows.extend((before, after, 1.0))
        fact.keys.append(one.key)
        fact.story.append(numbers[self.faults[fault]])
        return fact

    def _sign(self, named: str) -> tuple[Sign, Looks] | None:
        if named not in self.looks:
            sign = self.causes.signs.get(named)
            if sign is None:
                return None
            called, own = split(named)
            faults = (split(link.fault)[1] for link in sign.shown_by)
            looks = Looks((*faults, *(of_story(of.by) for of in sign.tells_of)))
            self.looks[named] = sign, self._heard(called).looks.setdefault(own, looks)
        return self.looks[named]

    def _mend(self, one: Lesson, done: MendDone) -> None:
        fault = self.causes.faults.get(done.fault)
        mend = next((of for of in fault.mends if of.name == done.mend), None) if fault else None
        if mend is None:
            says = f"there is no mend {done.mend!r} of {done.fault!r} any more."
            self.found.left_out.append(f"{one.key}: {says}")
            return
        called, own = split(done.fault)
        heard, at = self._heard(called), (own, done.mend)
        fact = heard.mends.setdefault(at, Fact())
        fact.rows.extend((0.5, _held(done), 1.0))
        fact.keys.append(one.key)
        fact.was += done.held is True
        fact.was_not += done.held is False
        if done.minutes is None:
            return
        if than := implausible(done.minutes, mend.minutes):
            self.found.left_out.append(f"{one.key}: {done.minutes:g} min for {done.mend!r} is {than}.")
            return
        heard.minutes.setdefault(at, []).append((one.key, done.minutes))


def _held(done: MendDone) -> float:
    """From a chance of one half: what it is after what is known; its odds are then 1 / (1 - through)."""
    return float(done.held) if done.held is not None else 1 / (2 - done.through)


def of_story(by: str) -> str:
    """What of the story shows a sign, named as a cause beside the faults; no fault's id holds a blank."""
    return f"story {by}"


def said_by(number: int) -> dict[str, bool]:
    """What is told and denied in a story that is written as a number."""
    digits = {one: number // place % 3 for one, place in PLACES.items()}
    return {one: digit == 1 for one, digit in digits.items() if digit}


def mend_named(causes: FamilyCauses, fault: str, name: str) -> Mend:
    """A mend that there is."""
    return next(one for one in causes.faults[fault].mends if one.name == name)


def split(named: str) -> tuple[str, str]:
    """What a mechanism is called in the family, and the id that it has there itself."""
    called, _, own = named.partition(WITHIN)
    return called, own
