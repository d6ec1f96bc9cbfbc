"""
How many orders the joins allow: the linear extensions of what waits for what, counted exactly.

What is left is split into groups that do not wait for each other: their counts multiply, times the ways of
shuffling them together. A group that hangs together is counted by which of its parts comes off first. Sets
met again are not counted again; where too many different ones turn up, the count is given up. (Counting
linear extensions is hard in general: Brightwell and Winkler 1991; a camera's waits are mostly trees.)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import comb

from pegwood.anatomy.planning.problem import Removal, waiting

#: Sets of parts that a count may look at; half a second at most for a camera.
MOST_SETS = 2_000


class _TooMany(Exception):
    """More sets than may be looked at."""


def orders(ways: Mapping[str, Removal], off: Iterable[str] = (), most_sets: int = MOST_SETS) -> int | None:
    """
    In how many orders settled removals can be done.

    Parameters
    ----------
    ways : mapping of str to Removal
        What comes off, by which way.
    off : iterable of str
        What is off already.
    most_sets : int
        How many sets of parts may be looked at.

    Returns
    -------
    int or None
        None where more sets would have to be looked at.

    Raises
    ------
    ValueError
        If the removals wait for each other, or for something that is neither off nor among them.
    """
    _, before = waiting(ways, frozenset(off))
    behind = [0] * len(before)
    for n, waits in enumerate(before):
        for m in _bits(waits):
            behind[m] |= 1 << n
    known: dict[int, int] = {0: 1}

    def group(of: int, left: int) -> int:
        """All that hangs together with one part, through what waits for what."""
        found = ahead = of
        while ahead:
            n = (ahead & -ahead).bit_length() - 1
            ahead &= ahead - 1
            new = (before[n] | behind[n]) & left & ~found
            found |= new
            ahead |= new
        return found

    def count(left: int) -> int:
        total, sizes, rest = 1, 0, left
        while rest:
            one = group(rest & -rest, left)
            size = one.bit_count()
            sizes += size
            total *= together(one) * comb(sizes, size)
            rest &= ~one
        return total

    def together(one: int) -> int:
        if one not in known:
            if len(known) > most_sets:
                raise _TooMany
            known[one] = 0
            known[one] = sum(count(one & ~(1 << n)) for n in _bits(one) if not before[n] & one)
        return known[one]

    try:
        return count((1 << len(before)) - 1)
    except _TooMany:
        return None


def _bits(mask: int) -> Iterable[int]:
    while mask:
        yield (mask & -mask).bit_length() - 1
        mask &= mask - 1
