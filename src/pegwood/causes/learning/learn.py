"""
What is known of a family's faults after its lessons, and those of other families with the same mechanisms.

A pure function of the list of lessons: to undo one is to learn again without it. What a story does to the
odds stays the file's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from pegwood.anatomy.construction import WITHIN
from pegwood.anatomy.learning.minutes import BenchMinutes, shrunk
from pegwood.anatomy.parts import MOST_MINUTES, Minutes
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault, Mend, Shown, Sign
from pegwood.causes.learning.changes import Change
from pegwood.causes.learning.gathering import Gathered, gathered, split
from pegwood.causes.learning.lessons import Lesson
from pegwood.causes.learning.of_use import (
    NEAR,
    Around,
    OneSign,
    Weights,
    fault_chance,
    mend_chance,
    sign_shows,
)
from pegwood.causes.learning.shared import Shared


@dataclass(frozen=True, kw_only=True)
class Learned:
    """
    What is known after lessons.

    Attributes
    ----------
    causes : FamilyCauses
        With the learned numbers.
    changes : tuple of Change
    left_out : tuple of str
        What of the lessons speaks of what no file knows any more, or cannot be, a line each.
    minutes : BenchMinutes
        Of mends, by (mechanism and fault, mend).
    """

    causes: FamilyCauses
    changes: tuple[Change, ...]
    left_out: tuple[str, ...]
    minutes: BenchMinutes


def learn(
    causes: FamilyCauses,
    lessons: Iterable[Lesson],
    *,
    families: Iterable[FamilyCauses] = (),
    elsewhere: Iterable[Shared] = (),
    weights: Weights | None = None,
) -> Learned:
    """
    What is known of a family after lessons.

    Parameters
    ----------
    causes : FamilyCauses
        As its files say it, before any lesson.
    lessons : iterable of Lesson
        Of any family.
    families : iterable of FamilyCauses
        The others that lessons speak of, as their files say it.
    elsewhere : iterable of Shared
        What other workshops learned.
    weights : Weights, optional
    """
    known = {one.family: one for one in families} | {causes.family: causes}
    found = gathered(lessons, known)
    for one in elsewhere:
        one.into(found)
    at = _At(causes, known, found, weights or Weights(), learned_minutes(found, known))
    changes = at.pace()
    faults, signs = {}, {}
    for fault in causes.faults.values():
        faults[fault.id], new = at.fault(fault)
        changes += new
    for sign in causes.signs.values():
        signs[sign.id], new = at.sign(sign)
        changes += new
    return Learned(
        causes=replace(causes, faults=faults, signs=signs),
        changes=tuple(changes),
        left_out=tuple(found.left_out),
        minutes=at.minutes,
    )


def learned_minutes(found: Gathered, families: Mapping[str, FamilyCauses]) -> BenchMinutes:
    """
    Minutes of mends from all that was timed, a mechanism's mend being one in all families that have it.

    Once the part lies open a mend takes what it takes, whatever it had to be dug out of. What comes from
    elsewhere moves the file's value only: a bench's pace is its own.
    """
    file: dict[tuple[str, str], Minutes] = {}
    for causes in families.values():
        for fault in causes.faults.values():
            called, own = split(fault.id)
            mechanism = causes.mechanisms.get(called, "")
            for mend in fault.mends:
                over = found.over_file.get((mechanism, (own, mend.name)), 1.0)
                file[f"{mechanism}{WITHIN}{own}", mend.name] = _times(mend.minutes, over)
    times: dict[tuple[str, str], list[float]] = {}
    jobs = set()
    for heard in found.uses.values():
        for (own, name), told in heard.minutes.items():
            times.setdefault((f"{heard.mechanism}{WITHIN}{own}", name), []).extend(took for _, took in told)
            jobs |= {key for key, _ in told}
    return shrunk(file, times, len(jobs))


def _times(minutes: Minutes, over: float) -> Minutes:
    return _capped(over * minutes.low, over * minutes.likely, over * minutes.high)


def _capped(*minutes: float) -> Minutes:
    """What is learned of a long mend must not come out longer than any step may be."""
    low, likely, high = (min(one, MOST_MINUTES) for one in minutes)
    return Minutes(low=low, likely=likely, high=high)


def _source(file: str, changes: list[Change]) -> str:
    """What a row rests on: the file's own source, and the jobs that corrected it."""
    if not changes:
        return file
    jobs = len({key for one in changes for key in one.rests_on})
    return f"{file}; corrected by {f'{jobs} jobs' if jobs else 'what another workshop learned'}"


@dataclass(frozen=True)
class _At:
    """Where learning stands: one family, with all that was gathered."""

    causes: FamilyCauses
    families: Mapping[str, FamilyCauses]
    found: Gathered
    weights: Weights
    minutes: BenchMinutes

    def around(self, named: str) -> tuple[Around, str]:
        called, own = split(named)
        use = (self.causes.family, called)
        return Around.of(self.found, use, self.causes.mechanisms.get(called, "")), own

    def pace(self) -> list[Change]:
        if not self.minutes.steps:
            return []
        told = [key for heard in self.found.uses.values() for of in heard.minutes.values() for key, _ in of]
        return [
            Change(
                what="pace",
                of=(),
                named="Mends at this bench",
                before=(1.0,),
                after=(self.minutes.pace,),
                counts=(float(len(told)),),
                rests_on=tuple(dict.fromkeys(told)),
                start=0.0,
            )
        ]

    def fault(self, fault: Fault) -> tuple[Fault, list[Change]]:
        around, own = self.around(fault.id)
        one = fault_chance(around, fault, self.weights)
        changes: list[Change] = []
        if one.keys or one.others:
            changes.append(
                Change(
                    what="prior",
                    of=(fault.id,),
                    named=fault.name,
                    before=(fault.prior,),
                    after=(one.estimate.chance,),
                    interval=(one.estimate.interval,),
                    counts=(one.own.was_not, one.own.was),
                    start=self.weights.start,
                    others=one.others,
                    rests_on=one.keys,
                )
            )
        mends = []
        for mend in fault.mends:
            learned, new = self.mend(mend, fault, around, own)
            mends.append(learned)
            changes += new
        prior = min(1 - NEAR, max(NEAR, one.estimate.chance)) if one.keys or one.others else fault.prior
        source = _source(fault.source, changes)
        return replace(fault, prior=prior, mends=tuple(mends), source=source), changes

    def mend(self, mend: Mend, fault: Fault, around: Around, own: str) -> tuple[Mend, list[Change]]:
        one = mend_chance(around, (own, mend.name), mend.success, self.weights)
        of, named = (fault.id, mend.name), f"{fault.name}, {mend.name}"
        changes: list[Change] = []
        if one.keys or one.others:
            changes.append(
                Change(
                    what="success",
                    of=of,
                    named=named,
                    before=(mend.success,),
                    after=(one.estimate.chance,),
                    interval=(one.estimate.interval,),
                    counts=(one.own.was_not, one.own.was),
                    start=self.weights.start,
                    others=one.others,
                    rests_on=one.keys,
                )
            )
            mend = replace(mend, success=max(NEAR, one.estimate.chance))
        done = around.own.mechanism, (own, mend.name)
        over = self.found.over_file.get(done, 1.0)
        timed = self.minutes.steps.get((f"{around.own.mechanism}{WITHIN}{own}", mend.name))
        # a bench that timed nothing yet has no pace; what a mend took elsewhere counts all the same
        after = _capped(timed.low, timed.median, timed.high) if timed else _times(mend.minutes, over)
        told = [
            key for heard in (around.own, *around.kin) for key, _ in heard.minutes.get((own, mend.name), ())
        ]
        if told or over != 1:
            changes.append(
                Change(
                    what="minutes",
                    of=of,
                    named=named,
                    before=(mend.minutes.low, mend.minutes.likely, mend.minutes.high),
                    after=(after.low, after.likely, after.high),
                    counts=(float(timed.n if timed else 0),),
                    start=0.0,
                    rests_on=tuple(dict.fromkeys(told)),
                )
            )
        return replace(mend, minutes=after), changes

    def sign(self, sign: Sign) -> tuple[Sign, list[Change]]:
        around, _ = self.around(sign.id)
        kin = [
            of
            for heard in around.kin
            if (other := self.families.get(heard.use[0]))
            and (of := other.signs.get(f"{heard.use[1]}{WITHIN}{split(sign.id)[1]}"))
        ]
        one = sign_shows(around, sign, kin, self.weights)
        leak, new = self._shown(one, "", sign, "", sign.leak)
        changes, shown = list(new), []
        for link in sign.shown_by:
            shows, new = self._shown(one, split(link.fault)[1], sign, link.fault, link.shows)
            shown.append(Shown(fault=link.fault, shows=shows))
            changes += new
        return replace(sign, leak=leak, shown_by=tuple(shown), source=_source(sign.source, changes)), changes

    def _shown(
        self, one: OneSign, cause: str, sign: Sign, fault: str, before: tuple[float, ...]
    ) -> tuple[tuple[float, ...], list[Change]]:
        n = one.causes.index(cause)
        if not one.keys[cause] and not one.others[n]:
            return before, []
        after = tuple(float(p) for p in one.fit.shows[n] / one.fit.shows[n].sum())
        shown_by = self.causes.faults[fault].name if fault else "with no fault that shows it"
        return after, [
            Change(
                what="link" if fault else "leak",
                of=(sign.id, fault) if fault else (sign.id,),
                named=f"{sign.asks} {shown_by}",
                answers=sign.answers,
                before=before,
                after=after,
                interval=one.fit.intervals(n),
                counts=tuple(map(float, one.fit.credits[n])),
                start=self.weights.start,
                others=float(one.others[n]),
                rests_on=one.keys[cause],
            )
        ]
