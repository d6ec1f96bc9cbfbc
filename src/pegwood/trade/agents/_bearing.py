"""How the parts of an assembly bear one step of cleaning, worked out once for each step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.trade.agents._judging import Reason, agent_by, agent_on, method_on
from pegwood.trade.agents._kinds import OPEN, Agent, Method
from pegwood.trade.agents._tables import Tables
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.materials import Material


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


@dataclass(frozen=True)
class Taken:
    """
    A step with how all parts bear it.

    Attributes
    ----------
    step : Step
    closing, care : tuple of Bearing
        What is never or not known; what wants care.
    against : tuple of Reason
        What speaks against this agent by this method, whatever the part.
    off, minded : frozenset of str
        The parts of `closing` and of `care`.
    grounds : tuple of Ground
        What it rests on.
    """

    step: Step
    closing: tuple[Bearing, ...]
    care: tuple[Bearing, ...]
    against: tuple[Reason, ...]
    off: frozenset[str]
    minded: frozenset[str]
    grounds: Grounds


class Bearings:
    """
    How an assembly bears any step.

    Parameters
    ----------
    read : Tables
        What is known.
    assembly : sequence of Part
        Its parts.
    """

    def __init__(self, read: Tables, assembly: Sequence[Part]) -> None:
        self.read = read
        self.assembly = assembly
        self._things: dict[tuple[type, str], tuple[tuple[tuple[Part, Reason], ...], Grounds]] = {}
        self._steps: dict[tuple[str, str], Taken] = {}
        self._dryings: dict[tuple[str, str], tuple[Reason, ...]] = {}

    def take(self, method: Method, agent: Agent | None = None) -> Taken:
        """A step of cleaning."""
        key = method.key, agent.key if agent else ""
        if key not in self._steps:
            self._steps[key] = self._taken(method, agent)
        return self._steps[key]

    def drying(self, agent: Agent, method: Method) -> tuple[Reason, ...]:
        """What speaks against drying like this what is still wet with the agent: heat, if it can be lit."""
        key = agent.key, method.key
        if key not in self._dryings:
            self._dryings[key] = agent_by(agent, method)
        return self._dryings[key]

    def minding(self, agent: Agent) -> frozenset[str]:
        """The parts that want care with an agent, however it is put on."""
        return frozenset(part.name for part, reason in self._of(agent)[0] if reason.verdict == "with care")

    def _taken(self, method: Method, agent: Agent | None) -> Taken:
        step = Step(method, agent)
        of_method, method_grounds = self._of(method)
        of_agent, agent_grounds = self._of(agent) if agent else ((), ())
        bearings = [Bearing(part, step, reason) for part, reason in (*of_method, *of_agent)]
        closing = tuple(one for one in bearings if one.reason.verdict not in OPEN)
        care = tuple(one for one in bearings if one.reason.verdict == "with care")
        against = agent_by(agent, method) if agent else ()
        return Taken(
            step=step,
            closing=closing,
            care=care,
            against=against,
            off=frozenset(one.part.name for one in closing),
            minded=frozenset(one.part.name for one in care),
            grounds=joined(method_grounds, agent_grounds),
        )

    def _of(self, thing: Agent | Method) -> tuple[tuple[tuple[Part, Reason], ...], Grounds]:
        """How all parts bear an agent, or a method."""
        key = type(thing), thing.key
        if key not in self._things:
            reasons = tuple((part, self._reason(thing, part.material)) for part in self.assembly)
            self._things[key] = reasons, joined(*(reason.grounds for _, reason in reasons))
        return self._things[key]

    def _reason(self, thing: Agent | Method, material: Material) -> Reason:
        if isinstance(thing, Agent):
            return agent_on(self.read, thing, material)
        return method_on(self.read, thing, material)
