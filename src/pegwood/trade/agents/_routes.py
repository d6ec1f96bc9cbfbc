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

from pegwood.trade.agents._judging import Reason, agent_by, agent_on, method_on, worst
from pegwood.trade.agents._kinds import OPEN, WORST_LAST, Agent, Dirt, Method, Verdict
from pegwood.trade.agents._tables import Tables
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.materials import Material
from pegwood.trade.reference import Reference


@dataclass(frozen=True)
class Part:
    """A part of an assembly and one material in it; one of several materials stands there several times."""

    name: str
    material: Material


@dataclass(frozen=True)
class Step:
    """A method with its liquid, or alone."""

    method: Method
    agent: Agent | None = None

    @property
    def says(self) -> str:
        """Such as "soak in naphtha" or "dry in open air"."""
        return f"{self.method.does} {self.agent.name}" if self.agent else self.method.does


@dataclass(frozen=True)
class Bearing:
    """How a part bears a step that is not simply safe for it."""

    part: Part
    step: Step
    reason: Reason


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
    bears = _Bears(read, assembly)
    for method in read.methods.values():
        if method.kind == "dry" and (dirt is None or dirt in method.lifts):
            yield bears.route((Step(method),))
    for agent in read.agents.values():
        if dirt is not None and dirt not in agent.lifts:
            continue
        for method in read.methods.values():
            if method.key in agent.put_on or _tempting(agent, method):
                ways = list(_variants(read, agent, method))
                yield bears.route(min(ways, key=bears.losses) if len(ways) > 1 else ways[0])


def _tempting(agent: Agent, method: Method) -> bool:
    """A way that is barred, and told since people think of it: a flammable liquid in the ultrasonic tank."""
    barred = method.with_flammable and method.with_flammable.verdict == "never"
    return bool(agent.put_on and agent.flammable and barred and method.kind == "bath")


def _variants(read: Tables, agent: Agent, method: Method) -> Iterator[tuple[Step, ...]]:
    for rinse, dry in product(agent.rinse, agent.dry):
        rinses = (Step(read.methods[method.rinsed_by], read.agents[one]) for one in rinse)
        yield Step(method, agent), *rinses, Step(read.methods[dry])


@dataclass(frozen=True)
class _Borne:
    """How all parts bear one agent, or one method."""

    closed: tuple[tuple[Part, Reason], ...]
    care: tuple[tuple[Part, Reason], ...]
    grounds: Grounds
    off: frozenset[str]
    minded: frozenset[str]


class _Bears:
    """How the parts of an assembly bear each agent and each method, looked up once."""

    def __init__(self, read: Tables, assembly: Sequence[Part]) -> None:
        self.read = read
        self.assembly = assembly
        self.names = tuple(dict.fromkeys(part.name for part in assembly))
        self.by_agent: dict[tuple[str, str], tuple[Reason, ...]] = {}
        self.found: dict[tuple[type, str], _Borne] = {}

    def losses(self, steps: tuple[Step, ...]) -> tuple[int, int, int, bool]:
        """
        What speaks against one of several rinses and dryings: barred, parts to take off, parts to mind, and
        whether water is left to dry on something that water harms.
        """
        borne = [one for _, one in self._along(steps)]
        off = frozenset().union(*(one.off for one in borne))
        minded = frozenset().union(*(one.minded for one in borne))
        barred = sum(reason.verdict not in OPEN for reason in self._of_agent(steps))
        last = [step.agent for step in steps if step.agent][-1]
        wet = last.water_based and bool(self._borne(last).minded - off)
        return barred, len(off), len(minded - off), wet

    def route(self, steps: tuple[Step, ...]) -> Route:
        """The route with what closes it and what wants care on it."""
        by_agent = self._of_agent(steps)
        along = self._along(steps)
        closed = [Bearing(part, step, why) for step, one in along for part, why in one.closed]
        off = {one.part.name for one in closed}
        care = [Bearing(part, step, why) for step, one in along for part, why in one.care]
        return Route(
            steps=steps,
            never=tuple(reason for reason in by_agent if reason.verdict not in OPEN),
            closed_by=tuple(closed),
            care=tuple(one for one in care if one.part.name not in off),
            cautions=tuple(reason for reason in by_agent if reason.verdict == "with care"),
            take_off=tuple(name for name in self.names if name in off),
            parts=self.names,
            rests_on=(*(one.grounds for _, one in along), *(reason.grounds for reason in by_agent)),
        )

    def _along(self, steps: tuple[Step, ...]) -> list[tuple[Step, _Borne]]:
        things = [(step, thing) for step in steps for thing in (step.method, step.agent) if thing]
        return [(step, self._borne(thing)) for step, thing in things]

    def _borne(self, thing: Agent | Method) -> _Borne:
        key = type(thing), thing.key
        if key not in self.found:
            reasons = [(part, self._reason(thing, part.material)) for part in self.assembly]
            closed = tuple(one for one in reasons if one[1].verdict not in OPEN)
            care = tuple(one for one in reasons if one[1].verdict == "with care")
            self.found[key] = _Borne(
                closed,
                care,
                joined(*(reason.grounds for _, reason in reasons)),
                frozenset(part.name for part, _ in closed),
                frozenset(part.name for part, _ in care),
            )
        return self.found[key]

    def _reason(self, thing: Agent | Method, material: Material) -> Reason:
        if isinstance(thing, Agent):
            return agent_on(self.read, thing, material)
        return method_on(self.read, thing, material)

    def _of_agent(self, steps: tuple[Step, ...]) -> list[Reason]:
        """What speaks against the agents by these methods; what is flammable must be gone before warm air."""
        wetted = [(step.agent, step.method) for step in steps if step.agent]
        if wetted and steps[-1].method.kind == "drying":
            wetted.append((wetted[-1][0], steps[-1].method))
        found: dict[tuple[str, str], Reason] = {}
        for agent, method in wetted:
            pair = agent.key, method.key
            if pair not in self.by_agent:
                self.by_agent[pair] = agent_by(agent, method)
            found.update({(one.about, one.verdict): one for one in self.by_agent[pair]})
        return list(found.values())
