"""What was looked at, ready to reckon with: a sign's levels put together as far as that changes nothing."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pegwood.causes.inference.net import FaultNet
from pegwood.causes.inference.tables import Floats, showing


@dataclass(frozen=True)
class Looked:
    """
    A sign that was looked at, over its states.

    Levels below the first that tells are one state, since what is seen is the highest; levels above the last
    possible one are left out, or one more state where the whole was asked for. With one state the sign only
    scales each of its causes.

    Attributes
    ----------
    id : str
    starts_at : tuple of int
        The lowest level of each state.
    start : array, shape (states,)
        What the leak, and causes that are certain, show.
    sure : array, shape (states,)
        What causes that are certain show, without the leak.
    weights : array, shape (states,)
        How likely what was seen is in each state.
    shows : mapping of str to array, shape (states, states)
        Each cause that may be there: where it moves each state to; see `tables.showing`.
    """

    id: str
    starts_at: tuple[int, ...]
    start: Floats
    sure: Floats
    weights: Floats
    shows: Mapping[str, Floats]

    @property
    def scales(self) -> bool:
        return len(self.weights) == 1


def priors_with(net: FaultNet, known: Mapping[str, bool] | None) -> dict[str, float]:
    """
    The chance of each fault before any sign, with what was found.

    Raises
    ------
    ValueError
        If something found is no fault of the net.
    """
    known = known or {}
    if strange := known.keys() - net.priors.keys():
        raise ValueError(f"{min(strange)!r} is no fault here.")
    return {fault: float(known.get(fault, prior)) for fault, prior in net.priors.items()}


def looked(
    net: FaultNet, sign: str, weights: Sequence[float], priors: Mapping[str, float], *, whole: bool = False
) -> Looked:
    """
    A sign with how likely what was seen is at each of its levels.

    Raises
    ------
    ValueError
        If the sign is none of the net, or a likelihood cannot be.
    """
    if sign not in net.signs:
        raise ValueError(f"{sign!r} is no sign here.")
    leak = net.signs[sign].leak
    likely = [float(one) for one in weights]
    if len(likely) != len(leak):
        raise ValueError(f"{sign!r} has {len(leak)} levels, and {len(likely)} were answered.")
    if not (all(math.isfinite(one) and one >= 0 for one in likely) and any(likely)):
        raise ValueError(f"how likely the answer to {sign!r} is must be 0 or more, and not 0 throughout.")
    top = max(level for level, one in enumerate(likely) if one > 0)
    low = next((level - 1 for level in range(1, top + 1) if likely[level] != likely[0]), top)
    bounds = [0, *range(low + 1, top + 2)]
    if whole and low < top < len(leak) - 1:
        bounds.append(len(leak))

    def states(chances: Sequence[float]) -> list[float]:
        return [math.fsum(chances[a:b]) for a, b in itertools.pairwise(bounds)]

    start = np.array(states(leak))
    sure = np.zeros_like(start)
    sure[0] = 1
    shows: dict[str, Floats] = {}
    for link in net.of_sign[sign]:
        if priors[link.fault] == 1:  # it is there: as sure as the leak
            moves = showing(states(link.shows))
            start, sure = start @ moves, sure @ moves
        elif priors[link.fault] > 0:
            shows[link.fault] = showing(states(link.shows))
    starts_at = tuple(bounds[:-1])
    return Looked(sign, starts_at, start, sure, np.array([likely[at] for at in starts_at]), shows)
