"""
What one closed job teaches. Nothing of its owner, its camera's number or its days is in it.

A fault that the repairer ruled there, or not there, is known. Of the others only that is used which their own
signs and findings said: by how much these moved the fault's odds. A fault nobody looked at teaches nothing by
it, one that the signs all but settle teaches nearly as much as a ruling, and what the net held before never
feeds itself. Nor does what signs say of the story: it raises many faults at once that nobody looked at, and
will raise them again in the next camera.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses, story_of
from pegwood.causes.inference import TooWide
from pegwood.causes.story_net import posterior_over_stories

#: A fault in the hand that nobody ruled is taken as there or not by whether it is likelier than this, [1].
LIKELIER = 0.5
#: A chance that the signs moved by less than this share of it was not moved.
STILL = 1e-3


@dataclass(frozen=True, kw_only=True)
class MendDone:
    """
    A mend that was done.

    Attributes
    ----------
    fault, mend : str
        The fault's id in the family, and what the mend is called there.
    minutes : float, optional
        What it took once the part lay open, [min].
    held : bool, optional
        True: to the end of the guarantee. False: it did not do it, or the camera came back with it. None: it
        is not known yet.
    through : float
        While not known: over what share of the guarantee it has held so far, [1].
    """

    fault: str
    mend: str
    minutes: float | None = None
    held: bool | None = None
    through: float = 0.0

    def __post_init__(self) -> None:
        if self.minutes is not None and not (math.isfinite(self.minutes) and self.minutes > 0):
            raise ValueError(f"{self.mend!r} took {self.minutes:g} minutes. Expected above nought.")
        if not 0 <= self.through <= 1:
            raise ValueError(f"{self.mend!r} held over {self.through:g} of its guarantee. Expected 0 to 1.")


@dataclass(frozen=True, kw_only=True)
class Moved:
    """
    The chance of a fault that nobody ruled, [1].

    Attributes
    ----------
    before : float
        After the story only, each story as likely as it is after all that was seen.
    after : float
        After its own signs and findings as well.
    """

    before: float
    after: float

    def __post_init__(self) -> None:
        if not (0 < self.before < 1 and 0 <= self.after <= 1):
            raise ValueError(
                f"a chance moved from {self.before:g} to {self.after:g}. Expected within 0 and 1."
            )


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """
    What one closed job teaches.

    Attributes
    ----------
    key : str
        Whoever keeps the lessons tells them apart by it; it is never handed on.
    family : str
    told, denied : frozenset of str
        Of the story.
    traced : mapping of str to float
        How likely each thing of the story that leaves traces was after all signs, where nobody told of it,
        [1].
    ruled : mapping of str to bool
        Faults found to be there, or not, by the family's ids; or in the hand, and nobody said anything.
    moved : mapping of str to Moved
        Faults nobody ruled, as far as the signs moved them.
    answers : mapping of str to tuple of float
        As found, before any mend. By sign: how likely what was seen is at each of its levels; 0 and 1 for a
        plain answer, in between for "sort of" and for instruments. Signs answered "don't know" are left out.
    mends : tuple of MendDone
        In the order in which they were done.
    comeback_of : str
        The key of the lesson of which the camera came back under guarantee, or empty. Its faults that are
        there count against the last mend of each; it teaches nothing of how often a camera has a fault, for
        it was one of those that had been counted.
    """

    key: str
    family: str
    told: frozenset[str] = frozenset()
    denied: frozenset[str] = frozenset()
    traced: Mapping[str, float] = field(default_factory=dict)
    ruled: Mapping[str, bool] = field(default_factory=dict)
    moved: Mapping[str, Moved] = field(default_factory=dict)
    answers: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    mends: tuple[MendDone, ...] = ()
    comeback_of: str = ""

    def __post_init__(self) -> None:
        if not self.key or not self.family:
            raise ValueError("a lesson needs a key and a family.")
        if self.comeback_of == self.key:
            raise ValueError(f"lesson {self.key!r} is said to be its own comeback.")
        story_of(self.told, self.denied)
        if both := self.ruled.keys() & self.moved.keys():
            raise ValueError(f"{min(both)!r} is both ruled and not.")
        for sign, likely in self.answers.items():
            fits = len(likely) > 1 and all(math.isfinite(one) and one >= 0 for one in likely) and any(likely)
            if not fits:
                raise ValueError(
                    f"the answer to {sign!r} cannot be: {likely}. Expected likelihoods, 0 or more."
                )


def lesson(
    causes: FamilyCauses,
    key: str,
    case: Case,
    *,
    mends: Iterable[MendDone] = (),
    comeback_of: str = "",
    in_hand: Iterable[str] = (),
) -> Lesson:
    """
    The lesson of a job that closes, with what the signs say of the faults that nobody ruled.

    Parameters
    ----------
    causes : FamilyCauses
        As it was known when the job was weighed. Where its signs cannot be weighed exactly, what nobody ruled
        stays unknown.
    key : str
    case : Case
        As found: the answers before any mend. What of it the family does not know is left out.
    mends : iterable of MendDone
    comeback_of : str
    in_hand : iterable of str
        Faults of parts that the repairer had in the hand before the camera went home. One of them that nobody
        ruled, for which no finding speaks and which the signs do not hold likelier than not counts as not
        there: who finds a fault says so, who finds none seldom does, and to count only what was said would
        raise every chance.
    """
    case = case.within(causes)
    story = story_of(case.told, case.denied)
    ruled = dict(case.rulings)
    silent = [fault for fault in in_hand if fault in causes.faults and fault not in ruled]
    silent = [fault for fault in silent if case.odds.get(fault, 1.0) <= 1]
    moved: dict[str, Moved] = {}
    traced: dict[str, float] = {}
    try:
        weighed = posterior_over_stories(
            causes, case.answers, case.rulings, told=case.told, denied=case.denied, odds=case.odds
        )
    except TooWide:
        weighed = None
    if weighed is not None and weighed.is_possible:
        traced = {one: at for one, at in weighed.story.items() if one not in story}
        silent = [fault for fault in silent if weighed.faults[fault] <= LIKELIER]
        for fault, after in weighed.faults.items():
            if fault not in ruled and fault not in silent:
                before = weighed.by_story[fault]
                if abs(after - before) > STILL * before:
                    moved[fault] = Moved(before=before, after=after)
    return Lesson(
        key=key,
        family=causes.family,
        told=case.told,
        denied=case.denied,
        traced=traced,
        ruled=ruled | dict.fromkeys(silent, False),
        moved=moved,
        answers=case.answers,
        mends=tuple(mends),
        comeback_of=comeback_of,
    )


def with_comebacks(lessons: Iterable[Lesson]) -> list[Lesson]:
    """The same lessons, those mends counted as not holding whose fault came back with the camera."""
    found = {one.key: one for one in lessons}
    for back in tuple(found.values()):
        older = found.get(back.comeback_of)
        if older is None:
            continue
        mends = list(older.mends)
        for fault in (fault for fault, there in back.ruled.items() if there):
            of_it = [n for n, one in enumerate(mends) if one.fault == fault]
            if of_it:
                mends[of_it[-1]] = replace(mends[of_it[-1]], held=False)
        found[older.key] = replace(older, mends=tuple(mends))
    return list(found.values())
