"""
Cleaning a whole assembly: which ways are open, what closes the others, what to take off for each.

A route is an agent put on by a method, its rinse, and its drying. It is open when none of its steps is
`never` or `not known` on any material of the assembly. What it needs off is therefore just the parts on which
a step is; where an agent can be rinsed or dried in several ways, the way that needs the fewest parts off.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import get_args

from pegwood.trade.agents._bearing import Bearing, Bearings, Part, Step, Taken
from pegwood.trade.agents._judging import Reason, worst
from pegwood.trade.agents._kinds import OPEN, WORST_LAST, Agent, Dirt, Method, Verdict
from pegwood.trade.agents._tables import Tables
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.reference import Reference


@dataclass(frozen=True, kw_only=True)
class Route:
    """
    A way to clean an assembly.

    Attributes
    ----------
    steps : tuple of Step
        Cleaning, rinses, drying.
    never : tuple of Reason
        What closes it whatever is taken off.
    closed_by : tuple of Bearing
        What closes it on the assembly's parts.
    care : tuple of Bearing
        What wants care on its other parts.
    cautions : tuple of Reason
        What wants care with the agent itself.
    take_off : tuple of str
        The smallest set of parts to take off for it to open, in the order given; empty where it is open.
    parts : tuple of str
        All parts of the assembly.
    rests_on : tuple of tuple of Ground
        The grounds of all that was asked of agents and methods on the way.
    """

    steps: tuple[Step, ...]
    never: tuple[Reason, ...]
    closed_by: tuple[Bearing, ...]
    care: tuple[Bearing, ...]
    cautions: tuple[Reason, ...]
    take_off: tuple[str, ...]
    parts: tuple[str, ...]
    rests_on: tuple[Grounds, ...]

    @cached_property
    def grounds(self) -> Grounds:
        """What it rests on."""
        return joined(*self.rests_on)

    @cached_property
    def verdict(self) -> Verdict:
        """For the assembly as it stands."""
        stops = [*self.never, *(one.reason for one in self.closed_by)]
        return worst(self.verdict_then, *(reason.verdict for reason in stops))

    @cached_property
    def verdict_then(self) -> Verdict:
        """For what is left when `take_off` is off."""
        if self.never:
            return worst(*(reason.verdict for reason in self.never))
        return "with care" if self.care or self.cautions else "safe"

    @property
    def open(self) -> bool:
        """Whether it may be gone with the assembly as it stands."""
        return not self.never and not self.closed_by

    @property
    def can_open(self) -> bool:
        """Whether taking parts off opens it and leaves something to clean."""
        return not self.never and 0 < len(self.take_off) < len(self.parts)

    @property
    def method(self) -> Method:
        """How it cleans."""
        return self.steps[0].method

    @property
    def agent(self) -> Agent | None:
        """What it cleans with; None where it is dry."""
        return self.steps[0].agent

    @property
    def says(self) -> str:
        """Its steps in a line."""
        return ", ".join(step.says for step in self.steps)


def parts_of(reference: Reference, parts: Iterable[str | tuple[str, str]]) -> tuple[Part, ...]:
    """
    Parts with their materials found.

    Parameters
    ----------
    parts : iterable of str or (str, str)
        Materials, or parts with their material, by any of its names.

    Raises
    ------
    ValueError
        If there is none, or a part has no name.
    UnclearWord, UnknownWord
        If a material is not found.
    """
    read = Tables(reference)
    found = dict.fromkeys(_part(read, one) for one in parts)
    if not found:
        raise ValueError("no part is named. Give materials, such as brass, or parts, such as barrel=brass.")
    return tuple(found)


def _part(read: Tables, told: str | tuple[str, str]) -> Part:
    if isinstance(told, str):
        material = read.material(told)
        return Part(material.name, material)
    name, word = told
    if not name.strip():
        raise ValueError(f"'{name}={word}': the part has no name. Write it as in barrel=brass.")
    return Part(name.strip(), read.material(word))


def routes(
    reference: Reference, parts: Iterable[str | tuple[str, str]], dirt: Dirt | None = None
) -> tuple[Route, ...]:
    """
    All cleaning routes of an assembly, the open ones first and among them the gentlest.

    Parameters
    ----------
    reference : Reference
        The tables.
    parts : iterable of str or (str, str)
        As `parts_of`.
    dirt : str, optional
        What is to come off; routes whose agent does not lift it are left out.

    Raises
    ------
    ValueError
        As `parts_of`, or if the dirt is none that the tables know.
    """
    if dirt is not None and dirt not in get_args(Dirt):
        raise ValueError(
            f"{dirt!r} is no dirt that the tables know. Expected one of: {', '.join(get_args(Dirt))}."
        )
    assembly = parts_of(reference, parts)
    kept = reference.once("routes", dict[tuple[tuple[Part, ...], Dirt | None], tuple[Route, ...]])
    if (assembly, dirt) not in kept:
        if len(kept) >= MOST_KEPT:
            kept.clear()
        kept[assembly, dirt] = tuple(sorted(_routes(Tables(reference), assembly, dirt), key=_gentlest))
    return kept[assembly, dirt]


#: How many routes are kept: a job's card asks for the same assembly each time it is looked at.
MOST_KEPT = 100


def _gentlest(route: Route) -> tuple[object, ...]:
    agent = route.agent.gentle if route.agent else -1
    off = len(route.take_off)
    return bool(route.never), off, WORST_LAST.index(route.verdict_then), route.method.gentle, agent


def _routes(read: Tables, assembly: Sequence[Part], dirt: Dirt | None) -> Iterator[Route]:
    names = tuple(dict.fromkeys(part.name for part in assembly))
    bearings = Bearings(read, assembly)
    for method in read.methods.values():
        if method.kind == "dry" and (dirt is None or dirt in method.lifts):
            yield _route(bearings.take(method), NOTHING_AFTER, names)
    for agent in read.agents.values():
        if dirt is None or dirt in agent.lifts:
            yield from _with(read, bearings, agent, names)


def _with(read: Tables, bearings: Bearings, agent: Agent, names: tuple[str, ...]) -> Iterator[Route]:
    """All routes that begin with an agent; what may follow is the same for all methods that rinse alike."""
    after: dict[str, list[_After]] = {}
    for method in read.methods.values():
        if method.key in agent.put_on or _tempting(agent, method):
            if method.rinsed_by not in after:
                after[method.rinsed_by] = list(_afters(read, bearings, agent, read.methods[method.rinsed_by]))
            first = bearings.take(method, agent)
            yield _route(first, _best(first, after[method.rinsed_by]), names)


def _tempting(agent: Agent, method: Method) -> bool:
    """A way that is barred, and told since people think of it: a flammable liquid in the ultrasonic tank."""
    barred = method.with_flammable and method.with_flammable.verdict == "never"
    return bool(agent.put_on and agent.flammable and barred and method.kind == "bath")


@dataclass(frozen=True)
class _After:
    """
    One of the ways to rinse an agent off and to dry: how all of it is borne, what speaks against it whatever
    the part, and the parts that mind the liquid which is left to dry.
    """

    taken: tuple[Taken, ...]
    against: tuple[Reason, ...]
    off: frozenset[str]
    minded: frozenset[str]
    left_wet: frozenset[str]


NOTHING_AFTER = _After((), (), frozenset(), frozenset(), frozenset())


def _afters(read: Tables, bearings: Bearings, agent: Agent, rinsing: Method) -> Iterator[_After]:
    for rinse, dry in product(agent.rinse, agent.dry):
        rinses = [bearings.take(rinsing, read.agents[one]) for one in rinse]
        drying = bearings.take(read.methods[dry])
        last = read.agents[rinse[-1]] if rinse else agent
        taken = (*rinses, drying)
        yield _After(
            taken,
            (
                *(reason for one in rinses for reason in one.against),
                *bearings.drying(last, drying.step.method),
            ),
            frozenset().union(*(one.off for one in taken)),
            frozenset().union(*(one.minded for one in taken)),
            bearings.minding(last) if last.water_based else frozenset(),
        )


def _best(first: Taken, after: Sequence[_After]) -> _After:
    """
    The way to rinse and dry with the least against it: barred, parts to take off, parts to mind, and water
    left to dry on something that it harms.
    """

    def losses(one: _After) -> tuple[int, int, int, bool]:
        off = first.off | one.off
        barred = sum(reason.verdict not in OPEN for reason in one.against)
        return barred, len(off), len((first.minded | one.minded) - off), bool(one.left_wet - off)

    return after[0] if len(after) == 1 else min(after, key=losses)


def _route(first: Taken, after: _After, names: tuple[str, ...]) -> Route:
    taken = (first, *after.taken)
    against = (*first.against, *after.against)
    off = first.off | after.off
    return Route(
        steps=tuple(one.step for one in taken),
        never=tuple(reason for reason in against if reason.verdict not in OPEN),
        closed_by=tuple(bearing for one in taken for bearing in one.closing),
        care=tuple(bearing for one in taken for bearing in one.care if bearing.part.name not in off),
        cautions=tuple(reason for reason in against if reason.verdict == "with care"),
        take_off=tuple(name for name in names if name in off),
        parts=names,
        rests_on=(*(one.grounds for one in taken), *(reason.grounds for reason in against)),
    )
