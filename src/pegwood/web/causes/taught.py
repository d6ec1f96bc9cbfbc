"""What lessons changed, mechanism by mechanism, in a repairer's words. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.learning import Change, What
from pegwood.trade.numbers import figure, per_cent

#: Jobs that are named beside a change before the rest are asked for.
NAMED = 12
#: How many of the largest changes are told first.
MOST_MOVED = 5
#: A chance nearer to 0 or 1 than this counts as this far, where changes are put in order.
NEAR = 1e-3
ABOUT: dict[What, str] = {
    "prior": "how often cameras come in with it",
    "link": "how often it shows that",
    "leak": "how often that is seen with no fault that shows it",
    "success": "how often the mend does it",
    "minutes": "minutes of the mend, once the part lies open",
    "pace": "minutes of all mends, against the files'",
}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One number that changed: its name where there are several, the file's, the learned, the interval."""

    name: str
    before: str
    after: str
    interval: str
    counted: str


@dataclass(frozen=True, kw_only=True)
class ChangeShown:
    """
    A change.

    Attributes
    ----------
    title, about : str
        What it is of, and what of it.
    rows : tuple of Row
    rests : str
        What it rests on besides the jobs.
    jobs : tuple of int
        Those that are named.
    more : int
        How many more there are.
    """

    title: str
    about: str
    rows: tuple[Row, ...]
    rests: str
    jobs: tuple[int, ...]
    more: int


@dataclass(frozen=True)
class TaughtGroup:
    """A mechanism in the list: by id and in words, and how many of its numbers changed."""

    called: str
    name: str
    changes: int


def groups(changes: Iterable[Change], construction: Construction) -> tuple[TaughtGroup, ...]:
    """The mechanisms of which something changed, in the family's order."""
    counts: dict[str, int] = {}
    for one in changes:
        counts[_called(one)] = counts.get(_called(one), 0) + 1
    return tuple(
        TaughtGroup(use.called, use.called.replace("-", " "), counts[use.called])
        for use in construction.uses
        if use.called in counts
    )


def shown_of(
    changes: Iterable[Change], causes: FamilyCauses, called: str, *, all_jobs: bool = False
) -> tuple[ChangeShown, ...]:
    """All changes of one mechanism, the largest first; of the whole bench where `called` is empty."""
    there = [one for one in changes if _called(one) == called]
    return tuple(_shown(one, causes, all_jobs) for one in sorted(there, key=_moved, reverse=True))


def most_moved(changes: Iterable[Change], causes: FamilyCauses) -> tuple[ChangeShown, ...]:
    """The largest changes of chances, whatever they are of."""
    chances = [one for one in changes if one.interval]
    return tuple(_shown(one, causes, False) for one in sorted(chances, key=_moved, reverse=True)[:MOST_MOVED])


def _called(change: Change) -> str:
    return change.of[0].partition(".")[0] if change.of else ""


def _moved(change: Change) -> float:
    """By how much the odds of any of its chances changed, or its minutes: a logarithm."""
    if not change.interval:
        return max(abs(math.log(now / was)) for was, now in zip(change.before, change.after, strict=True))
    return max(abs(_odds(now) - _odds(was)) for was, now in zip(change.before, change.after, strict=True))


def _odds(chance: float) -> float:
    near = min(1 - NEAR, max(NEAR, chance))
    return math.log(near / (1 - near))


def _shown(change: Change, causes: FamilyCauses, all_jobs: bool) -> ChangeShown:
    jobs = tuple(int(key) for key in dict.fromkeys(change.rests_on) if key.isdecimal())
    named = jobs if all_jobs else jobs[:NAMED]
    return ChangeShown(
        title=_title(change, causes),
        about=ABOUT[change.what],
        rows=_rows(change),
        rests=_rests(change),
        jobs=named,
        more=len(jobs) - len(named),
    )


def _title(change: Change, causes: FamilyCauses) -> str:
    if change.what == "link":
        return f"{causes.faults[change.of[1]].name}: {causes.signs[change.of[0]].asks}"
    if change.what == "leak":
        return causes.signs[change.of[0]].asks
    return change.named


def _rows(change: Change) -> tuple[Row, ...]:
    if change.what == "minutes":
        return (_alone(_three(change.before), _three(change.after)),)
    if change.what == "pace":
        return (_alone(per_cent(change.before[0]), per_cent(change.after[0])),)
    names = change.answers or ("",)
    # how often each answer was its doing; of a fault or a mend the counts are told in words
    counted = tuple(figure(n, 2) for n in change.counts) if change.answers else ("",)
    return tuple(
        Row(
            name=name,
            before=per_cent(was),
            after=per_cent(now),
            interval=f"{figure(100 * low, 2)} to {per_cent(high)}",
            counted=count,
        )
        for name, was, now, (low, high), count in zip(
            names, change.before, change.after, change.interval, counted, strict=True
        )
    )


def _alone(before: str, after: str) -> Row:
    return Row(name="", before=before, after=after, interval="", counted="")


def _three(minutes: tuple[float, ...]) -> str:
    low, likely, high = (figure(one, 2) for one in minutes)
    return f"{likely} ({low} to {high})"


def _rests(change: Change) -> str:
    told = []
    if change.what == "prior":
        told.append(f"found {_times(change.counts[1])}, ruled out {_times(change.counts[0])}")
        if len(set(change.rests_on)) > sum(change.counts):
            told.append("in the other jobs what was seen spoke for or against it")
    elif change.what == "success":
        told.append(f"held {_times(change.counts[1])}, failed {_times(change.counts[0])}")
    elif change.what in ("minutes", "pace"):
        here = f"timed {_times(change.counts[0])}" if change.counts[0] else "not timed here"
        told.append(here if change.rests_on else f"{here}; what it took at other workshops")
    if change.start:
        told.append(f"the starting knowledge counts as {figure(change.start, 2)} jobs")
    if change.others >= 0.05:
        told.append(f"other families and other workshops as {figure(change.others, 2)}")
    return "; ".join(told)


def _times(count: float) -> str:
    return f"{figure(count, 2)} time{'' if count == 1 else 's'}"
