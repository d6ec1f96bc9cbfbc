"""
A lot of faults and signs gone through fault by fault, many rows at once.

Kept is a table over the signs that are *open*: of which some cause was gone through and some is still to
come; one axis each, over what the causes so far have shown at most. The table's adjoint, taken back the same
way, gives the chance of every fault at once. Rows differ in the numbers of `Cases` and share all else.

The idea of going through causes one at a time is that of causal independence (Zhang and Poole 1996; memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pegwood.causes.inference.folding import Lot
from pegwood.causes.inference.looked import Looked
from pegwood.causes.inference.tables import Floats, closed, moved, reopened, side_by_side


@dataclass
class Cases:
    """
    The numbers in which rows may differ.

    Attributes
    ----------
    absent, present : dict of str to array, shape (rows,)
        What it counts that a fault is not there, or is.
    starts, weights : dict of str to array, shape (rows, states)
        Of each sign.
    """

    absent: dict[str, Floats]
    present: dict[str, Floats]
    starts: dict[str, Floats]
    weights: dict[str, Floats]


@dataclass
class Adjoints:
    """How the chance of what was seen moves with each of `Cases`; a fault's two to a common factor."""

    absent: dict[str, Floats]
    present: dict[str, Floats]
    starts: dict[str, Floats]


@dataclass(frozen=True)
class Step:
    """One fault: what closes, which open signs it moves (how many entries lie behind each), what opens."""

    fault: str
    closes: tuple[tuple[Looked, int], ...]
    moves: tuple[tuple[Floats, int], ...]
    opens: tuple[Looked, ...]


@dataclass(frozen=True)
class Forward:
    """
    A lot gone through once, and what each step had before it.

    Attributes
    ----------
    now : Cases
        After folding.
    folds : list of (start, shown, absent, present)
        Before each fold: what its sign started from, the same with the fault, and the fault's two numbers.
    steps : list of Step
    core : list of (without, shown, absent, present, opens, opens_shown)
        Of each step: the table with the signs that close summed, without the fault and with it; the fault's
        two numbers; what the signs that open start from, without it and with it. The table after the step is
        absent x opens x without + present x opens_shown x shown.
    chance, log : array, shape (rows,)
        The chance of what was seen, and the logarithm of a factor to it.
    """

    now: Cases
    folds: list[tuple[Floats, ...]]
    steps: list[Step]
    core: list[tuple[Floats, ...]]
    chance: Floats
    log: Floats

    @property
    def log_seen(self) -> Floats:
        """Logarithm of the chance of what was seen, (rows,)."""
        with np.errstate(divide="ignore"):
            return np.asarray(self.log + np.log(self.chance))


def forward(lot: Lot, cases: Cases) -> Forward:
    """The lot folded and gone through, from its first fault to its last."""
    now = Cases(dict(cases.absent), dict(cases.present), dict(cases.starts), cases.weights)
    log = np.zeros(len(next(iter(cases.absent.values()))))
    tape: list[tuple[Floats, ...]] = []
    for fold in lot.folds:
        fault, moves = fold.fault, lot.signs[fold.sign].shows[fold.fault]
        start, absent, present = now.starts[fold.sign], now.absent[fault], now.present[fault]
        shown = start @ moves
        tape.append((start, shown, absent, present))
        if fold.into_sign:
            start = absent[:, np.newaxis] * start + present[:, np.newaxis] * shown
            by = _largest(start.max(axis=1))
            now.starts[fold.sign] = start / by[:, np.newaxis]
        else:
            weights = now.weights[fold.sign]
            absent, present = absent * _dot(start, weights), present * _dot(shown, weights)
            by = _largest(np.maximum(absent, present))
            now.absent[fault], now.present[fault] = absent / by, present / by
        log += np.log(by)
    if lot.last:
        return Forward(now, tape, [], [], _dot(now.starts[lot.last], now.weights[lot.last]), log)
    steps = _steps(lot)
    core, chance, log_core = _core(steps, now)
    return Forward(now, tape, steps, core, chance, log + log_core)


def gone_through(lot: Lot, cases: Cases) -> tuple[Floats, Floats]:
    """
    Logarithm of the chance of what was seen, (rows,), and that a fault is absent, present: (2, rows, faults).

    The faults' chances are nan where what was seen is impossible.
    """
    there = forward(lot, cases)
    now = there.now
    found = Adjoints({}, {}, {})
    if lot.last:
        found.starts[lot.last] = now.weights[lot.last]
    else:
        _core_back(lot, there, found)
    for fold, (start, shown, absent, present) in zip(reversed(lot.folds), reversed(there.folds), strict=True):
        fault, moves = fold.fault, lot.signs[fold.sign].shows[fold.fault]
        if fold.into_sign:
            to = found.starts[fold.sign]
            found.absent[fault], found.present[fault] = _dot(to, start), _dot(to, shown)
            back = absent[:, np.newaxis] * to + present[:, np.newaxis] * (to @ moves.T)
        else:
            weights = now.weights[fold.sign]
            of_absent, of_present = found.absent[fault], found.present[fault]
            back = (of_absent * absent)[:, np.newaxis] * weights
            back = back + (of_present * present)[:, np.newaxis] * (weights @ moves.T)
            found.absent[fault] = of_absent * _dot(start, weights)
            found.present[fault] = of_present * _dot(shown, weights)
        found.starts[fold.sign] = back / _largest(back.max(axis=1))[:, np.newaxis]
    both = np.array(
        [
            [found.absent[fault] * cases.absent[fault] for fault in lot.faults],
            [found.present[fault] * cases.present[fault] for fault in lot.faults],
        ]
    )
    with np.errstate(invalid="ignore"):
        return there.log_seen, (both / both.sum(axis=0)).swapaxes(1, 2)


def _steps(lot: Lot) -> list[Step]:
    """Signs that open come first in the table: what lies far behind is moved fastest."""
    faults = lot.order.faults
    last = {
        sign: max(faults.index(one) for one in of.shows if one in faults)
        for sign, of in lot.signs.items()
        if any(one in faults for one in of.shows)
    }
    folded = {fold.sign for fold in lot.folds if not fold.into_sign}
    mine = {
        fault: [one for one in last if one not in folded and fault in lot.signs[one].shows]
        for fault in faults
    }
    open_now: list[str] = []
    steps = []

    def after(sign: str) -> int:
        return math.prod(len(lot.signs[one].weights) for one in open_now[open_now.index(sign) + 1 :])

    for n, fault in enumerate(faults):
        closes = []
        for sign in [one for one in open_now if one in mine[fault] and last[one] == n]:
            closes.append((lot.signs[sign], after(sign)))
            open_now.remove(sign)
        moves = [(lot.signs[one].shows[fault], after(one)) for one in open_now if one in mine[fault]]
        opens = [one for one in mine[fault] if one not in open_now and last[one] > n]
        open_now = opens + open_now
        steps.append(Step(fault, tuple(closes), tuple(moves), tuple(lot.signs[one] for one in opens)))
    return steps


def _core(steps: Sequence[Step], cases: Cases) -> tuple[list[tuple[Floats, ...]], Floats, Floats]:
    """What is left after folding: its tape, a chance and the logarithm of a factor to it."""
    rows = len(cases.absent[steps[0].fault])
    table: Floats = np.ones((rows, 1))
    by, log = np.ones(rows), np.zeros(rows)
    tape: list[tuple[Floats, ...]] = []
    for step in steps:
        without = shown = table
        for sign, after in step.closes:
            weights = cases.weights[sign.id]
            without = closed(without, after, weights)
            shown = closed(shown, after, weights @ sign.shows[step.fault].T)
        for moves, after in step.moves:
            shown = moved(shown, after, moves)
        absent, present = cases.absent[step.fault] / by, cases.present[step.fault] / by
        starts = [cases.starts[sign.id] for sign in step.opens]
        opens = side_by_side(starts, rows)
        opens_shown = side_by_side(_shown(starts, step), rows)
        tape.append((without, shown, absent, present, opens, opens_shown))
        table = table_after(tape[-1])
        by = _largest(table.max(axis=1))
        log += np.log(by)
    # `by` of the last step is in `log` already
    return tape, table[:, 0] / by, log


def table_after(of: tuple[Floats, ...]) -> Floats:
    """The table after a step from what its tape keeps, (rows, entries)."""
    without, shown, absent, present, opens, opens_shown = of
    table = (absent[:, np.newaxis] * opens)[:, :, np.newaxis] * without[:, np.newaxis, :]
    table += (present[:, np.newaxis] * opens_shown)[:, :, np.newaxis] * shown[:, np.newaxis, :]
    return table.reshape(len(absent), -1)


def _core_back(lot: Lot, there: Forward, found: Adjoints) -> None:
    """The adjoints of what is left after folding, from the last step to the first."""
    cases, rows = there.now, len(there.chance)
    needed = {fold.sign for fold in lot.folds if fold.into_sign}
    adjoint: Floats = np.ones((rows, 1))
    for step, (without, shown, absent, present, opens, opens_shown) in zip(
        reversed(there.steps), reversed(there.core), strict=True
    ):
        adjoint = adjoint.reshape(rows, opens.shape[1], -1)
        of_absent = np.matmul(adjoint, without[:, :, np.newaxis])[:, :, 0]
        of_present = np.matmul(adjoint, shown[:, :, np.newaxis])[:, :, 0]
        found.absent[step.fault] = _dot(of_absent, opens)
        found.present[step.fault] = _dot(of_present, opens_shown)
        starts = [cases.starts[sign.id] for sign in step.opens]
        for n, sign in enumerate(step.opens):
            if sign.id in needed:
                back = absent[:, np.newaxis] * _without_one(of_absent, starts, n)
                to = _without_one(of_present, _shown(starts, step), n)
                back = back + present[:, np.newaxis] * (to @ sign.shows[step.fault].T)
                found.starts[sign.id] = back / _largest(back.max(axis=1))[:, np.newaxis]
        back_without = np.matmul((absent[:, np.newaxis] * opens)[:, np.newaxis, :], adjoint)[:, 0]
        back_shown = np.matmul((present[:, np.newaxis] * opens_shown)[:, np.newaxis, :], adjoint)[:, 0]
        for moves, after in reversed(step.moves):
            back_shown = moved(back_shown, after, moves.T)
        for sign, after in reversed(step.closes):
            weights = cases.weights[sign.id]
            back_without = reopened(back_without, after, weights)
            back_shown = reopened(back_shown, after, weights @ sign.shows[step.fault].T)
        adjoint = back_without + back_shown
        adjoint /= _largest(adjoint.max(axis=1))[:, np.newaxis]


def _shown(starts: Sequence[Floats], step: Step) -> list[Floats]:
    return [one @ sign.shows[step.fault] for one, sign in zip(starts, step.opens, strict=True)]


def _without_one(table: Floats, starts: Sequence[Floats], n: int) -> Floats:
    """The table over several signs, summed with the starts of all but one: (rows, states of that one)."""
    for at in reversed(range(len(starts))):
        if at != n:
            behind = starts[n].shape[1] if n > at else 1
            table = closed(table, behind, starts[at])
    return table


def _dot(one: Floats, other: Floats) -> Floats:
    return np.asarray(np.einsum("ij,ij->i", one, other))


def _largest(by: Floats) -> Floats:
    """What to divide by: one where there is nothing."""
    return np.where(by > 0, by, 1.0)
