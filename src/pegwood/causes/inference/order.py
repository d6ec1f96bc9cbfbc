"""In which order faults are gone through, so that few signs are open at once."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

#: So many entries take about as long as one try for a better order: tried is more where more may be saved.
OF_A_TRY = 1 << 14
TRIES = 32
#: How far a die may move a fault's place, in doublings of the table.
SPREAD = 0.7


@dataclass(frozen=True)
class Order:
    """
    Faults in their order.

    Attributes
    ----------
    faults : tuple of str
    entries : int
        What the largest table holds.
    work : int
        What all tables hold together.
    """

    faults: tuple[str, ...]
    entries: int
    work: int


def order_of(faults: Sequence[str], causes: Mapping[str, set[str]], states: Mapping[str, int]) -> Order:
    """
    The least laborious of several orders: greedy, and greedy with a die.

    Parameters
    ----------
    faults : sequence of str
    causes : mapping of str to set of str
        The causes of each sign, all among the faults.
    states : mapping of str to int
        How many states each sign has.
    """
    dice = random.Random(0)  # the same order each time
    best = _greedy(faults, causes, states, None)
    for tries in range(TRIES):
        if best.work <= OF_A_TRY * (tries + 1):
            break
        best = min(best, _greedy(faults, causes, states, dice), key=lambda order: order.work)
    return best


def _greedy(
    faults: Sequence[str],
    causes: Mapping[str, set[str]],
    states: Mapping[str, int],
    dice: random.Random | None,
) -> Order:
    """
    Next is always the fault that lets the table grow least and brings open signs nearest to their end.

    With a die, about that one.
    """
    size = {sign: math.log2(states[sign]) for sign in causes}
    left = {sign: set(of) for sign, of in causes.items()}
    of_fault: dict[str, list[str]] = {fault: [] for fault in faults}
    for sign, of in causes.items():
        for fault in of:
            of_fault[fault].append(sign)
    growth = {fault: sum(size[sign] for sign in of_fault[fault]) for fault in faults}
    price = dict(growth)  # growth less what it brings nearer
    is_open: set[str] = set()
    order, entries, largest, work = list[str](), 0.0, 0.0, 1.0
    while growth:
        if dice is None:
            fault = min(price, key=lambda one: price[one])
        else:
            fault = min(price, key=lambda one: price[one] + SPREAD * dice.random())
        del price[fault]
        entries += growth.pop(fault)
        largest = max(largest, entries)
        work += 2**entries
        order.append(fault)
        for sign in of_fault[fault]:
            left[sign].discard(fault)
            opens, more = sign not in is_open, len(left[sign])
            is_open.add(sign)
            for other in left[sign]:
                less = size[sign] * (opens + (more == 1))
                growth[other] -= less
                price[other] -= less + 1 / more - (0 if opens else 1 / (more + 1))
    return Order(tuple(order), round(2**largest), round(work))
