"""
The chances of all faults after some signs, exact.

Faults are gone through one by one. Kept is a table over the signs that are *open*: of which some cause was
gone through and some is still to come; one axis each, over what the causes so far have shown at most. A sign
of which nothing is seen needs no axis: it only scales each of its causes. Levels below the one seen are one
state, since what is seen is the highest; levels above it are left out. There are only products and sums of
what is not negative, so nothing cancels. The table's adjoint, taken back the same way, gives the chance of
every fault at once.

The cost is 2 to the width, the most signs open at once where each has two states. The idea of going through
causes one at a time is that of causal independence (Zhang and Poole 1996; memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.inference.net import FaultNet

Floats = NDArray[np.float64]
#: A table may have so many entries: 2**18, which is still well under a second.
LARGEST_TABLE = 1 << 18


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
class Posterior:
    """
    What the signs say.

    Attributes
    ----------
    faults : mapping of str to float
        Chance of each fault, [1].
    log_evidence : float
        Natural logarithm of the chance of what was seen; minus infinity where the net holds it impossible:
        then the chances of the faults are those before.
    entries : int
        The largest table there was.
    """

    faults: Mapping[str, float]
    log_evidence: float
    entries: int

    @property
    def is_possible(self) -> bool:
        """Whether the net could show what was seen at all."""
        return self.log_evidence > -math.inf


def posterior(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    known: Mapping[str, bool] | None = None,
) -> Posterior:
    """
    The chances of all faults after signs.

    Parameters
    ----------
    net : FaultNet
    evidence : mapping of str to sequence of float
        By sign: how likely what was seen is at each of its levels, 0 or more, not all 0. (0, 1) for "yes" to
        a sign of two levels; an instrument gives what its uncertainty says.
    known : mapping of str to bool, optional
        Faults that were found, or found not to be there.

    Raises
    ------
    ValueError
        If a sign or a fault is none of the net, or a likelihood cannot be.
    TooWide
        If it cannot be done exactly.
    """
    known = known or {}
    if strange := known.keys() - net.priors.keys():
        raise ValueError(f"{min(strange)!r} is no fault here.")
    priors = {fault: float(known.get(fault, prior)) for fault, prior in net.priors.items()}
    seen = [_seen(net, sign, weights, priors) for sign, weights in evidence.items()]
    alone = [sign for sign in seen if sign.scales or not sign.shows]
    log_evidence = _log(math.prod(float(sign.start @ sign.weights) for sign in alone))
    scale = dict.fromkeys(priors, 1.0)
    for sign in alone:
        for fault, shows in sign.shows.items():
            scale[fault] *= float(shows[0])
    faults, entries = dict(priors), 1
    for plan in _plans([sign for sign in seen if not sign.scales and sign.shows]):
        entries = max(entries, plan.entries)
        if plan.entries > LARGEST_TABLE:
            raise TooWide(plan.entries)
        here, of_fault = _swept(plan, priors, scale)
        log_evidence += here
        faults |= of_fault
        scale = {fault: by for fault, by in scale.items() if fault not in of_fault}
    for fault, by in scale.items():  # of these nothing is open
        prior = priors[fault]
        shown = prior * by + (1 - prior)
        log_evidence += _log(shown)
        faults[fault] = prior * by / shown if shown > 0 else prior
    if log_evidence == -math.inf:
        faults = priors
    return Posterior(faults, log_evidence, entries)


def _log(chance: float) -> float:
    return math.log(chance) if chance > 0 else -math.inf


@dataclass(frozen=True)
class _Seen:
    """
    A sign that was looked at, its levels put together as far as that changes nothing.

    `start` is the leak over the states, `shows` each cause's; `weights` how likely what was seen is in each
    state. With one state it only scales.
    """

    id: str
    start: Floats
    weights: Floats
    shows: Mapping[str, Floats]

    @property
    def scales(self) -> bool:
        return len(self.weights) == 1


def _seen(net: FaultNet, sign: str, weights: Sequence[float], priors: Mapping[str, float]) -> _Seen:
    if sign not in net.signs:
        raise ValueError(f"{sign!r} is no sign here.")
    leak = net.signs[sign].leak
    likely = np.asarray(weights, dtype=np.float64)
    if likely.shape != (len(leak),):
        raise ValueError(f"{sign!r} has {len(leak)} levels, and {likely.size} were answered.")
    if not (np.all(np.isfinite(likely)) and np.all(likely >= 0) and np.any(likely > 0)):
        raise ValueError(f"how likely the answer to {sign!r} is must be 0 or more, and not 0 throughout.")
    top = int(np.flatnonzero(likely)[-1])
    low = 0
    while low < top and likely[low + 1] == likely[0]:
        low += 1

    def states(chances: Sequence[float]) -> Floats:
        at = np.asarray(chances, dtype=np.float64)
        return np.concatenate(([at[: low + 1].sum()], at[low + 1 : top + 1]))

    start = states(leak)
    shows: dict[str, Floats] = {}
    for link in net.of_sign[sign]:
        if priors[link.fault] == 1:  # it is there: as sure as the leak
            start = _moved(start, [(0, states(link.shows))])
        elif priors[link.fault] > 0:
            shows[link.fault] = states(link.shows)
    return _Seen(sign, start, np.concatenate(([likely[0]], likely[low + 1 : top + 1])), shows)


@dataclass(frozen=True)
class _Step:
    """One fault: what opens before it, which axes it moves, what closes after it."""

    fault: str
    opens: tuple[_Seen, ...]
    moves: tuple[tuple[int, Floats], ...]
    closes: tuple[tuple[int, _Seen], ...]


@dataclass(frozen=True)
class _Plan:
    """Faults that hang together, in the order in which they are gone through."""

    steps: tuple[_Step, ...]
    entries: int


def _plans(signs: Sequence[_Seen]) -> Iterator[_Plan]:
    """A plan for each lot of faults and signs that hang together."""
    left = list(signs)
    while left:
        lot = [left.pop()]
        faults = set(lot[0].shows)
        while more := [sign for sign in left if not faults.isdisjoint(sign.shows)]:
            lot += more
            left = [sign for sign in left if faults.isdisjoint(sign.shows)]
            faults.update(*(sign.shows for sign in more))
        yield _plan(sorted(faults), lot)


def _plan(faults: Sequence[str], signs: Sequence[_Seen]) -> _Plan:
    """The next fault is always the one that lets the table grow least."""
    by_id = {sign.id: sign for sign in signs}
    left = {sign.id: set(sign.shows) for sign in signs}
    size = {sign.id: len(sign.weights) for sign in signs}
    of_fault: dict[str, list[str]] = {fault: [] for fault in faults}
    for sign in signs:
        for fault in sign.shows:
            of_fault[fault].append(sign.id)
    ahead, open_now, steps, entries = set(faults), list[str](), list[_Step](), 1

    def growth(fault: str) -> tuple[float, str]:
        grows = sum(math.log(size[one]) for one in of_fault[fault] if one not in open_now)
        shrinks = sum(math.log(size[one]) for one in of_fault[fault] if left[one] == {fault})
        return grows - shrinks, fault

    while ahead:
        fault = min(ahead, key=growth)
        ahead.remove(fault)
        opens = [one for one in of_fault[fault] if one not in open_now]
        open_now = open_now + opens
        entries = max(entries, math.prod(size[one] for one in open_now))
        moves = tuple((open_now.index(one), by_id[one].shows[fault]) for one in of_fault[fault])
        closes = []
        for one in of_fault[fault]:
            left[one].discard(fault)
            if not left[one]:
                closes.append((open_now.index(one), by_id[one]))
                open_now = [other for other in open_now if other != one]
        steps.append(_Step(fault, tuple(by_id[one] for one in opens), moves, tuple(closes)))
    return _Plan(tuple(steps), entries)


def _swept(
    plan: _Plan, priors: Mapping[str, float], scale: Mapping[str, float]
) -> tuple[float, dict[str, float]]:
    """Logarithm of the chance of what was seen, and the chance of each fault gone through."""
    table: Floats = np.ones(())
    log_scale = 0.0
    before: list[Floats] = []
    for step in plan.steps:
        for sign in step.opens:
            table = table[..., np.newaxis] * sign.start
        before.append(table)
        prior = priors[step.fault]
        table = (1 - prior) * table + prior * scale[step.fault] * _moved(table, step.moves)
        for axis, sign in step.closes:
            table = np.tensordot(table, sign.weights, axes=(axis, 0))
        largest = float(table.max())
        if largest <= 0:
            return -math.inf, {step.fault: priors[step.fault] for step in plan.steps}
        table = table / largest
        log_scale += math.log(largest)
    found: dict[str, float] = {}
    adjoint: Floats = np.ones(())
    for step, was in zip(reversed(plan.steps), reversed(before), strict=True):
        for axis, sign in reversed(step.closes):
            adjoint = np.moveaxis(adjoint[..., np.newaxis] * sign.weights, -1, axis)
        prior = priors[step.fault]
        back = scale[step.fault] * _moved_back(adjoint, step.moves)
        present = prior * float(np.sum(was * back))
        absent = (1 - prior) * float(np.sum(was * adjoint))
        found[step.fault] = present / (present + absent)
        adjoint = (1 - prior) * adjoint + prior * back
        for sign in reversed(step.opens):
            adjoint = adjoint @ sign.start
        adjoint = adjoint / float(adjoint.max())
    return log_scale, found


def _moved(table: Floats, moves: Sequence[tuple[int, Floats]]) -> Floats:
    """The table once a present fault has shown what it shows: on each axis the higher of both."""
    for axis, shows in moves:
        at = np.moveaxis(table, axis, -1)
        lower = np.zeros_like(at)
        lower[..., 1:] = np.cumsum(at, axis=-1)[..., :-1]
        table = np.moveaxis(at * np.cumsum(shows) + lower * shows, -1, axis)
    return table


def _moved_back(adjoint: Floats, moves: Sequence[tuple[int, Floats]]) -> Floats:
    """The same for the adjoint: the transpose of `_moved`."""
    for axis, shows in moves:
        at = np.moveaxis(adjoint, axis, -1)
        above = np.zeros_like(at)
        above[..., :-1] = np.cumsum((at * shows)[..., :0:-1], axis=-1)[..., ::-1]
        adjoint = np.moveaxis(at * np.cumsum(shows) + above, -1, axis)
    return adjoint
