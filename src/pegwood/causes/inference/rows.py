"""
The chances of all faults in many cases at once that differ in a few numbers.

Only the rows that touch a lot of faults and signs go through it once more; all others share the first row's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from pegwood.causes.inference.folding import Lot, lots
from pegwood.causes.inference.looked import Looked, looked, priors_with
from pegwood.causes.inference.net import FaultNet
from pegwood.causes.inference.tables import Floats
from pegwood.causes.inference.through import Cases, gone_through

#: A table may have so many entries: 2**20, which is still under a second and in 200 MB.
LARGEST_TABLE = 1 << 20
#: So many entries, of all rows and steps together, are gone through at once: 64 MB of tables.
AT_ONCE = 1 << 22


class TooWide(ValueError):
    """
    More signs hang together than can be gone through exactly.

    Attributes
    ----------
    entries : int
        What the largest table would hold.
    """

    def __init__(self, entries: int) -> None:
        self.entries = entries
        super().__init__(
            f"these signs hang together too widely: a table of {entries} entries, {LARGEST_TABLE} at most."
        )


@dataclass(frozen=True)
class Row:
    """
    What is otherwise in one case.

    Attributes
    ----------
    without : str
        A sign that only scales and is left out, or empty.
    scale : mapping of str to float
        By fault: what multiplies its present weight besides all else.
    factor : float
        What multiplies all, besides all else.
    starts, weights : mapping of str to array, shape (states,)
        In place of a sign's own.
    known : mapping of str to bool
        Faults taken as there, or as not there: what is said is what was seen together with that.
    """

    without: str = ""
    scale: Mapping[str, float] = field(default_factory=dict)
    factor: float = 1.0
    starts: Mapping[str, Floats] = field(default_factory=dict)
    weights: Mapping[str, Floats] = field(default_factory=dict)
    known: Mapping[str, bool] = field(default_factory=dict)


@dataclass(frozen=True)
class Problem:
    """
    What was seen, sorted.

    Attributes
    ----------
    priors : mapping of str to float
        With what was found.
    scaling : tuple of Looked
        Signs that only scale their causes, or have none.
    lots : tuple of Lot
        The others, by what hangs together.
    """

    priors: Mapping[str, float]
    scaling: tuple[Looked, ...]
    lots: tuple[Lot, ...]

    @property
    def entries(self) -> int:
        return max((lot.order.entries for lot in self.lots), default=1)


def problem(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    known: Mapping[str, bool] | None,
    *,
    whole: bool = False,
    wide: bool = False,
) -> Problem:
    """
    What was seen, sorted.

    `whole` keeps one state for the levels above what is possible; `wide` is content with any width.

    Raises
    ------
    ValueError
        If a sign or a fault is none of the net, or a likelihood cannot be.
    TooWide
        If it cannot be done exactly.
    """
    priors = priors_with(net, known)
    seen = [looked(net, sign, weights, priors, whole=whole) for sign, weights in evidence.items()]
    scaling = tuple(sign for sign in seen if sign.scales or not sign.shows)
    found = Problem(priors, scaling, tuple(lots([one for one in seen if not (one.scales or not one.shows)])))
    if found.entries > LARGEST_TABLE and not wide:
        raise TooWide(found.entries)
    return found


def solved(this: Problem, rows: Sequence[Row]) -> tuple[Floats, Floats]:
    """
    Logarithm of the chance of what was seen, (rows,), and the chance that each fault is absent, and present:
    (2, rows, faults), so that neither is the other's remainder.

    A row that holds what was seen impossible has minus infinity, and the chances of the faults before.
    """
    at = {fault: n for n, fault in enumerate(this.priors)}
    priors = np.array(list(this.priors.values()))
    scale = np.ones((len(rows), len(priors)))
    chance = np.array([[row.factor for row in rows]])
    for sign in this.scaling:
        counts = np.array([row.without != sign.id for row in rows])
        alone = float(sign.start @ sign.weights)
        chance = np.append(chance, [np.where(counts, alone, 1)], axis=0)
        for fault, moves in sign.shows.items():
            scale[counts, at[fault]] *= moves[0, 0]
    absent = np.tile(1 - priors, (len(rows), 1))
    for n, row in enumerate(rows):
        for fault, by in row.scale.items():
            scale[n, at[fault]] *= by
        for fault, is_there in row.known.items():
            (absent if is_there else scale)[n, at[fault]] = 0
    present = priors * scale
    with np.errstate(divide="ignore"):
        log = np.log(chance).sum(axis=0)
    before = np.stack((1 - priors, priors))
    faults = np.repeat(before[:, np.newaxis], len(rows), axis=1)
    free = np.ones(len(priors), dtype=bool)
    for lot in this.lots:
        columns = [at[fault] for fault in lot.faults]
        free[columns] = False
        log_here, faults[:, :, columns] = _gone_through(lot, absent[:, columns], present[:, columns], rows)
        log += log_here
    both = np.stack((absent[:, free], present[:, free]))
    with np.errstate(divide="ignore", invalid="ignore"):
        log += np.log(both.sum(axis=0)).sum(axis=1)
        faults[:, :, free] = both / both.sum(axis=0)
    faults[:, log == -np.inf] = before[:, np.newaxis]
    return log, faults


def _gone_through(lot: Lot, absent: Floats, present: Floats, rows: Sequence[Row]) -> tuple[Floats, Floats]:
    """The same for one lot: rows that do not touch it share one case."""
    common = np.all(present == present[0], axis=1) & np.all(absent == absent[0], axis=1)
    otherwise = [n for n, row in enumerate(rows) if row.starts or row.weights]
    for n in otherwise:
        common[n] &= lot.signs.keys().isdisjoint(rows[n].starts.keys() | rows[n].weights.keys())
    own = np.flatnonzero(~common)
    chosen = np.append(np.flatnonzero(common)[:1], own)
    at_once = max(1, AT_ONCE // lot.order.work)
    logs, chances = [], []
    for few in (chosen[n : n + at_once] for n in range(0, len(chosen), at_once)):
        cases = Cases(
            dict(zip(lot.faults, absent[few].T, strict=True)),
            dict(zip(lot.faults, present[few].T, strict=True)),
            {name: np.repeat(sign.start[np.newaxis], len(few), axis=0) for name, sign in lot.signs.items()},
            {name: np.repeat(sign.weights[np.newaxis], len(few), axis=0) for name, sign in lot.signs.items()},
        )
        for at, n in enumerate(few):
            for name in rows[n].starts.keys() & lot.signs.keys():
                cases.starts[name][at] = rows[n].starts[name]
            for name in rows[n].weights.keys() & lot.signs.keys():
                cases.weights[name][at] = rows[n].weights[name]
        log, faults = gone_through(lot, cases)
        logs.append(log)
        chances.append(faults)
    of_row = np.zeros(len(rows), dtype=int)
    of_row[own] = np.arange(len(own)) + bool(common.any())
    return np.concatenate(logs)[of_row], np.concatenate(chances, axis=1)[:, of_row]
