"""
The chances of all faults in several cases at once that saw the same and differ in what came before it.

Each row has chances of its own for the faults, and some faults of which it is known whether they are there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

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
    absent, present = 1 - before, before * scale
    faults, free = before.copy(), np.ones(len(at), dtype=bool)
    for lot in lots(list(open_signs.values())):
        if lot.order.entries > LARGEST_TABLE or lot.order.work * rows > MOST_WORK:
            raise TooWide(lot.order.entries)
        columns = [at[fault] for fault in lot.faults]
        free[columns] = False
        few = max(1, AT_ONCE // lot.order.work)
        for some in (slice(n, n + few) for n in range(0, rows, few)):
            log_here, faults[some, columns] = _one_lot(
                lot, absent[some, columns], present[some, columns], starts, some
            )
            log[some] += log_here
    total = absent[:, free] + present[:, free]
    with np.errstate(divide="ignore", invalid="ignore"):
        log += np.log(total).sum(axis=1)
        faults[:, free] = present[:, free] / total
    impossible = log == -np.inf
    faults[impossible] = before[impossible]
    return log, faults


def _started(sign: Looked, rows: int, known: Mapping[str, NDArray[np.bool_]]) -> tuple[Looked, Floats]:
    """The sign without the causes that are known, and what it starts from in each row."""
    start: Floats = np.tile(sign.start, (rows, 1))
    for fault, moves in sign.shows.items():
        if fault in known:
            start = np.where(known[fault][:, np.newaxis], start @ moves, start)
    return replace(sign, shows={fault: one for fault, one in sign.shows.items() if fault not in known}), start


def _one_lot(
    lot: Lot, absent: Floats, present: Floats, starts: Mapping[str, Floats], some: slice
) -> tuple[Floats, Floats]:
    rows = len(absent)
    log, found = gone_through(
        lot,
        Cases(
            dict(zip(lot.faults, absent.T, strict=True)),
            dict(zip(lot.faults, present.T, strict=True)),
            {name: starts[name][some] for name in lot.signs},
            {name: np.tile(sign.weights, (rows, 1)) for name, sign in lot.signs.items()},
        ),
    )
    return log, found[1]
