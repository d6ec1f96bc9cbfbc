"""The way in as steps for the bench: what comes off, by which way, in which order, and what else there is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part, Way
from pegwood.anatomy.planning.choice import Choice, choose
from pegwood.anatomy.planning.limits import Limits, refuse_closed, within
from pegwood.anatomy.planning.order import change_min, in_order
from pegwood.anatomy.planning.problem import Removal, StripDown


@dataclass(frozen=True, kw_only=True)
class Step:
    """One part off, by one way."""

    part: Part
    way: Way

    @property
    def risk_minutes(self) -> float:
        """What may go wrong, on average, [min]."""
        return self.way.cost_minutes - self.way.minutes.likely


@dataclass(frozen=True, kw_only=True)
class Alternative:
    """What the whole would cost without one of its ways: another side, another part first."""

    instead_of: Step
    cost: float
    more: tuple[str, ...]
    fewer: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """
    A way in.

    Attributes
    ----------
    steps : tuple of Step
        In the order proposed.
    minutes : float
        Usual minutes of all steps and of the changes of tools and sides between them, [min].
    cost : float
        Usual minutes of the steps and what their risks cost on average, without the changes, [min]: what was
        made as small as can be.
    changes_min : float
        What the changes cost, [min].
    gap : float
        How much cheaper another choice might at most be, as a share; 0 where this is proved the cheapest.
    order_gap_min : float
        By how much another order might at most need fewer changes, [min].
    alternatives : tuple of Alternative
        The cheapest first.
    dearer_min : float
        What sparing, avoiding and keeping to sides costs more than the freest way in, [min].
    ways : mapping of str to Removal
        The steps as the graph has them, by the part's id.
    off : frozenset of str
        What was off before.
    limits : Limits
        What it does without.
    in_hand : (str, str)
        The tool in hand and the side up at its beginning.
    """

    steps: tuple[Step, ...]
    minutes: float
    cost: float
    changes_min: float
    gap: float
    order_gap_min: float
    alternatives: tuple[Alternative, ...]
    dearer_min: float
    ways: Mapping[str, Removal]
    off: frozenset[str]
    limits: Limits
    in_hand: tuple[str, str] = ("", "")

    @property
    def is_optimal(self) -> bool:
        """Whether no cheaper choice of parts and ways exists; their order is the best for that choice."""
        return self.gap <= 1e-9

    def after_first(self) -> Plan:
        """
        What is left when the first step was done as proposed; its tool stays in hand, its side up.

        Nothing that could be planned anew is cheaper: were the rest not the cheapest from there, neither were
        the whole.

        Raises
        ------
        ValueError
            If nothing is left to be done.
        """
        if not self.steps:
            raise ValueError("nothing is left to be done.")
        done, *rest = self.steps
        now = (done.way.tool, done.way.side)
        change = change_min(self.in_hand, now)
        cost = self.cost - done.way.cost_minutes
        return replace(
            self,
            steps=tuple(rest),
            minutes=self.minutes - done.way.minutes.likely - change,
            changes_min=self.changes_min - change,
            in_hand=now,
            cost=cost,
            gap=self.gap * self.cost / cost if rest else 0.0,
            alternatives=(),
            dearer_min=0.0,
            ways={part: way for part, way in self.ways.items() if part != done.part.id},
            off=self.off | {done.part.id},
        )


def plan(
    construction: Construction,
    reach: Iterable[str],
    off: Iterable[str] = (),
    spare: Iterable[str] = (),
    *,
    avoid: Iterable[str] = (),
    only_from: Iterable[str] = (),
    in_hand: tuple[str, str] = ("", ""),
    with_alternatives: bool = True,
) -> Plan:
    """
    The way in to some parts.

    Parameters
    ----------
    construction : Construction
        The family's.
    reach : iterable of str
        Parts to take off, by id.
    off : iterable of str
        Parts that are off already.
    spare : iterable of str
        Parts that must stay where they are.
    avoid : iterable of str
        Kinds of joints that are not undone ("glue"): no part held by one comes off.
    only_from : iterable of str
        Sides of the body to go in from ("base"): no way from another side is taken; what is worked inside,
        once it lies open, is. Empty for all sides.

    in_hand : (str, str)
        The tool in hand and the side up; empty for none, then the first costs nothing.
    with_alternatives : bool
        Whether to look what the whole would cost otherwise: as long again for each part of several ways.

    Raises
    ------
    ValueError
        If one is no part of the family, or is to be reached and spared; if there is no such joint or side.
    Unreachable
        If there is no way in without what must stay; what is in the way is named, with what closes it.
    """
    reach, off = tuple(dict.fromkeys(reach)), frozenset(off)
    limits = Limits(spare=frozenset(spare), avoid=frozenset(avoid), only_from=frozenset(only_from))
    for part in (*reach, *sorted(off), *sorted(limits.spare)):
        if part not in construction.parts:
            raise ValueError(f"{part!r} is no part of this family. `pegwood strip parts` lists them.")
    if both := limits.spare & set(reach):
        raise ValueError(f"{min(both)!r} cannot be reached and spared.")
    refuse_closed(construction, limits, reach, off)
    allowed = within(construction, limits)
    found = choose(allowed, reach, off)
    freely = choose(construction.strip_down(), reach, off).cost if limits else found.cost
    order = in_order(found.ways, off, *in_hand)
    steps = tuple(step_of(construction, one, found.ways[one]) for one in order.parts)
    return Plan(
        steps=steps,
        minutes=sum(step.way.minutes.likely for step in steps) + order.changes_min,
        cost=found.cost,
        changes_min=order.changes_min,
        gap=found.gap,
        order_gap_min=order.changes_min - order.least_min,
        alternatives=_alternatives(allowed, found, steps, reach, off) if with_alternatives else (),
        dearer_min=max(0.0, found.cost - freely),
        ways=found.ways,
        off=off,
        limits=limits,
        in_hand=in_hand,
    )


def step_of(construction: Construction, named: str, removal: Removal) -> Step:
    """The step that a removal of the graph stands for."""
    part = construction.parts[named]
    return Step(part=part, way=next(way for way in part.ways if way.name == removal.name))


def _alternatives(
    allowed: StripDown, found: Choice, steps: tuple[Step, ...], reach: Iterable[str], off: frozenset[str]
) -> tuple[Alternative, ...]:
    told = []
    for step in steps:
        ways = allowed.ways[step.part.id]
        if len(ways) < 2:
            continue
        others = tuple(way for way in ways if way.name != step.way.name)
        without = StripDown({**allowed.ways, step.part.id: others})
        if not set(reach) <= without.removable_with(off):
            continue
        then = choose(without, reach, off)
        told.append(
            Alternative(
                instead_of=step,
                cost=then.cost,
                more=tuple(sorted(then.ways.keys() - found.ways.keys())),
                fewer=tuple(sorted(found.ways.keys() - then.ways.keys())),
            )
        )
    return tuple(sorted(told, key=lambda one: one.cost))
