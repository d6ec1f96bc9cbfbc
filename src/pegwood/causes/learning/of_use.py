"""
What was learned of one use of a mechanism in a family, number by number.

Its own jobs count whole. Another workshop's jobs on the same family count at the weight they are taken at;
those on the mechanism elsewhere count besides at what `sharing_out` leaves them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from pegwood.causes.known import Fault, Sign
from pegwood.causes.learning.chances import Estimate, Told, estimate, size
from pegwood.causes.learning.gathering import Done, Fact, Gathered, Heard, Looks, Use, of_story, split
from pegwood.causes.learning.links import Fitted, Floats, before_sign, fitted
from pegwood.causes.learning.sharing_out import shares

#: A learned chance stays this far from 0 and 1: what never happened here may happen.
NEAR = 1e-6
#: A job counts as one of a link's if its fault was there with at least this chance, [1].
THERE = 0.1


@dataclass(frozen=True, kw_only=True)
class Weights:
    """
    How much is held against a bench's own jobs.

    Attributes
    ----------
    start : float
        How many jobs the starting knowledge counts for: of a prior, all jobs; of a link, jobs with that
        fault; of a mend, times it was done.
    others : float
        How many jobs other families may count for at most.
    """

    start: float = 10.0
    others: float = 20.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.start) and self.start > 0):
            raise ValueError(f"the starting knowledge counts for {self.start:g} jobs. Expected above nought.")
        if not (math.isfinite(self.others) and self.others >= 0):
            raise ValueError(f"other families count for {self.others:g} jobs. Expected nought or more.")


@dataclass(frozen=True)
class Around:
    """A use with what was heard of it, of it elsewhere, and of its mechanism in other places."""

    own: Heard
    twins: tuple[Heard, ...] = ()
    kin: tuple[Heard, ...] = ()

    @classmethod
    def of(cls, found: Gathered, use: Use, mechanism: str) -> Around:
        return cls(
            found.own(use, mechanism), tuple(found.twins(use, mechanism)), tuple(found.kin(use, mechanism))
        )


@dataclass(frozen=True)
class OneChance:
    """A chance with what it rests on; `others` is how many jobs all but its own count for."""

    estimate: Estimate
    own: Fact
    others: float
    keys: tuple[str, ...]


#: Learning a fault's chance again ends when it moves its log-odds by less than this, or after so many rounds.
STILL, ROUNDS = 1e-3, 8


def fault_chance(around: Around, fault: Fault, weights: Weights) -> OneChance:
    """
    How often cameras of unknown history have a fault.

    What a story does to the odds depends a little on that chance itself where others of its things are
    unknown, so it is learned again with the chance just learned until it stays.
    """
    own_id = split(fault.id)[1]
    at = fault
    for _ in range(ROUNDS):
        found = _chance(
            around,
            lambda heard: heard.faults.get(own_id),
            partial(Fact.told_of, fault=at),
            fault.prior,
            weights,
        )
        then = min(1 - NEAR, max(NEAR, found.estimate.chance))
        moved = abs(math.log(then / (1 - then)) - math.log(at.prior / (1 - at.prior)))
        if moved < STILL or not fault.raised:
            break
        at = replace(at, prior=then)
    return found


def mend_chance(around: Around, done: Done, start: float, weights: Weights) -> OneChance:
    """How often a mend does it."""
    return _chance(around, lambda heard: heard.mends.get(done), lambda fact: fact.told, start, weights)


def _chance(
    around: Around,
    fact: Callable[[Heard], Fact | None],
    told: Callable[[Fact], Told],
    start: float,
    weights: Weights,
) -> OneChance:
    own = fact(around.own) or Fact()
    several = [(told(of), 1.0) for heard in around.twins if (of := fact(heard))]
    keys = list(own.keys)
    kin = [(of, told(of)) for heard in around.kin if (of := fact(heard))]
    counting = shares([size(start, says) for _, says in kin], weights.others)
    for (of, says), share in zip(kin, counting, strict=True):
        if share > 0:
            several.append((says, share))
            keys += of.keys
    found = estimate(start, weights.start, Told.together([(told(own), 1.0), *several]))
    others = size(start, Told.together(several)) if several else 0.0
    return OneChance(found, own, others, tuple(dict.fromkeys(keys)))


@dataclass(frozen=True)
class OneSign:
    """
    What a sign's causes show.

    Attributes
    ----------
    causes : tuple of str
        By the mechanism's own ids; the leak, an empty id, comes last.
    fit : Fitted
        Its credits are of the own jobs.
    others : array, shape (n_causes,)
        How many jobs with that cause all but the own count for.
    keys : mapping of str to tuple of str
        By cause: which lessons it rests on.
    """

    causes: tuple[str, ...]
    fit: Fitted
    others: Floats
    keys: Mapping[str, tuple[str, ...]]


def sign_shows(around: Around, sign: Sign, kin_signs: Iterable[Sign], weights: Weights) -> OneSign:
    """
    What the causes of a sign show.

    Parameters
    ----------
    around : Around
    sign : Sign
        As the family's files say it.
    kin_signs : iterable of Sign
        The same sign in other families, which may be shown by faults that this family has not.
    weights : Weights
    """
    own_id = split(sign.id)[1]
    shows = {split(one.fault)[1]: one.shows for of in kin_signs for one in of.shown_by}
    shows |= {split(one.fault)[1]: one.shows for one in sign.shown_by}
    shows |= {of_story(one.by): one.shows for one in sign.tells_of}
    causes = (*shows, "")
    start = np.array([*shows.values(), sign.leak], dtype=float)
    known = weights.start * start

    def from_counts(heard: Heard) -> Floats:
        nothing = (0.0,) * len(sign.leak)
        return np.array([heard.counts.get((own_id, cause), nothing) for cause in causes])

    keys: dict[str, dict[str, None]] = {cause: {} for cause in causes}
    kin = []
    for heard in around.kin if weights.others > 0 else ():
        kin.append(_fit(heard.looks.get(own_id), causes, start, known, keys).credits + from_counts(heard))
    others = np.array(sum(map(from_counts, around.twins), np.zeros_like(start)))
    for n in range(len(causes) if kin else 0):
        counting = shares([float(of[n].sum()) for of in kin], weights.others)
        others[n] += sum(share * of[n] for share, of in zip(counting, kin, strict=True))
    ours: dict[str, dict[str, None]] = {cause: {} for cause in causes}
    fit = _fit(around.own.looks.get(own_id), causes, start, known + others, ours)
    return OneSign(
        causes,
        fit,
        others.sum(axis=1),
        {cause: tuple(dict.fromkeys((*ours[cause], *keys[cause]))) for cause in causes},
    )


def _fit(
    looks: Looks | None,
    causes: tuple[str, ...],
    start: Floats,
    counts: Floats,
    keys: dict[str, dict[str, None]],
) -> Fitted:
    """A fit to some looks; `keys` is filled with whose they are, by cause."""
    looks = looks or Looks(())
    n = len(looks.keys)
    after, free = np.zeros((len(causes), n)), np.zeros((len(causes), n), dtype=bool)
    rows = [causes.index(one) for one in looks.causes]
    if n:
        after[rows] = np.frombuffer(looks.after).reshape(n, -1).T
        free[rows] = np.frombuffer(looks.moved, dtype=np.int8).reshape(n, -1).T != 0
    after[-1] = 1.0  # the leak
    likely = np.array(looks.likely, dtype=float).reshape(n, start.shape[1]).T
    for cause, chances in zip(causes, after, strict=True):
        keys[cause] |= dict.fromkeys(looks.keys[m] for m in np.flatnonzero(chances >= THERE))
    fixed = np.array([of_story("") in cause for cause in causes])  # what a story shows stays the file's
    return fitted(before_sign(after, likely, start, free), likely, start, counts, fixed)
