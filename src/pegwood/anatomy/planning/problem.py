"""A strip-down as a graph: every part with its ways of coming off, and what each way needs off before."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field


class Unreachable(ValueError):
    """
    A part that cannot be taken off.

    Attributes
    ----------
    parts : tuple of str
        The parts, by id.
    """

    def __init__(self, parts: tuple[str, ...], why: str) -> None:
        self.parts = parts
        super().__init__(why)


@dataclass(frozen=True, kw_only=True)
class Removal:
    """
    One way of taking one part off.

    Attributes
    ----------
    after : frozenset of str
        Parts that must be off before, all of them.
    cost : float
        Minutes and, in minutes, what may go wrong, [min].
    tool, side : str
        In hand, and up.
    name : str
        How it is told apart from the part's other ways.
    """

    after: frozenset[str]
    cost: float
    tool: str = ""
    side: str = ""
    name: str = ""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.cost) and self.cost >= 0):
            raise ValueError(f"a cost of {self.cost:g} cannot be. Expected 0 or more.")


@dataclass(frozen=True)
class StripDown:
    """
    All parts of a camera.

    Attributes
    ----------
    ways : mapping of str to tuple of Removal
        By the part's id; a part without ways never comes off.

    Raises
    ------
    ValueError
        If a way needs a part that is not there, or the part itself.
    """

    ways: Mapping[str, tuple[Removal, ...]]
    _reach: frozenset[str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        for part, ways in self.ways.items():
            for way in ways:
                if part in way.after:
                    raise ValueError(f"{part!r} cannot be in its own way.")
                if strange := way.after - self.ways.keys():
                    raise ValueError(f"{part!r} comes off after {min(strange)!r}, which is no part here.")
        object.__setattr__(self, "_reach", _reachable(self.ways))

    @property
    def removable(self) -> frozenset[str]:
        """The parts that can be taken off at all."""
        return self._reach

    def removable_with(self, off: frozenset[str]) -> frozenset[str]:
        """The parts that are off, or can be taken off where those are, whatever closed their way."""
        return self._reach | off if off <= self._reach else _reachable(self.ways, off)


def _reachable(
    ways: Mapping[str, tuple[Removal, ...]], off_already: frozenset[str] = frozenset()
) -> frozenset[str]:
    off = set(off_already)
    left = {part: those for part, those in ways.items() if part not in off}
    while now := [part for part, those in left.items() if any(way.after <= off for way in those)]:
        off.update(now)
        for part in now:
            del left[part]
    return frozenset(off)


def waiting(ways: Mapping[str, Removal], off: frozenset[str]) -> tuple[list[str], list[int]]:
    """
    Settled removals as bits.

    Returns
    -------
    names : list of str
        The parts, in the order of their bits: each behind all that it waits for.
    before : list of int
        For each the parts that must come off before it, as bits.

    Raises
    ------
    ValueError
        If the removals wait for each other, or for something that is neither off nor among them.
    """
    for name in sorted(ways):
        if strange := ways[name].after - off - ways.keys():
            raise ValueError(f"{name!r} waits for {min(strange)!r}, which is not among what comes off.")
    names: list[str] = []
    left = sorted(ways)
    while now := [name for name in left if ways[name].after <= off.union(names)]:
        names += now
        left = [name for name in left if name not in now]
    if left:
        raise ValueError(f"{', '.join(left)}: each waits for another of them.")
    bit = {name: 1 << n for n, name in enumerate(names)}
    return names, [sum(bit[one] for one in ways[name].after - off) for name in names]
