"""Where a strip-down stands: the step that comes next, what is off, what lies in the trays."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part, Way
from pegwood.anatomy.planning.plan import Plan, plan
from pegwood.anatomy.planning.problem import Unreachable
from pegwood.book.families import construction_learned
from pegwood.book.models import Job, StripDown, TakenOff
from pegwood.book.stripping.pockets import next_pocket, pocket_name
from pegwood.book.stripping.record import off_now, steps_of
from pegwood.book.stripping.trays import TrayShown, trays_of
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.web.strip.asked import without_ways


@dataclass(frozen=True, kw_only=True)
class Stage:
    """
    A strip-down as it stands.

    `plan` is the rest of the way in; None where nothing is to be reached, no family describes the camera, or
    there is no way (`closed` says why).
    """

    job: Job
    strip_down: StripDown
    construction: Construction | None
    rows: tuple[TakenOff, ...]
    plan: Plan | None
    closed: str
    trays: tuple[TrayShown, ...]
    next_pocket: str

    @property
    def off(self) -> frozenset[str]:
        """Parts of the family that are not in the camera now."""
        return off_now(self.rows)

    @property
    def reached(self) -> tuple[Part, ...]:
        """Parts that were to be reached and are off."""
        if self.construction is None:
            return ()
        return tuple(
            self.construction.parts[part]
            for part in self.strip_down.reach
            if part in self.off and part in self.construction.parts
        )

    @property
    def ready(self) -> tuple[Part, ...]:
        """Parts of the family that could come off as the camera is now."""
        if self.construction is None:
            return ()
        off = self.off
        return tuple(
            part
            for part in self.construction.parts.values()
            if part.id not in off and any(off.issuperset(way.after) for way in part.ways)
        )

    def early(self, part: Part, way: Way | None) -> tuple[Part, ...]:
        """What the family would have off before that part."""
        if self.construction is None or way is None:
            return ()
        return tuple(self.construction.parts[one] for one in way.after if one not in self.off)

    def way_of(self, part: Part, named: str = "") -> Way | None:
        """The way the plan takes, or the one of that name, or the first that is open now."""
        if named and (found := next((way for way in part.ways if way.name == named), None)):
            return found
        if self.plan and (step := next((one for one in self.plan.steps if one.part.id == part.id), None)):
            return step.way
        open_now = [way for way in part.ways if self.off.issuperset(way.after)]
        return next(iter((*open_now, *part.ways)), None)


def stage_of(job: Job) -> Stage:
    """The job's strip-down as it stands."""
    strip_down = strip_down_of(job)
    rows = tuple(steps_of(job))
    construction = construction_learned(strip_down.family)
    way_in, closed = _way_in(strip_down, construction, rows)
    tray, pocket = next_pocket(job, strip_down)
    return Stage(
        job=job,
        strip_down=strip_down,
        construction=construction,
        rows=rows,
        plan=way_in,
        closed=closed,
        trays=trays_of(strip_down, rows, (tray, pocket)),
        next_pocket=pocket_name(tray, pocket),
    )


def _way_in(
    strip_down: StripDown, construction: Construction | None, rows: tuple[TakenOff, ...]
) -> tuple[Plan | None, str]:
    if construction is None:
        return None, ""
    off = off_now(rows)
    reach = tuple(part for part in strip_down.reach if part in construction.parts)
    if off.issuperset(reach):
        return None, ""
    asked = _Question(
        reach=reach,
        spare=tuple(strip_down.spare),
        avoid=tuple(strip_down.avoid),
        only_from=strip_down.only_from,
        without=tuple((part, way) for part, way in strip_down.without if part in construction.parts),
    )
    try:
        return _planned(construction, asked, rows, off), ""
    except (Unreachable, ValueError) as why:
        return None, str(why)


@dataclass(frozen=True)
class _Question:
    """What is asked of the planner, but for what is off; as `Aim`."""

    reach: tuple[str, ...]
    spare: tuple[str, ...]
    avoid: tuple[str, ...]
    only_from: str
    without: tuple[tuple[str, str], ...]


#: The last few plans of late for each question, with the construction they are of: every page that is opened
#: between two steps asks the same, and a step done as planned leaves the rest of the plan as it is. A
#: construction that was read anew is another one.
_lately: OrderedDict[tuple[str, _Question, frozenset[str]], tuple[Construction, Plan]] = OrderedDict()
MOST_KEPT = 200


def _planned(
    construction: Construction, question: _Question, rows: tuple[TakenOff, ...], off: frozenset[str]
) -> Plan:
    """
    The way in from here.

    Raises
    ------
    ValueError
        As `pegwood.anatomy.planning.plan.plan`.
    """
    key = (construction.id, question, off)
    kept = _lately.get(key)
    if kept is not None and kept[0] is construction:
        return kept[1]
    found = _rest(construction, question, rows, off) or plan(
        without_ways(construction, question.without),
        [part for part in question.reach if part not in off],
        off,
        question.spare,
        avoid=question.avoid,
        only_from=(question.only_from,) if question.only_from else (),
        in_hand=(rows[-1].tool, rows[-1].side) if rows else ("", ""),
        with_alternatives=False,
    )
    _lately[key] = construction, found
    while len(_lately) > MOST_KEPT:
        _lately.popitem(last=False)
    return found


def _rest(
    construction: Construction, question: _Question, rows: tuple[TakenOff, ...], off: frozenset[str]
) -> Plan | None:
    """The rest of the plan, where the last step was its first."""
    if not rows or not rows[-1].part:
        return None
    last = rows[-1]
    kept = _lately.get((construction.id, question, off - {last.part}))
    if kept is None or kept[0] is not construction or not kept[1].steps:
        return None
    first = kept[1].steps[0]
    as_planned = (first.part.id, first.way.name) == (last.part, last.way)
    return kept[1].after_first() if as_planned else None
