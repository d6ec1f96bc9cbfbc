"""What a way in has to do without: parts that stay, joints that are not undone, sides not worked from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import get_args

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import JoinKind, Part, Side
from pegwood.anatomy.planning.choice import choose
from pegwood.anatomy.planning.problem import Removal, StripDown, Unreachable

#: Worked from whatever is already open, so it is no side of the body.
INSIDE: Side = "inside"
#: What undoing a closed way counts when the fewest are looked for; more than any camera costs, [min].
CLOSED_MIN = 1e4
#: How many parts a refusal names.
MOST_NAMED = 3


@dataclass(frozen=True, kw_only=True)
class Limits:
    """
    What a way in has to do without.

    Attributes
    ----------
    spare : frozenset of str
        Parts that stay, by id.
    avoid : frozenset of str
        Kinds of joints that are not undone: a part held by one of them stays.
    only_from : frozenset of str
        The sides of the body that are worked from; empty for all. What is worked inside may be, however it
        came to lie open.

    Raises
    ------
    ValueError
        If there is no such joint or side.
    """

    spare: frozenset[str] = frozenset()
    avoid: frozenset[str] = frozenset()
    only_from: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for said, known, what in (
            (self.avoid, get_args(JoinKind), "kind of joint"),
            (self.only_from, get_args(Side), "side"),
        ):
            if strange := said - set(known):
                raise ValueError(f"{min(strange)!r} is no {what}. Expected one of: {', '.join(known)}.")

    def __bool__(self) -> bool:
        return bool(self.spare or self.avoid or self.only_from)

    def closes(self, part: Part, side: str) -> str:
        """Why a part does not come off from a side, in words that follow its name; empty if it does."""
        if part.id in self.spare:
            return "is to stay"
        if kinds := sorted(self.avoid & {join.kind for join in part.joins}):
            return f"is held by {kinds[0]}, which is to be avoided"
        open_sides = self.only_from | {INSIDE}
        if self.only_from and side not in open_sides:
            sides = sorted({way.side for way in part.ways} - open_sides)
            return (
                f"comes off from the {' or '.join(sides)}, not from the {' or '.join(sorted(self.only_from))}"
            )
        return ""

    def open_ways(
        self, construction: Construction, part: str, ways: Iterable[Removal]
    ) -> tuple[Removal, ...]:
        """The ways of a part that are left."""
        return tuple(way for way in ways if not self.closes(construction.parts[part], way.side))


def within(construction: Construction, limits: Limits) -> StripDown:
    """The graph of a family without the ways that are closed."""
    whole = construction.strip_down()
    if not limits:
        return whole
    return StripDown({part: limits.open_ways(construction, part, ways) for part, ways in whole.ways.items()})


def refuse_closed(
    construction: Construction, limits: Limits, reach: Iterable[str], off: frozenset[str]
) -> None:
    """
    Refuse where a part can no longer be reached, and name what is in the way.

    That is the fewest removals which, allowed after all, would open the way: found as the cheapest way in
    where each of them counts more than all others together.

    Raises
    ------
    Unreachable
        With each part in the way and what closes it.
    """
    allowed = within(construction, limits)
    stuck = tuple(part for part in reach if part not in allowed.removable_with(off))
    if not stuck:
        return
    whole = construction.strip_down()
    told = " and ".join(_called(construction, part) for part in stuck)
    if never := [part for part in stuck if part not in whole.removable_with(off)]:
        these = " and ".join(_called(construction, part) for part in never)
        raise Unreachable(stuck, f"{these}: there is no way in, for this never comes off.")

    def is_closed(part: str, way: Removal) -> str:
        return limits.closes(construction.parts[part], way.side)

    def weighed(ways_of: Mapping[str, tuple[Removal, ...]]) -> StripDown:
        return StripDown(
            {
                part: tuple(
                    replace(way, cost=way.cost + CLOSED_MIN) if is_closed(part, way) else way for way in ways
                )
                for part, ways in ways_of.items()
            }
        )

    # where a part has a way of its own that is open, it is asked what closes that one
    dear = weighed({**whole.ways, **{part: allowed.ways[part] for part in stuck if allowed.ways[part]}})
    if not set(stuck) <= dear.removable_with(off):
        dear = weighed(whole.ways)
    taken = choose(dear, stuck, off).ways
    why = {part: closed for part, way in sorted(taken.items()) if (closed := is_closed(part, way))}
    first = [part for part in stuck if part in why]  # itself closed: what is before it is beside the point
    named = first or list(why)
    said = ", and ".join(f"{_called(construction, part)} {why[part]}" for part in named[:MOST_NAMED])
    if (more := len(named) - MOST_NAMED) > 0:
        said += f", and {more} more such"
    if first:
        raise Unreachable(stuck, f"{said}: so there is no way in.")
    it = "it" if len(named) == 1 else "them"
    raise Unreachable(stuck, f"{said}; there is no way in without {it} to {told}.")


def _called(construction: Construction, part: str) -> str:
    return f"{construction.parts[part].name} ({part})"
