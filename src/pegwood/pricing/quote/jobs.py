"""
Jobs done on drawn cameras: every mend till it holds, the strip-down once, parts once.

Each fault that is there is put right: its cheapest mend first, after a failure the next one, in turn, till
one holds. A mend may break something else, which is put right as well. What several faults need off comes off
once, and goes back once; a part is bought once. What a step that several share costs is told of each alike
(which is Shapley's way of sharing a way: Littlechild and Owen 1973; memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.drawn import Cameras
from pegwood.pricing.quote.work import Few, Floats, Ints, Work

Bools = NDArray[np.bool_]
#: A mend that has failed so often is counted as held: fewer than 1 in 1e10 where half of all tries fail.
MOST_TRIES = 50
#: So many draws go through the way in together: their tables stay in the processor's cache.
AT_ONCE = 2048


@dataclass(frozen=True, eq=False)
class Jobs:
    """
    What each job came to. All arrays are of shape (n_draws,); money is in minor units, without tax.

    Attributes
    ----------
    work : Work
    minutes : array
        At the bench, [min].
    parts, mends : array
        Parts bought; mends tried.
    raw, net : array
        What it comes to by the rates, and with the minimum.
    wait_days : array
        For the part that comes last, [day].
    shares : Shares
        What of `raw` each fault, and the rest, accounts for.
    """

    work: Work
    minutes: Floats
    parts: Floats
    mends: Floats
    raw: Floats
    net: Floats
    wait_days: Floats
    shares: Shares

    def __len__(self) -> int:
        return len(self.raw)

    @property
    def gross(self) -> Floats:
        """What the owner pays, in minor units."""
        return self.net * float(1 + self.work.terms.tax)

    @property
    def own_cost(self) -> Floats:
        """What it costs the bench itself, in minor units."""
        terms = self.work.terms
        hours = self.minutes * (terms.own_per_minute - terms.per_minute)
        return self.raw + hours - self.parts * (1 - terms.part_costs)


@dataclass(frozen=True, eq=False)
class Shares:
    """
    Money by draw and fault, in minor units: entry k is `money[k]` of fault `fault[k]` in draw `draw[k]`.

    Attributes
    ----------
    draw, fault : array of int, shape (n_entries,)
    money : array, shape (n_entries,)
    rest : array, shape (n_draws,)
        What falls to no fault.
    there : array of bool, shape (n_draws, n_faults)
        Faults put right, those that a mend broke with them.
    part_for : array of int, shape (n_draws, n_parts)
        The fault for which each part was bought first; -1 where it was not.
    """

    draw: Ints
    fault: Ints
    money: Floats
    rest: Floats
    there: Bools
    part_for: NDArray[np.int16]


def jobs_on(work: Work, cameras: Cameras, seed: int, left: Iterable[str] = ()) -> Jobs:
    """
    The jobs on some cameras: the same for the same seed.

    Parameters
    ----------
    work : Work
    cameras : Cameras
        Of the same family.
    seed : int
    left : iterable of str
        Faults that are left as they are.
    """
    terms, draws = work.terms, len(cameras)
    # one stream for each purpose: what one of them draws more of does not move the others
    hands, ins, outs, others = (np.random.default_rng([seed, n]) for n in range(1, 5))
    hand = hands.standard_normal(draws, dtype=np.float32)
    there = cameras.there & (work.count > 0)
    if left := frozenset(left):
        there = there & [fault not in left for fault in work.faults]
    mended = _Mended(work, there, cameras.there, hand, outs)
    draw, fault = np.divmod(np.flatnonzero(mended.there), len(work.faults))
    opened = work.target[fault] >= 0
    draw, fault = draw[opened], fault[opened]
    in_minutes, ways = _way_in(work, draw, work.target[fault], hand, ins)
    part_draw, part = np.divmod(np.flatnonzero(mended.part_for >= 0), max(1, len(work.parts)))
    score = others.standard_normal(len(part), dtype=np.float32)
    bought = work.costs.at(part, score).astype(np.float64) if len(part) else np.zeros(0)
    always = _always(work, hand, others) + work.done.minutes
    minutes = always + mended.minutes + (1 + terms.back) * in_minutes
    parts = _summed(part_draw, bought, draws) + terms.minor(work.done.parts)
    rest = always * terms.per_minute + terms.minor(terms.consumables) + terms.minor(work.done.parts)
    raw = minutes * terms.per_minute + parts + terms.minor(terms.consumables)
    raw = raw + mended.tries * terms.minor(terms.per_mend)
    money = [
        mended.pair_minutes * terms.per_minute + terms.minor(terms.per_mend),
        ways * (1 + terms.back) * terms.per_minute,
        bought,
    ]
    return Jobs(
        work=work,
        minutes=minutes,
        parts=parts,
        mends=mended.tries,
        raw=raw,
        net=np.maximum(raw, terms.minor(terms.minimum)),
        wait_days=_waits(work, draws, part_draw, part, others),
        shares=Shares(
            draw=np.concatenate([mended.pair_draw, draw, part_draw]),
            fault=np.concatenate([mended.pair_fault, fault, mended.part_for[part_draw, part]]),
            money=np.concatenate(money),
            rest=rest,
            there=mended.there,
            part_for=mended.part_for,
        ),
    )


def scores(hand: Few, own: Few, share: float) -> Few:
    """Normal scores that share the hand of their draw."""
    own *= np.float32(math.sqrt(1 - share))
    if share:
        own += np.float32(math.sqrt(share)) * hand
    return own


def _summed(at: Ints, what: Floats, size: int) -> Floats:
    return np.bincount(at, what, size).astype(np.float64)


class _Mended:
    """
    Every fault mended till it holds.

    Attributes
    ----------
    there : array of bool, shape (n_draws, n_faults)
    minutes, tries : array, shape (n_draws,)
    pair_draw, pair_fault, pair_minutes : array, shape (n_tries,)
        Of each mend tried.
    part_for : array of int16, shape (n_draws, n_parts)
    """

    def __init__(
        self, work: Work, there: Bools, as_found: Bools, hand: Few, rng: np.random.Generator
    ) -> None:
        self._work, self._hand, self._rng, self._as_found = work, hand, rng, as_found
        self.there = there.copy()
        self.part_for = np.full((len(there), len(work.parts)), -1, dtype=np.int16)
        draw, fault = np.divmod(np.flatnonzero(there), there.shape[1])
        none = (draw[:0], fault[:0], np.zeros(0, dtype=np.float32))
        draws, faults, minutes = zip(none, *self._rounds(draw, fault), strict=True)
        self.pair_draw, self.pair_fault = np.concatenate(draws), np.concatenate(faults)
        self.pair_minutes = np.concatenate(minutes).astype(np.float64)
        self.minutes = _summed(self.pair_draw, self.pair_minutes, len(there))
        self.tries = np.bincount(self.pair_draw, minlength=len(there)).astype(np.float64)

    def _rounds(self, draw: Ints, fault: Ints) -> Iterator[tuple[Ints, Ints, Few]]:
        work, rng = self._work, self._rng
        tried = np.zeros(len(draw), dtype=np.intp)
        while len(draw):
            mend = work.first[fault] + tried % work.count[fault]
            own = rng.standard_normal(len(draw), dtype=np.float32)
            score = scores(self._hand[draw] if work.terms.hand else own, own, work.terms.hand)
            yield draw, fault, work.mend_minutes.at(mend, score)
            self._use_parts(draw, fault, mend)
            new_draw, new_fault = self._broken(draw, mend)
            fails = rng.random(len(draw), dtype=np.float32) >= work.success[mend]
            fails &= tried < MOST_TRIES - 1
            tried = np.concatenate([tried[fails] + 1, np.zeros(len(new_draw), dtype=np.intp)])
            draw, fault = (
                np.concatenate([draw[fails], new_draw]),
                np.concatenate([fault[fails], new_fault]),
            )

    def _use_parts(self, draw: Ints, fault: Ints, mend: Ints) -> None:
        # padded at the end: only what uses one part may use another
        uses = np.arange(len(mend))
        for needs in self._work.needs.T:
            uses = uses[needs[mend[uses]] >= 0]
            of, which = draw[uses], needs[mend[uses]]
            fresh = self.part_for[of, which] < 0
            self.part_for[of[fresh], which[fresh]] = fault[uses[fresh]]

    def _broken(self, draw: Ints, mend: Ints) -> tuple[Ints, Ints]:
        """What these mends broke that was whole; it counts as there from now on."""
        work, found = self._work, [np.zeros(0, dtype=np.intp)]
        width = self.there.shape[1]
        breaking = np.arange(len(mend))
        for breaks, chance in zip(work.breaks.T, work.breaks_chance.T, strict=True):
            breaking = breaking[breaks[mend[breaking]] >= 0]
            happens = self._rng.random(len(breaking), dtype=np.float32) < chance[mend[breaking]]
            which, of = breaks[mend[breaking[happens]]], draw[breaking[happens]]
            whole = ~(self.there[of, which] | self._as_found[of, which]) & (work.count[which] > 0)
            place = np.unique(of[whole] * width + which[whole])
            self.there.ravel()[place] = True
            found.append(place)
        new_draw, new_fault = np.divmod(np.concatenate(found), width)
        return new_draw, new_fault


def _way_in(work: Work, draw: Ints, target: Ints, hand: Few, rng: np.random.Generator) -> tuple[Floats, Few]:
    """
    Minutes of the way in, each step once, (draws,); and what of it falls to each fault, shared alike by all
    that need a step.

    `draw` and `target` are those of each fault for which a part must be open, in the order of the draws.
    """
    in_minutes, of_each = np.zeros(len(hand)), np.zeros(len(draw), dtype=np.float32)
    for first in range(0, len(hand), AT_ONCE):
        some = slice(first, first + AT_ONCE)
        mine = slice(*np.searchsorted(draw, (some.start, some.stop)))
        in_minutes[some], of_each[mine] = _steps_in(work, draw[mine] - first, target[mine], hand[some], rng)
    return in_minutes, of_each


def _steps_in(
    work: Work, draw: Ints, target: Ints, hand: Few, rng: np.random.Generator
) -> tuple[Floats, Few]:
    draws, size = len(hand), len(work.targets)
    wanted = np.bincount(target * draws + draw, minlength=size * draws).astype(np.float32)
    shared_by = np.asarray(work.brings.T @ wanted.reshape(size, draws))
    score = scores(hand, rng.standard_normal(shared_by.shape, dtype=np.float32), work.terms.hand)
    minutes = work.step_minutes.all_at(score)
    if len(work.risk_step):
        hit = rng.random((len(work.risk_step), draws), dtype=np.float32) < work.risk_chance[:, np.newaxis]
        risk, where = np.divmod(np.flatnonzero(hit), draws)
        np.add.at(minutes, (work.risk_step[risk], where), work.risk_minutes[risk])
    minutes *= shared_by > 0
    in_minutes = minutes.sum(axis=0, dtype=np.float64)
    minutes /= np.maximum(shared_by, 1.0)
    return in_minutes, np.asarray(work.brings @ minutes)[target, draw]


def _always(work: Work, hand: Few, rng: np.random.Generator) -> Floats:
    """Minutes of what every job takes, and of the way back of what is off already, (draws,)."""
    size = len(work.always_back)
    own = rng.standard_normal((size, len(hand)), dtype=np.float32)
    score = scores(hand, own, work.terms.hand)
    if not size:
        return np.zeros(len(hand))
    minutes = work.always_minutes.all_at(score).astype(np.float64)
    return np.asarray(np.where(work.always_back, work.terms.back, 1.0) @ minutes)


def _waits(work: Work, draws: int, draw: Ints, part: Ints, rng: np.random.Generator) -> Floats:
    """How long the last part keeps the job waiting, (draws,), [day]; given each part of each draw."""
    longest = np.zeros(draws, dtype=np.float32)
    place = np.full(len(work.parts), -1, dtype=np.intp)
    place[list(work.wait_for)] = np.arange(len(work.wait_for))
    of = place[part]
    waits = np.flatnonzero(of >= 0)
    if len(waits):
        took = work.waits.at(of[waits], rng.standard_normal(len(waits), dtype=np.float32))
        np.maximum.at(longest, draw[waits], took)
    return longest.astype(np.float64)
