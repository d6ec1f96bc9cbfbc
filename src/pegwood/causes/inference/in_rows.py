"""
The chances of all faults in several cases at once that saw the same and differ in what came before it.

Each row has chances of its own for the faults, and some faults of which it is known whether they are there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.inference.folding import Lot, lots
from pegwood.causes.inference.looked import Looked, looked
from pegwood.causes.inference.net import FaultNet
from pegwood.causes.inference.rows import AT_ONCE, LARGEST_TABLE, TooWide
from pegwood.causes.inference.tables import Floats
from pegwood.causes.inference.through import Cases, gone_through

#: So many entries of all rows and steps together may be gone through: a second or two.
MOST_WORK = 1 << 25


@dataclass(frozen=True)
class Rows:
    """
    What was seen, sorted, for rows that differ in what came before it.

    Attributes
    ----------
    before, absent, present : array, shape (rows, faults)
        The chance of each fault with what is known; what it counts that it is not there, or is, with the
        signs that only scale it.
    log : array, shape (rows,)
        Logarithm of what the signs that only scale count by themselves.
    starts : mapping of str to array, shape (rows, states)
        Of each sign of the lots.
    lots : tuple of Lot
    """

    at: Mapping[str, int]
    before: Floats
    absent: Floats
    present: Floats
    log: Floats
    starts: Mapping[str, Floats]
    lots: tuple[Lot, ...]

    def columns(self, lot: Lot) -> list[int]:
        """Where the faults of a lot stand."""
        return [self.at[fault] for fault in lot.faults]

    @property
    def free(self) -> NDArray[np.bool_]:
        """Which faults are in no lot, (faults,)."""
        free = np.ones(len(self.at), dtype=bool)
        for lot in self.lots:
            free[self.columns(lot)] = False
        return free

    def few(self, lot: Lot) -> Iterator[slice]:
        """All rows, as many together as may be gone through at once."""
        rows, few = len(self.before), max(1, AT_ONCE // lot.order.work)
        return (slice(n, min(n + few, rows)) for n in range(0, rows, few))

    def cases(self, lot: Lot, some: slice | NDArray[np.intp]) -> Cases:
        """The numbers of a lot in some of the rows."""
        columns = self.columns(lot)
        absent, present = self.absent[some][:, columns], self.present[some][:, columns]
        return Cases(
            dict(zip(lot.faults, absent.T, strict=True)),
            dict(zip(lot.faults, present.T, strict=True)),
            {name: self.starts[name][some] for name in lot.signs},
            {name: np.tile(sign.weights, (len(absent), 1)) for name, sign in lot.signs.items()},
        )


def sorted_rows(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    priors: Floats,
    known: Mapping[str, NDArray[np.bool_]],
) -> Rows:
    """
    What was seen, sorted; parameters and errors as `in_rows`.

    Raises
    ------
    ValueError, TooWide
    """
    at = {fault: n for n, fault in enumerate(net.priors)}
    before = priors.copy()
    for fault, is_there in known.items():
        before[:, at[fault]] = is_there
    rows = len(priors)
    log, scale = np.zeros(rows), np.ones_like(before)
    open_signs: dict[str, Looked] = {}
    starts: dict[str, Floats] = {}
    unsure = dict.fromkeys(net.priors, 0.5)
    for name, weights in evidence.items():
        sign, start = _started(looked(net, name, weights, unsure), rows, known)
        if sign.scales or not sign.shows:
            with np.errstate(divide="ignore"):
                log += np.log(start @ sign.weights)
            for fault, moves in sign.shows.items():
                scale[:, at[fault]] *= moves[0, 0]
        else:
            open_signs[name], starts[name] = sign, start
    found = tuple(lots(list(open_signs.values())))
    for lot in found:
        if lot.order.entries > LARGEST_TABLE or lot.order.work * rows > MOST_WORK:
            raise TooWide(lot.order.entries)
    return Rows(at, before, 1 - before, before * scale, log, starts, found)


def in_rows(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    priors: Floats,
    known: Mapping[str, NDArray[np.bool_]],
) -> tuple[Floats, Floats]:
    """
    Logarithm of the chance of what was seen, and each fault's chance, in each row.

    Parameters
    ----------
    net : FaultNet
        Its priors are not used.
    evidence : mapping of str to sequence of float
        By sign: how likely what was seen is at each of its levels.
    priors : array, shape (rows, faults)
        Chance of each fault before any sign, above 0 and below 1, in the order of the net's.
    known : mapping of str to array of bool, shape (rows,)
        By fault: whether it is there, in each row.

    Returns
    -------
    log : array, shape (rows,)
        Minus infinity where a row holds what was seen impossible; its faults are as before.
    faults : array, shape (rows, faults)

    Raises
    ------
    ValueError
        If a sign is none of the net, or a likelihood cannot be.
    TooWide
        If it cannot be done exactly.
    """
    here = sorted_rows(net, evidence, priors, known)
    log, faults = here.log.copy(), here.before.copy()
    for lot in here.lots:
        columns = here.columns(lot)
        for some in here.few(lot):
            log_here, (_, faults[some, columns]) = gone_through(lot, here.cases(lot, some))
            log[some] += log_here
    free = here.free
    total = here.absent[:, free] + here.present[:, free]
    with np.errstate(divide="ignore", invalid="ignore"):
        log += np.log(total).sum(axis=1)
        faults[:, free] = here.present[:, free] / total
    impossible = log == -np.inf
    faults[impossible] = here.before[impossible]
    return log, faults


def _started(sign: Looked, rows: int, known: Mapping[str, NDArray[np.bool_]]) -> tuple[Looked, Floats]:
    """The sign without the causes that are known, and what it starts from in each row."""
    start: Floats = np.tile(sign.start, (rows, 1))
    for fault, moves in sign.shows.items():
        if fault in known:
            start = np.where(known[fault][:, np.newaxis], start @ moves, start)
    return replace(sign, shows={fault: one for fault, one in sign.shows.items() if fault not in known}), start
