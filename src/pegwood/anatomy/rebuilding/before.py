"""
What must be back before what, from what was really done.

Where one part was in another's way it came off before; so it goes back after. Which parts have to do with
each other the family says, by the way that was really used, and what the log tells of joins and coverings. Of
two that have, the one that came off later goes back first. Where nobody knows (a part the family does not
have, a way that was not told), everything else counts: the strict reverse of the log.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pegwood.anatomy.bench_log import TakenOff
from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part, Way
from pegwood.trade.names import plain


@dataclass(frozen=True, kw_only=True)
class Before:
    """
    The way back as a graph.

    Attributes
    ----------
    order : tuple of TakenOff
        What goes back, in the order proposed: the reverse of the log. A part that was taken off again after
        it had been put back stands there once, as it came off last; one that this variant never had does not.
    needs : mapping of str to frozenset of str
        By the log's key: what must be back before it, of those that it touches.
    strict : frozenset of str
        Keys of those for which nobody knows, so that the strict reverse holds.
    """

    order: tuple[TakenOff, ...]
    needs: Mapping[str, frozenset[str]]
    strict: frozenset[str]

    def under(self, key: str) -> frozenset[str]:
        """Everything that must be back before one, those before these too."""
        found: set[str] = set()
        ahead = list(self.needs[key])
        while ahead:
            one = ahead.pop()
            if one not in found:
                found.add(one)
                ahead += self.needs[one]
        return frozenset(found)


def before(log: Iterable[TakenOff], construction: Construction | None = None) -> Before:
    """
    What must be back before what.

    Parameters
    ----------
    log : iterable of TakenOff
        What came off; an entry's id is its own.
    construction : Construction, optional
        The family's; without one the strict reverse holds throughout.
    """
    entries = sorted(log, key=lambda one: one.number)
    if len({one.id for one in entries}) < len(entries):
        raise ValueError("two entries of the log have one id.")
    return _Log(entries, construction).before()


def way_used(entry: TakenOff, construction: Construction | None) -> Way | None:
    """The way by which a part came off; None where that is not known."""
    part = part_of(entry, construction)
    if part is None:
        return None
    if not entry.way and len(part.ways) == 1:
        return part.ways[0]
    return next((way for way in part.ways if way.name and way.name == entry.way), None)


def part_of(entry: TakenOff, construction: Construction | None) -> Part | None:
    """The family's part that came off, if it knows it."""
    return construction.parts.get(entry.part) if construction and entry.part else None


class _Log:
    def __init__(self, entries: list[TakenOff], construction: Construction | None) -> None:
        self.construction = construction
        last = {_key(one): one for one in entries}
        self.still = [
            one
            for one in entries
            if one.met != "never fitted" and (not one.is_back or last[_key(one)] is one)
        ]
        #: By what a part is spoken of: its entries, those put back in between too. Ids come before names.
        self.called: dict[str, list[TakenOff]] = {}
        for one in entries:
            for name in {one.id, one.part} - {""}:
                self.called.setdefault(name, []).append(one)
        by_id = set(self.called)
        for one in entries:
            if (name := plain(one.name)) not in by_id:
                self.called.setdefault(name, []).append(one)

    def before(self) -> Before:
        covered = {one.id: self._covering(one) for one in self.still}
        rank = _ranked(self.still, covered)
        needs: dict[str, set[str]] = {one.id: set() for one in self.still}
        for key, coverings in covered.items():
            for cover in coverings:
                if rank[key] < rank[cover]:
                    needs[cover].add(key)
        strict = {one.id for one in self.still if way_used(one, self.construction) is None}
        for one in self.still:
            others = {other.id for other in self.still} if one.id in strict else self._held(one)
            for other in others - {one.id}:
                first, then = sorted((one.id, other), key=rank.__getitem__)
                needs[then].add(first)
        order = tuple(sorted(self.still, key=lambda one: rank[one.id]))
        return Before(
            order=order,
            needs={one.id: frozenset(needs[one.id]) for one in order},
            strict=frozenset(strict),
        )

    def _covering(self, entry: TakenOff) -> set[str]:
        """What lay over a part when it came off: in its way, and off before it."""
        names = set(entry.hidden_under)
        if part := part_of(entry, self.construction):
            way = way_used(entry, self.construction)
            names |= set(way.after if way else ()) | {join.under for join in part.joins}
        found = set()
        for named in self._present(names):
            ids = {one.id for one in self.called[named]}
            if any(one.number < entry.number for one in self.called[named]):
                found |= ids
        return found & {one.id for one in self.still} - {entry.id}

    def _held(self, entry: TakenOff) -> set[str]:
        part = part_of(entry, self.construction)
        names = {*entry.held_to, *(join.to for join in (part.joins if part else ()))}
        ids = {one.id for named in self._present(names) for one in self.called[named]}
        return ids & {one.id for one in self.still}

    def _present(self, names: Iterable[str]) -> set[str]:
        """Those that came off; for one that never did, or is not there, those that lie over it."""
        parts = self.construction.parts if self.construction else {}
        found: set[str] = set()
        seen: set[str] = set()
        ahead = [one for one in names if one]
        while ahead:
            name = ahead.pop()
            name = name if name in self.called or name in parts else plain(name)
            if name in seen:
                continue
            seen.add(name)
            met = self.called.get(name, [])
            if any(one.met != "never fitted" for one in met):
                found.add(name)
            elif part := parts.get(met[0].part if met else name):
                ahead += [one for way in part.ways for one in way.after]
                ahead += [join.under for join in part.joins if join.under]
        return found


def _key(entry: TakenOff) -> str:
    return entry.part or plain(entry.name)


def _ranked(entries: list[TakenOff], covered: Mapping[str, set[str]]) -> dict[str, int]:
    """
    Each one's place on the way back: the reverse of the log; but a part that was off before another, put back
    and taken off again, still goes over it.
    """
    ahead = {one.id: len(covered[one.id]) for one in entries}
    over: dict[str, int] = {one.id: 0 for one in entries}
    for coverings in covered.values():
        for cover in coverings:
            over[cover] += 1
    number = {one.id: one.number for one in entries}
    ready = [(-number[key], key) for key, count in over.items() if not count]
    heapq.heapify(ready)
    rank: dict[str, int] = {}
    while ready or len(rank) < len(ahead):
        if not ready:  # each lies over the other: what came off last decides
            key = max(ahead.keys() - rank.keys(), key=number.__getitem__)
        else:
            key = heapq.heappop(ready)[1]
            if key in rank:
                continue
        rank[key] = len(rank)
        for cover in covered[key]:
            over[cover] -= 1
            if not over[cover] and cover not in rank:
                heapq.heappush(ready, (-number[cover], cover))
    return rank
