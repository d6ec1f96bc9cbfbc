"""While you are in there: parts that a way in leaves in place but that now come off for little more."""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part
from pegwood.anatomy.planning.bounds import Bounds
from pegwood.anatomy.planning.limits import within
from pegwood.anatomy.planning.order import in_order
from pegwood.anatomy.planning.plan import Plan, Step, step_of
from pegwood.anatomy.planning.problem import Removal
from pegwood.trade.grounds import Mark
from pegwood.trade.lubricants import PLACES
from pegwood.trade.materials import MATERIALS
from pegwood.trade.reference import Reference

#: Kinds of materials that go with the years, wherever they sit. A covering goes too, but a sound one is left.
PERISHING = ("foam", "cloth")
LASTING = ("paper",)
#: Places whose lubricant, gone stiff, shows in the pictures: in the speeds, in the focus (common practice).
STIFFENING = (
    "helicoid",
    "fine-focus-thread",
    "gear-train-pivots",
    "pallets",
    "curtain-rollers",
    "mirror-hinge",
)


@dataclass(frozen=True, kw_only=True)
class Worth:
    """
    Why a part is worth a look while the camera is open.

    Attributes
    ----------
    kind : str
        Its material perishes, it wants a lubricant, or it is to be clean.
    says : str
        More of it, in words.
    pressing : bool
        Whether it is what usually brings a camera back: what perishes, and lubricants that go stiff where
        the speeds or the focus show it.
    source, mark : str
        Of the row it is told from.
    """

    kind: Literal["perishes", "lubricate", "clean"]
    says: str
    pressing: bool
    source: str
    mark: Mark


@dataclass(frozen=True, kw_only=True)
class InReach:
    """
    A part that comes off for little more.

    Attributes
    ----------
    part : Part
    worth : Worth
        Why one would.
    steps : tuple of Step
        What comes off besides the plan, in order; the part itself last.
    extra_minutes, extra_risk : float
        What that costs: usual minutes, and what the risks cost on average, [min].
    alone : float
        What it would cost without the plan, both together, [min]; the same where the plan opens nothing.
    """

    part: Part
    worth: Worth
    steps: tuple[Step, ...]
    alone: float

    @property
    def extra_minutes(self) -> float:
        return sum(step.way.minutes.likely for step in self.steps)

    @property
    def extra_risk(self) -> float:
        return sum(step.risk_minutes for step in self.steps)

    @property
    def extra(self) -> float:
        """Both, [min]: the least for which it comes off once the plan is done."""
        return self.extra_minutes + self.extra_risk


def in_reach(
    construction: Construction,
    plan: Plan,
    *,
    most: int = 6,
    most_extra_min: float = 15.0,
    reference: Reference | None = None,
) -> tuple[InReach, ...]:
    """
    Parts worth a look that cost little more once a plan is done.

    Told are those whose material perishes or whose place wants a lubricant or cleaning, as the trade's tables
    have it; what is not pressing only where the plan has opened its way. Where they are too many, first what
    is pressing and was opened, then what is pressing, then the rest; the cheapest before others. The extra of
    each is exact: the least of all ways, as `choose` finds it with what the plan takes off counted as off.

    Parameters
    ----------
    construction : Construction
        The family's.
    plan : Plan
        A way in to it; what it does without is done without here too.
    most : int
        How many to tell at most.
    most_extra_min : float
        What one may cost more at most, [min].
    reference : Reference, optional
        The trade's tables; those that come with Pegwood where none is given.

    Returns
    -------
    tuple of InReach
        The cheapest first.
    """
    reference = reference or _tables()
    taken = frozenset(step.part.id for step in plan.steps)
    done = plan.off | taken
    allowed = within(construction, plan.limits)
    after, before = Bounds(allowed, done), Bounds(allowed, plan.off)
    ahead: list[tuple[int, float, str, bool]] = []
    worths: dict[str, Worth] = {}
    for part in construction.parts.values():
        least = after.least.get(part.id, float("inf"))
        if least <= most_extra_min and (worth := worth_of(part, reference)):
            worths[part.id] = worth
            ahead.append((0 if worth.pressing else 2, least, part.id, False))
    heapq.heapify(ahead)
    found: list[InReach] = []
    exact: dict[str, tuple[Mapping[str, Removal], float]] = {}
    while ahead and len(found) < most:
        rank, _, named, settled = heapq.heappop(ahead)
        if settled:
            ways, alone = exact[named]
            found.append(_told(construction, named, worths[named], ways, alone, done))
            continue
        if after.at_least(named) > most_extra_min + 1e-9:
            continue
        ways, cost = after.cheapest(named)  # which may put others before it
        alone = before.cheapest(named)[1] if before.may_need(named) & taken else cost
        opened = alone > cost + 1e-9
        if cost <= most_extra_min + 1e-9 and (worths[named].pressing or opened):
            exact[named] = ways, alone
            heapq.heappush(ahead, (rank if opened else 1, cost, named, True))
    return tuple(sorted(found, key=lambda one: (round(one.extra, 9), one.part.id)))


def _told(
    construction: Construction,
    named: str,
    worth: Worth,
    ways: Mapping[str, Removal],
    alone: float,
    done: frozenset[str],
) -> InReach:
    order = [one for one in in_order(ways, done).parts if one != named]
    steps = tuple(step_of(construction, one, ways[one]) for one in (*order, named))
    return InReach(part=construction.parts[named], worth=worth, steps=steps, alone=alone)


def worth_of(part: Part, reference: Reference) -> Worth | None:
    """Why a part is worth a look while the camera is open; None where nothing in the tables says so."""
    materials = reference.rows(MATERIALS)
    for key in part.materials:
        row = materials.get(key)  # a workshop's own family may leave it open, or name its own
        if row and row.kind in PERISHING and key not in LASTING:
            says = f"{row.name} perishes with the years"
            return Worth(kind="perishes", says=says, pressing=True, source=row.source, mark=row.mark)
    if (place := reference.rows(PLACES).get(part.back.lubricate)) is None:
        return None
    return Worth(
        kind="lubricate" if place.lubricants else "clean",
        says=f"{place.name}: {place.amount[:1].lower()}{place.amount[1:].rstrip('.')}",
        pressing=place.key in STIFFENING,
        source=place.source,
        mark=place.mark,
    )


@cache
def _tables() -> Reference:
    return Reference()
