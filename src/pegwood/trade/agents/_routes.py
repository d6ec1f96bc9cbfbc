"""
Cleaning a whole assembly: which ways are open, what closes the others, what to take off for each.

A route is an agent put on by a method, its rinse, and its drying. It is open when none of its steps is
`never` or `not known` on any material of the assembly. What it needs off is therefore just the parts on which
a step is; where an agent can be rinsed or dried in several ways, the way that needs the fewest parts off.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
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

    @property
    def grounds(self) -> Grounds:
        """What it rests on."""
        return joined(*self.rests_on)

    @property
    def verdict(self) -> Verdict:
        """For the assembly as it stands."""
        stops = [*self.never, *(one.reason for one in self.closed_by)]
        return worst(self.verdict_then, *(reason.verdict for reason in stops))

    @property
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
    return tuple(sorted(_routes(Tables(reference), assembly, dirt), key=_gentlest))


def _gentlest(route: Route) -> tuple[object, ...]:
    agent = route.agent.gentle if route.agent else -1
    off = len(route.take_off)
    return bool(route.never), off, WORST_LAST.index(route.verdict_then), route.method.gentle, agent


def _routes(read: Tables, assembly: Sequence[Part], dirt: Dirt | None) -> Iterator[Route]:
    names = tuple(dict.fromkeys(part.name for part in assembly))
    bearings = Bearings(read, assembly)
    for method in read.methods.values():
        if method.kind == "dry" and (dirt is None or dirt in method.lifts):
            yield _route(_Way((bearings.take(method),), ()), names)
    for agent in read.agents.values():
        if dirt is not None and dirt not in agent.lifts:
            continue
        for method in read.methods.values():
            if method.key in agent.put_on or _tempting(agent, method):
                yield _route(min(_ways(read, bearings, agent, method), key=_losses), names)


def _tempting(agent: Agent, method: Method) -> bool:
    """A way that is barred, and told since people think of it: a flammable liquid in the ultrasonic tank."""
    barred = method.with_flammable and method.with_flammable.verdict == "never"
    return bool(agent.put_on and agent.flammable and barred and method.kind == "bath")


@dataclass(frozen=True)
class _Way:
    """One of the ways to rinse and dry, with what speaks against its steps whatever the part."""

    taken: tuple[Taken, ...]
    against: tuple[Reason, ...]


def _ways(read: Tables, bearings: Bearings, agent: Agent, method: Method) -> Iterator[_Way]:
    rinsing = read.methods[method.rinsed_by]
    for rinse, dry in product(agent.rinse, agent.dry):
        wet = [agent, *(read.agents[one] for one in rinse)]
        first, *rinses = wet
        drying = read.methods[dry]
        taken = (bearings.take(method, first), *(bearings.take(rinsing, one) for one in rinses))
        against = [reason for one in taken for reason in one.against]
        yield _Way((*taken, bearings.take(drying)), (*against, *bearings.drying(wet[-1], drying)))


def _losses(way: _Way) -> tuple[int, int, int, bool]:
    """
    What speaks against one of several rinses and dryings: barred, parts to take off, parts to mind, and
    whether water is left to dry on something that water harms.
    """
    off = frozenset().union(*(one.off for one in way.taken))
    minded = frozenset().union(*(one.minded for one in way.taken))
    barred = sum(reason.verdict not in OPEN for reason in way.against)
    last = next(one for one in reversed(way.taken) if one.step.agent)
    wet = bool(last.step.agent and last.step.agent.water_based and last.liquid_minded - off)
    return barred, len(off), len(minded - off), wet


def _route(way: _Way, names: tuple[str, ...]) -> Route:
    off = frozenset().union(*(one.off for one in way.taken))
    return Route(
        steps=tuple(one.step for one in way.taken),
        never=tuple(reason for reason in way.against if reason.verdict not in OPEN),
        closed_by=tuple(bearing for one in way.taken for bearing in one.closing),
        care=tuple(bearing for one in way.taken for bearing in one.care if bearing.part.name not in off),
        cautions=tuple(reason for reason in way.against if reason.verdict == "with care"),
        take_off=tuple(name for name in names if name in off),
        parts=names,
        rests_on=tuple(grounds for one in way.taken for grounds in one.rests_on),
    )
