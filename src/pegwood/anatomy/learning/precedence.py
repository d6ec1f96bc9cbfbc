"""
What always came before what, over several jobs, and how surely.

Pairs that the jobs tell by their joins (hidden under, held to) are certain. Pairs seen only from the order of
the work hold as long as no job shows the opposite, and say how many jobs showed them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pegwood.anatomy.bench_log import TakenOff
from pegwood.trade.names import plain

Pair = tuple[str, str]  # what comes off first, and what after it


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """
    Why one part comes off before another.

    Attributes
    ----------
    first, then : str
        As names are compared (`pegwood.trade.names.plain`).
    jobs : int
        How many jobs had both, in this order; 0 where it was told and never seen.
    told : str
        "hidden under", "held to", or empty where only the order shows it.
    """

    first: str
    then: str
    jobs: int
    told: str = ""

    @property
    def says(self) -> str:
        """For a person."""
        seen = "only seen once" if self.jobs == 1 else f"in {self.jobs} jobs, never the other way"
        return f"told: {self.then} {self.told} {self.first}" if self.told else seen


@dataclass(frozen=True, kw_only=True)
class Precedence:
    """
    What comes before what.

    Attributes
    ----------
    pairs : mapping of (first, then) to Evidence
        All that hold; no ring among them.
    contradictions : tuple of str
        What was told and seen otherwise, or goes in a ring: a line each, with the parts' names.
    """

    pairs: Mapping[Pair, Evidence]
    contradictions: tuple[str, ...]


def precedence(jobs: Sequence[Iterable[TakenOff]]) -> Precedence:
    """What always came before what over jobs, each a log; parts are matched by name."""
    places = [_places(log) for log in jobs]
    seen: dict[Pair, int] = {}
    for place in places:
        for first, n in place.items():
            for then, m in place.items():
                if n < m:
                    seen[first, then] = seen.get((first, then), 0) + 1
    says: list[str] = []
    told = _told(jobs, seen, says)
    pairs = {
        (first, then): Evidence(first=first, then=then, jobs=n)
        for (first, then), n in seen.items()
        if (then, first) not in seen and (then, first) not in told
    }
    pairs |= told
    return Precedence(pairs=_without_rings(pairs, says), contradictions=tuple(says))


def _places(log: Iterable[TakenOff]) -> dict[str, int]:
    """When each part first came off; one that was not there came off at no time."""
    found: dict[str, int] = {}
    for entry in sorted(log, key=lambda one: one.number):
        if entry.met == "there":
            found.setdefault(plain(entry.name), entry.number)
    return found


def named(log: Iterable[TakenOff]) -> dict[str, str]:
    """What a log's parts may be spoken of by, its key, its id or its name: to the name as it is compared."""
    found: dict[str, str] = {}
    for entry in log:
        name = plain(entry.name)
        found |= {key: name for key in (entry.id, entry.part, name) if key and key not in found}
    return found


def _told(
    jobs: Sequence[Iterable[TakenOff]], seen: Mapping[Pair, int], says: list[str]
) -> dict[Pair, Evidence]:
    found: dict[Pair, Evidence] = {}
    for log in jobs:
        names = named(log)
        for entry in log:
            name = plain(entry.name)
            for kind, others in (("hidden under", entry.hidden_under), ("held to", entry.held_to)):
                for other in others:
                    cover = names.get(other) or names.get(plain(other), "")
                    if not cover or cover == name:
                        continue
                    if kind == "held to":
                        _held(name, cover, seen, found, says)
                    else:
                        jobs_so = seen.get((cover, name), 0)
                        found[cover, name] = Evidence(first=cover, then=name, jobs=jobs_so, told=kind)
                        if n := seen.get((name, cover), 0):
                            line = f"{name} is told to be hidden under {cover}, but came off before it in {n}"
                            says.append(f"{line} job{'s' if n > 1 else ''}.")
    return {pair: one for pair, one in found.items() if one.told}


def _held(
    name: str, other: str, seen: Mapping[Pair, int], found: dict[Pair, Evidence], says: list[str]
) -> None:
    """Which of two that are joined came off first, the order shows."""
    here, there = seen.get((name, other), 0), seen.get((other, name), 0)
    if here and there:
        says.append(f"{name} is held to {other}, but either came off first: {here} and {there} jobs.")
    elif here:
        found.setdefault((name, other), Evidence(first=name, then=other, jobs=here, told="held to"))
    elif there:
        found.setdefault((other, name), Evidence(first=other, then=name, jobs=there, told="held to"))


def _without_rings(pairs: dict[Pair, Evidence], says: list[str]) -> dict[Pair, Evidence]:
    """Where pairs go in a ring, those that bear least fall: seen in fewest jobs first, told ones last."""
    left = dict(pairs)
    while ring := rings(left):
        inside = [one for pair, one in left.items() if any(set(pair) <= those for those in ring)]
        least = min((bool(one.told), one.jobs) for one in inside)
        for one in inside:
            if (bool(one.told), one.jobs) == least:
                del left[one.first, one.then]
        told = "told" if least[0] else "seen"
        says += [f"{', '.join(sorted(those))}: what was {told} goes in a ring; left open." for those in ring]
    return left


def rings(pairs: Iterable[Pair]) -> list[set[str]]:
    """Sets of parts of which each would have to come off before itself."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    pairs = list(pairs)
    names = sorted({one for pair in pairs for one in pair})
    at = {name: n for n, name in enumerate(names)}
    if not names:
        return []
    rows, columns = [at[first] for first, _ in pairs], [at[then] for _, then in pairs]
    graph = coo_array(([1] * len(pairs), (rows, columns)), shape=(len(names), len(names)))
    _, which = connected_components(graph.tocsr(), connection="strong")
    groups: dict[int, set[str]] = {}
    for name, group in zip(names, which, strict=True):
        groups.setdefault(int(group), set()).add(name)
    return [those for those in groups.values() if len(those) > 1]


def thinned(pairs: Iterable[Pair]) -> set[Pair]:
    """
    The fewest pairs that say as much: those that do not follow from others (transitive reduction; of a graph
    without rings there is exactly one: Aho, Garey and Ullman 1972, memory).
    """
    pairs = set(pairs)
    after: dict[str, set[str]] = {}
    for first, then in pairs:
        after.setdefault(first, set()).add(then)
    beyond: dict[str, frozenset[str]] = {}

    def reached(name: str) -> frozenset[str]:
        ahead = [name]
        while ahead:
            one = ahead[-1]
            if one in beyond:
                ahead.pop()
            elif waits := [nxt for nxt in after.get(one, ()) if nxt not in beyond]:
                ahead += waits
            else:
                direct = after.get(one, set())
                beyond[one] = frozenset(direct).union(*(beyond[nxt] for nxt in direct))
                ahead.pop()
        return beyond[name]

    return {
        (first, then)
        for first, then in pairs
        if not any(then in reached(between) for between in after[first] if between != then)
    }
