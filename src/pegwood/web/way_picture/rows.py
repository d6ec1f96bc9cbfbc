"""Which row each part stands in, and which of what must be off before it needs a line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Set


class Ring(ValueError):
    """Parts that wait for each other: there is no row for them."""


def only_direct(after: Mapping[str, Set[str]]) -> dict[str, set[str]]:
    """
    What must be off before each part, without what another of them brings along: the transitive reduction.

    Parameters
    ----------
    after : mapping of str to set of str
        By part; what is named but is no key is left out.

    Raises
    ------
    Ring
        If parts wait for each other.
    """
    above: dict[str, set[str]] = {}
    for part in in_turn(after):
        before = after[part] & after.keys()
        above[part] = before.union(*(above[one] for one in before))
    return {
        part: {
            one
            for one in befores & after.keys()
            if not any(one in above[other] for other in befores & after.keys())
        }
        for part, befores in after.items()
    }


def rows_of(after: Mapping[str, Set[str]], longest: int) -> dict[str, int]:
    """
    The row of each part, from 0: as high as what must be off before it allows, at most `longest` in a row.

    Parameters
    ----------
    after : mapping of str to set of str
        By part, in the order in which parts of one row fill it.
    longest : int
        Parts in a row.

    Raises
    ------
    Ring
        If parts wait for each other.
    """
    row: dict[str, int] = {}
    filled: Counter[int] = Counter()
    for part in in_turn(after):
        place = max((row[one] + 1 for one in after[part] & after.keys()), default=0)
        while filled[place] >= longest:
            place += 1
        row[part] = place
        filled[place] += 1
    return row


def in_turn(after: Mapping[str, Set[str]]) -> list[str]:
    """The parts so that each stands behind what must be off before it; else in the order given."""
    left = dict.fromkeys(after)
    turn: list[str] = []
    while left:
        now = [part for part in left if not any(one in left for one in after[part])]
        if not now:
            raise Ring(f"{', '.join(sorted(left))}: each waits for another of them.")
        turn += now
        for part in now:
            del left[part]
    return turn
