"""
Whole sets of faults drawn together, exact: what goes with what in the posterior is in them.

A lot is gone through forward once (`through.forward`); then every draw goes back through it. At each step the
table says how likely the fault is there given what the signs still open have come to, and given that, what
each of them had come to before the step: forward filtering, backward sampling (as for hidden Markov chains:
Carter and Kohn 1994, Fruhwirth-Schnatter 1994; memory). Faults in no lot are drawn by themselves.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.inference.folding import Lot
from pegwood.causes.inference.in_rows import Rows
from pegwood.causes.inference.looked import Looked
from pegwood.causes.inference.tables import Floats, closed, moved
from pegwood.causes.inference.through import Cases, Forward, Step, forward, table_after

Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]


def log_seen(here: Rows) -> Floats:
    """Logarithm of the chance of what was seen in each row, (rows,); minus infinity where impossible."""
    log = here.log.copy()
    for lot in here.lots:
        for some in here.few(lot):
            log[some] += forward(lot, here.cases(lot, some)).log_seen
    free = here.free
    with np.errstate(divide="ignore"):
        log += np.log(here.absent[:, free] + here.present[:, free]).sum(axis=1)
    return log


def drawn_together(here: Rows, rows: Ints, rng: np.random.Generator) -> Bools:
    """
    Sets of faults, each from the posterior of its row.

    Parameters
    ----------
    here : Rows
    rows : array of int, shape (draws,)
        The row of each draw; what was seen must be possible in it.
    rng : numpy Generator

    Returns
    -------
    there : array of bool, shape (draws, faults)
        In the order of the net's faults.
    """
    used, row = np.unique(rows, return_inverse=True)
    chance = here.present[used] / np.maximum(here.absent[used] + here.present[used], np.finfo(float).tiny)
    there = rng.random((len(rows), chance.shape[1]), dtype=np.float32) < chance.astype(np.float32)[row]
    for lot in here.lots:
        columns = np.array(here.columns(lot))
        for some in here.few(lot):
            mine = np.flatnonzero((rows >= some.start) & (rows < some.stop))
            if not len(mine):
                continue
            own, own_row = np.unique(rows[mine], return_inverse=True)
            cases = here.cases(lot, own)
            there[mine[:, np.newaxis], columns] = _lot(lot, cases, forward(lot, cases), own_row, rng)
    return there


def _lot(lot: Lot, cases: Cases, done: Forward, row: Ints, rng: np.random.Generator) -> Bools:
    """The faults of one lot, (draws, its faults)."""
    there: dict[str, Bools] = {}
    # what each sign that causes were folded into has come to by the leak and by these
    start_at: dict[str, Ints] = {}
    if lot.last:
        start_at[lot.last] = _picked((done.now.starts[lot.last] * cases.weights[lot.last])[row], rng)
    needed = {fold.sign for fold in lot.folds if fold.into_sign}
    state = np.zeros(len(row), dtype=np.intp)
    for n in reversed(range(len(done.steps))):
        before = table_after(done.core[n - 1]) if n else np.ones((len(done.chance), 1))
        state = _step_back(done, n, before, needed, (row, state), there, start_at, rng)
    for fold, (start, shown, absent, present) in zip(reversed(lot.folds), reversed(done.folds), strict=True):
        moves = lot.signs[fold.sign].shows[fold.fault]
        if fold.into_sign:
            at = start_at[fold.sign]
            is_there = _is_there(absent[row] * start[row, at], present[row] * shown[row, at], rng)
            there[fold.fault] = is_there
            at[is_there] = _picked(start[row[is_there]] * moves[:, at[is_there]].T, rng)
        elif fold.sign in needed:
            weights, is_there = cases.weights[fold.sign], there[fold.fault]
            with_it = (start * (weights @ moves.T))[row]
            start_at[fold.sign] = _picked(
                np.where(is_there[:, np.newaxis], with_it, (start * weights)[row]), rng
            )
    return np.column_stack([there[fault] for fault in lot.faults])


def _step_back(
    done: Forward,
    n: int,
    before: Floats,
    needed: set[str],
    at: tuple[Ints, Ints],
    there: dict[str, Bools],
    start_at: dict[str, Ints],
    rng: np.random.Generator,
) -> Ints:
    """One fault drawn, and from which entry of the table before the step each draw came."""
    row, state = at
    step = done.steps[n]
    without, shown, absent, present, opens, opens_shown = done.core[n]
    opened, entry = np.divmod(state, without.shape[1])
    is_there = _is_there(
        absent[row] * opens[row, opened] * without[row, entry],
        present[row] * opens_shown[row, opened] * shown[row, entry],
        rng,
    )
    there[step.fault] = is_there
    _starts_back(done.now, step, (row, opened, is_there), needed, start_at, rng)
    if not (step.closes or step.moves):
        return entry
    found = entry.copy()
    for these, with_it in ((~is_there, False), (is_there, True)):
        if these.any():
            found[these] = _entry_back(done.now, step, before, row[these], entry[these], with_it, rng)
    return found


def _starts_back(
    now: Cases,
    step: Step,
    at: tuple[Ints, Ints, Bools],
    needed: set[str],
    start_at: dict[str, Ints],
    rng: np.random.Generator,
) -> None:
    """What the signs that opened at this step had come to before its fault."""
    row, opened, is_there = at
    for sign in reversed(step.opens):
        opened, level = np.divmod(opened, len(sign.weights))
        if sign.id in needed:
            moves = sign.shows[step.fault]
            level[is_there] = _picked(now.starts[sign.id][row[is_there]] * moves[:, level[is_there]].T, rng)
            start_at[sign.id] = level


def _entry_back(
    now: Cases,
    step: Step,
    before: Floats,
    row: Ints,
    entry: Ints,
    with_it: bool,
    rng: np.random.Generator,
) -> Ints:
    """From which entry of the table before the step an entry came, the fault being there or not."""
    table, tables = before, list[Floats]()
    weights = [_weights(now, sign, step, with_it) for sign, _ in step.closes]
    for (_, after), counts in zip(step.closes, weights, strict=True):
        tables.append(table)
        table = closed(table, after, counts)
    moves: Sequence[tuple[Floats, int]] = step.moves if with_it else ()
    for one, after in moves:
        tables.append(table)
        table = moved(table, after, one)
    for one, after in reversed(moves):
        states = len(one)
        high, low = np.divmod(entry, states * after)
        level, low = np.divmod(low, after)
        first = high * states * after + low
        came = tables.pop()[row[:, np.newaxis], first[:, np.newaxis] + after * np.arange(states)]
        entry = first + after * _picked(came * one[:, level].T, rng)
    for (_, after), counts in zip(reversed(step.closes), reversed(weights), strict=True):
        states = counts.shape[1]
        high, low = np.divmod(entry, after)
        first = high * states * after + low
        came = tables.pop()[row[:, np.newaxis], first[:, np.newaxis] + after * np.arange(states)]
        entry = first + after * _picked(came * counts[row], rng)
    return entry


def _weights(now: Cases, sign: Looked, step: Step, with_it: bool) -> Floats:
    weights = now.weights[sign.id]
    return weights @ sign.shows[step.fault].T if with_it else weights


def _is_there(absent: Floats, present: Floats, rng: np.random.Generator) -> Bools:
    return np.asarray(rng.random(len(absent)) * (absent + present) < present)


def _picked(weights: Floats, rng: np.random.Generator) -> Ints:
    """One state of each row, (rows,), as likely as its weight."""
    upto = np.cumsum(weights, axis=1)
    at = rng.random(len(weights)) * upto[:, -1]
    return np.asarray((at[:, np.newaxis] >= upto[:, :-1]).sum(axis=1), dtype=np.intp)
