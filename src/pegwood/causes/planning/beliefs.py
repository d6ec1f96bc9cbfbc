"""
The chances of faults and of answers, one lot of faults that hang together by their signs at a time.

Faults of different mechanisms share no sign: what is seen of one says nothing of the other, so each lot is
weighed by itself, and what was weighed once is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.inference import FaultNet, Predicted, TooWide, posterior_or_near, predicted

Floats = NDArray[np.float64]
T = TypeVar("T")
Seen = Mapping[str, Sequence[float]]
#: So many lots are kept before all are let go: a few megabytes.
MOST_KEPT = 100_000


class Contradiction(ValueError):
    """What was seen or found cannot all be, as the knowledge has it; `signs` are where it clashes."""

    def __init__(self, signs: tuple[str, ...]) -> None:
        self.signs = signs
        super().__init__(
            f"What was answered to {', '.join(signs)} cannot all be, as the knowledge has it. "
            "Look again, or take one answer or ruling back."
        )


class Beliefs:
    """
    A net, lot by lot.

    Attributes
    ----------
    faults : tuple of str
        All, in the order of the net.
    lots : tuple of array of int
        The places of each lot's faults in `faults`.
    lot_of : mapping of str to int
        By sign.
    """

    def __init__(self, net: FaultNet) -> None:
        self.net = net
        self.faults = tuple(net.priors)
        self.at = {fault: n for n, fault in enumerate(self.faults)}
        nets, self.lot_of = _split(net)
        self.lot_of_fault = {fault: n for n, lot in enumerate(nets) for fault in lot.priors}
        self.nets = tuple(nets)
        self.lots = tuple(np.array([self.at[fault] for fault in lot.priors], dtype=np.intp) for lot in nets)
        self._chances: dict[tuple[object, ...], Floats] = {}
        self._predicted: dict[tuple[object, ...], dict[str, Predicted]] = {}

    def _mine(self, lot: int, seen: Seen, known: Mapping[str, bool]) -> tuple[Seen, dict[str, bool]]:
        net = self.nets[lot]
        mine = {sign: tuple(seen[sign]) for sign in net.signs if sign in seen}
        return mine, {fault: known[fault] for fault in net.priors if fault in known}

    def of_lot(self, lot: int, seen: Seen, known: Mapping[str, bool]) -> Floats:
        """
        Chance of each fault of a lot, [1].

        Raises
        ------
        Contradiction
            If all that together is impossible.
        """
        mine, ruled = self._mine(lot, seen, known)
        key = (lot, *mine.items(), *ruled.items())
        if (kept := self._chances.get(key)) is None:
            found = posterior_or_near(self.nets[lot], mine, ruled)
            if not found.is_possible:
                raise Contradiction(tuple(mine))
            kept = np.array([found.faults[fault] for fault in self.nets[lot].priors], dtype=np.float64)
            _keep(self._chances, key, kept)
        return kept

    def chances(self, seen: Seen, known: Mapping[str, bool]) -> Floats:
        """Chance of every fault, [1]; shape (n_faults,)."""
        found = np.empty(len(self.faults))
        for n, lot in enumerate(self.lots):
            found[lot] = self.of_lot(n, seen, known)
        return found

    def predicted(self, lot: int, seen: Seen, known: Mapping[str, bool]) -> dict[str, Predicted]:
        """
        What each sign of a lot that was not looked at would say of the faults of that lot; nothing where they
        hang together too widely to be gone through.
        """
        mine, ruled = self._mine(lot, seen, known)
        key = (lot, *mine.items(), *ruled.items())
        if (kept := self._predicted.get(key)) is None:
            signs = [sign for sign in self.nets[lot].signs if sign not in mine]
            try:
                kept = predicted(self.nets[lot], mine, ruled, signs)
            except TooWide:
                kept = {}
            _keep(self._predicted, key, kept)
        return kept


def _keep(kept: dict[tuple[object, ...], T], key: tuple[object, ...], value: T) -> None:
    if len(kept) >= MOST_KEPT:
        kept.clear()
    kept[key] = value


def _split(net: FaultNet) -> tuple[list[FaultNet], dict[str, int]]:
    """The net's lots, and the lot of each sign; a sign that nothing shows is in none."""
    lot_of_fault = {fault: n for n, fault in enumerate(net.priors)}
    for links in net.of_sign.values():
        joined = {lot_of_fault[link.fault] for link in links}
        if len(joined) > 1:
            first = min(joined)
            lot_of_fault = {fault: first if lot in joined else lot for fault, lot in lot_of_fault.items()}
    ids = sorted(set(lot_of_fault.values()))
    lot_of = {sign: ids.index(lot_of_fault[links[0].fault]) for sign, links in net.of_sign.items() if links}
    nets = [
        replace(
            net,
            priors={fault: prior for fault, prior in net.priors.items() if lot_of_fault[fault] == one},
            signs={sign: node for sign, node in net.signs.items() if lot_of.get(sign) == n},
            links=tuple(link for link in net.links if lot_of_fault[link.fault] == one),
        )
        for n, one in enumerate(ids)
    ]
    return nets, lot_of
