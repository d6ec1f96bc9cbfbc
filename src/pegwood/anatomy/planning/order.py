"""
In which order, so that tools are changed and the body is turned as little as can be.

Never change while something can still be done with the tool and the side in hand: doing it at once delays
nothing and needs no change of its own (an exchange argument), so only changes are searched over. A*, bounded
by the tools and sides still needed and by the changes along any chain of parts that wait for each other;
where that would take too long, a beam, and how far off that may be is told.
"""

from __future__ import annotations

import heapq
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from pegwood.anatomy.planning.problem import Removal, waiting

TOOL_CHANGE_MIN = 0.5
TURN_MIN = 1.0
#: States that A* may look at before the beam takes over.
MOST_STATES = 2_000
BEAM = 100

State = tuple[int, str, str]  # what is off, as bits; the tool in hand; the side up


@dataclass(frozen=True, kw_only=True)
class Order:
    """
    An order of removals.

    Attributes
    ----------
    parts : tuple of str
        One after the other.
    changes_min : float
        What the changes of tools and the turns cost, [min].
    least_min : float
        What they cost at least in any order; equal where this order is proved the best.
    """

    parts: tuple[str, ...]
    changes_min: float
    least_min: float

    @property
    def is_optimal(self) -> bool:
        """Whether no order needs less."""
        return self.changes_min <= self.least_min + 1e-9


def in_order(ways: Mapping[str, Removal], off: Iterable[str] = (), tool: str = "", side: str = "") -> Order:
    """
    The best order of removals that are settled.

    Parameters
    ----------
    ways : mapping of str to Removal
        What comes off, by which way.
    off : iterable of str
        What is off already.
    tool, side : str
        In hand and up now; empty for none: then the first costs nothing.

    Raises
    ------
    ValueError
        If the removals wait for each other, or for something that is neither off nor among them.
    """
    search = _Search(ways, frozenset(off))
    start = search.settled((0, tool, side))
    least = search.bound(start)
    found = _best_first(search, start)
    if found is None:
        path, cost = _beam(search, start)
        return Order(parts=search.parts_of(path), changes_min=cost, least_min=min(least, cost))
    path, cost = found
    return Order(parts=search.parts_of(path), changes_min=cost, least_min=cost)


class _Search:
    """The removals as bits, and what a state leads to."""

    def __init__(self, ways: Mapping[str, Removal], off: frozenset[str]) -> None:
        self.names, self.before = waiting(ways, off)
        self.behind: dict[int, list[int]] = {}  # by the bit of a part: those that wait for it
        self.by: dict[tuple[str, str], int] = {}  # tool and side: the parts that come off by them
        for n, name in enumerate(self.names):
            way, waits = ways[name], self.before[n]
            while waits:
                self.behind.setdefault(waits & -waits, []).append(n)
                waits &= waits - 1
            self.by[way.tool, way.side] = self.by.get((way.tool, way.side), 0) | 1 << n
        self.of_tool = _united((tool, mask) for (tool, _), mask in self.by.items())
        self.of_side = _united((side, mask) for (_, side), mask in self.by.items())
        self.all = (1 << len(self.names)) - 1
        self.ready = {0: sum(1 << n for n, waits in enumerate(self.before) if not waits)}
        self.tool = [ways[name].tool for name in self.names]
        self.side = [ways[name].side for name in self.names]
        self.tools_behind, self.sides_behind = self._along_chains(self.tool), self._along_chains(self.side)
        self.bounds: dict[State, float] = {}  # each is asked for several times
        self.both_behind = self._along_chains(list(zip(self.tool, self.side, strict=True)))

    def _along_chains(self, of: Sequence[Hashable]) -> list[int]:
        """How often it changes at least from each part on, along some chain of what waits for it."""
        most = [0] * len(of)
        for n in reversed(range(len(of))):
            for m in self.behind.get(1 << n, ()):
                most[n] = max(most[n], (of[n] != of[m]) + most[m])
        return most

    def _done_too(self, done: int, now: int) -> int:
        """What is off after some more; what is ready then is kept beside it."""
        ready, then = self.ready[done] & ~now, done | now
        if then not in self.ready:
            while now:
                last = now & -now
                now ^= last
                ready |= sum(1 << n for n in self.behind.get(last, ()) if not self.before[n] & ~then)
            self.ready[then] = ready
        return then

    def settled(self, state: State) -> State:
        """The state after all that can be done without a change."""
        done, tool, side = state
        mine = self.by.get((tool, side), 0)
        while now := self.ready[done] & mine:
            done = self._done_too(done, now)
        return done, tool, side

    def next(self, state: State) -> list[tuple[float, State]]:
        """What a change of tool or side leads to, and what it costs."""
        done, tool, side = state
        found = []
        for (other, up), mask in self.by.items():
            if self.ready[done] & mask:
                found.append((change_min((tool, side), (other, up)), self.settled((done, other, up))))
        return found

    def bound(self, state: State) -> float:
        """
        What is still to be paid at least.

        Every tool and every side that is still needed has to be taken up, and so has every pair of both (the
        one in hand too, if something is left for it: nothing of that can be done now). A change that is no
        turn is one of tools; a turn costs more than a change of tools, so the fewest turns are the cheapest.
        """
        if (known := self.bounds.get(state)) is not None:
            return known
        done, tool, side = state
        left, ready = self.all & ~done, self.ready[done]
        tools = sum(1 for one, mask in self.of_tool.items() if mask & left and one != tool)
        turns = sum(1 for one, mask in self.of_side.items() if mask & left and one != side)
        both = sum(1 for mask in self.by.values() if mask & left)
        tools -= bool(tools and not tool)  # nothing in hand yet: the first is free
        turns -= bool(turns and not side)
        both -= bool(both and not (tool and side))
        while ready:
            n = (ready & -ready).bit_length() - 1
            ready &= ready - 1
            new_tool, new_side = _change(tool, self.tool[n]), _change(side, self.side[n])
            tools = max(tools, new_tool + self.tools_behind[n])
            turns = max(turns, new_side + self.sides_behind[n])
            both = max(both, (new_tool or new_side) + self.both_behind[n])
        self.bounds[state] = least = max(tools, both - turns) * TOOL_CHANGE_MIN + turns * TURN_MIN
        return least

    def parts_of(self, path: tuple[State, ...]) -> tuple[str, ...]:
        """The parts one by one, along the states gone through."""
        parts: list[str] = []
        done = 0
        for reached, _, _ in path:
            while now := self.ready[done] & reached & ~done:
                parts += [name for n, name in enumerate(self.names) if now >> n & 1]
                done = self._done_too(done, now)
        return tuple(parts)


def _united(masks: Iterable[tuple[str, int]]) -> dict[str, int]:
    found: dict[str, int] = {}
    for name, mask in masks:
        found[name] = found.get(name, 0) | mask
    return found


def change_min(now: tuple[str, str], then: tuple[str, str]) -> float:
    """What a change costs from a tool in hand and a side up to others, [min]; from none it costs nothing."""
    tools, sides = (_change(a, b) for a, b in zip(now, then, strict=True))
    return tools * TOOL_CHANGE_MIN + sides * TURN_MIN


def _change(now: str, then: str) -> bool:
    return bool(now) and now != then


def _best_first(search: _Search, start: State) -> tuple[tuple[State, ...], float] | None:
    """The cheapest path to the end, or None where too many states would have to be looked at."""
    paid = {start: 0.0}
    came: dict[State, State] = {}
    ahead = [(search.bound(start), 0, start)]
    looked: set[State] = set()
    while ahead and len(looked) < MOST_STATES:
        _, _, state = heapq.heappop(ahead)
        if state in looked:
            continue
        looked.add(state)
        if state[0] == search.all:
            return _path(came, state), paid[state]
        for cost, then in search.next(state):
            if paid[state] + cost < paid.get(then, float("inf")) - 1e-12:
                paid[then] = paid[state] + cost
                came[then] = state
                heapq.heappush(ahead, (paid[then] + search.bound(then), len(paid), then))
    return None


def _beam(search: _Search, start: State) -> tuple[tuple[State, ...], float]:
    """A good path: of all reached by as many changes, the most promising go on."""
    paid, came = {start: 0.0}, {}
    front = [start]
    ended: list[State] = [start] if start[0] == search.all else []
    while front:
        reached: dict[State, float] = {}
        for state in front:
            for cost, then in search.next(state):
                total = paid[state] + cost
                if total < min(paid.get(then, float("inf")), reached.get(then, float("inf"))) - 1e-12:
                    reached[then] = total
                    came[then] = state
        paid |= reached
        ended += [state for state in reached if state[0] == search.all]
        best = min((paid[state] for state in ended), default=float("inf"))
        going = [
            state for state in reached if state[0] != search.all and paid[state] + search.bound(state) < best
        ]
        front = sorted(going, key=lambda one: (paid[one] + search.bound(one), -one[0].bit_count()))[:BEAM]
    last = min(ended, key=lambda one: paid[one])
    return _path(came, last), paid[last]


def _path(came: Mapping[State, State], last: State) -> tuple[State, ...]:
    path = [last]
    while path[-1] in came:
        path.append(came[path[-1]])
    return tuple(reversed(path))
