"""The way back: a step for each part that came off, with all that its going back needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from pegwood.anatomy.bench_log import Kept, TakenOff, Written
from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Back
from pegwood.anatomy.rebuilding.before import Before, before, part_of, way_used
from pegwood.anatomy.rebuilding.leftovers import Forgotten, Leftover, leftovers, under
from pegwood.anatomy.rebuilding.needs import Glueing, Lubricate, glueing, lubricate
from pegwood.trade.grounds import Ground
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital

State = Literal["back", "now", "held up", "waits", "stays out"]
#: What a part that was missing waits for, until a spare lies there or somebody says why it stays out.
A_SPARE = "waits for a spare, or a word why it stays out"


@dataclass(frozen=True, kw_only=True)
class BackStep:
    """
    One part back.

    Attributes
    ----------
    entry : TakenOff
        The part as it came off: name, pocket, and what was kept of it.
    state : str
        "back"; "now": it can be done at once; "held up": other parts must be back first; "waits": for
        cleaning, a spare; "stays out": explained.
    held_by : tuple of TakenOff
        What must be back first and is not; a part that waits may be held up as well.
    waits_for : str
        As the log says it.
    strict : bool
        Whether nobody knows what it has to do with other parts, so that the strict reverse holds.
    lubricate, glue : optional
        From the trade's tables.
    feel, check : str
    opens : tuple of str
        Adjustments that were lost with it.
    cautions : tuple of str
        Whole sentences: those of the way it came off, of its glue and of the place that is lubricated.
    ground : Ground, optional
        What the family's words rest on.
    """

    entry: TakenOff
    state: State
    held_by: tuple[TakenOff, ...] = ()
    waits_for: str = ""
    strict: bool = False
    lubricate: Lubricate | None = None
    glue: Glueing | None = None
    feel: str = ""
    opens: tuple[str, ...] = ()
    check: str = ""
    cautions: tuple[str, ...] = ()
    ground: Ground | None = None

    @property
    def notes(self) -> tuple[Written, ...]:
        """What was written down before it moved."""
        return self.entry.notes

    @property
    def bring(self) -> tuple[Kept, ...]:
        """What was kept of it and is not back yet: each says where it belongs and lies."""
        return tuple(kept for kept in self.entry.kept if kept.is_out and kept.kind != "part")

    @property
    def shims(self) -> tuple[Kept, ...]:
        """Its shims and washers, by place and thickness, those that are back too."""
        return tuple(kept for kept in self.entry.kept if kept.kind in ("shim", "washer"))


@dataclass(frozen=True, kw_only=True)
class Adjustment:
    """
    What is adjusted anew.

    Attributes
    ----------
    what : str
        "infinity".
    after : TakenOff
        It can be done when this is back.
    opened_by : tuple of TakenOff
        All whose going off lost it.
    is_ready : bool
        Whether all these are back, or stay out.
    """

    what: str
    after: TakenOff
    opened_by: tuple[TakenOff, ...]
    is_ready: bool


@dataclass(frozen=True, kw_only=True)
class StillCuring:
    """A glue that does not surely bear its load yet, and in how long it will, at most, [s]."""

    entry: TakenOff
    glue: Glueing
    holds: bool
    holds_in_s: float
    cured_in_s: float


@dataclass(frozen=True, kw_only=True)
class WayBack:
    """
    The way back.

    Attributes
    ----------
    steps : tuple of BackStep
        In the order proposed: the reverse of what was done.
    adjustments : tuple of Adjustment
        In the order in which they can be done.
    curing : tuple of StillCuring
    leftovers : tuple of Leftover
        All that is kept and not back.
    forgotten : tuple of Forgotten
        What is out though a part over it is back: to be told at once.
    """

    steps: tuple[BackStep, ...]
    adjustments: tuple[Adjustment, ...]
    curing: tuple[StillCuring, ...]
    leftovers: tuple[Leftover, ...]
    forgotten: tuple[Forgotten, ...]

    @property
    def now(self) -> tuple[BackStep, ...]:
        """All steps that can be done at once; the first is the next."""
        return tuple(step for step in self.steps if step.state == "now")

    @property
    def lacks(self) -> tuple[str, ...]:
        """What is neither back nor explained, a line each; none: the rebuild is whole."""
        out = [_lack(step) for step in self.steps if step.state not in ("back", "stays out")]
        return (*out, *(capital(one.says) for one in self.leftovers))

    @property
    def is_whole(self) -> bool:
        """Whether everything is back or explained."""
        return not self.lacks


def way_back(
    log: Iterable[TakenOff],
    construction: Construction | None = None,
    reference: Reference | None = None,
    since_s: Mapping[str, float] | None = None,
) -> WayBack:
    """
    The way back from what was really done.

    Parameters
    ----------
    log : iterable of TakenOff
        What came off, what was kept, and what of it is back.
    construction : Construction, optional
        The family's; without one the strict reverse of the log is the order.
    reference : Reference, optional
        The trade's tables; those that came where none is given.
    since_s : mapping of str to float, optional
        By the log's key: how long a part has been back, [s]; for the glue that still cures.
    """
    log = tuple(log)
    reference = reference or Reference()
    graph = before(log, construction)
    steps = tuple(_step(entry, graph, construction, reference) for entry in graph.order)
    return WayBack(
        steps=steps,
        adjustments=_adjustments(steps),
        curing=_curing(steps, since_s or {}),
        leftovers=leftovers(log),
        forgotten=tuple(one for entry in graph.order if entry.is_back for one in under(graph, entry)),
    )


def _step(
    entry: TakenOff, graph: Before, construction: Construction | None, reference: Reference
) -> BackStep:
    part, way = part_of(entry, construction), way_used(entry, construction)
    back = part.back if part else Back()
    held_by = () if entry.is_back or entry.explained else _held_by(entry, graph)
    waits_for = _waits_for(entry)
    oil, glue = lubricate(back, reference), glueing(back, reference)
    cautions = list(way.cautions) if way else [one for w in (part.ways if part else ()) for one in w.cautions]
    cautions += [one.says for one in (oil.never if oil else ())]
    cautions += [glue.curing.glue.caution] if glue and glue.curing.glue.caution else []
    return BackStep(
        entry=entry,
        state=_state(entry, waits_for, held_by),
        held_by=held_by,
        waits_for=waits_for,
        strict=entry.id in graph.strict,
        lubricate=oil,
        glue=glue,
        feel=back.feel,
        opens=back.opens,
        check=back.check,
        cautions=tuple(dict.fromkeys(cautions)),
        ground=Ground(part.source, part.mark or "practice") if part and part.source else None,
    )


def _state(entry: TakenOff, waits_for: str, held_by: tuple[TakenOff, ...]) -> State:
    if entry.is_back:
        return "back"
    if entry.explained:
        return "stays out"
    if waits_for:
        return "waits"
    return "held up" if held_by else "now"


def _waits_for(entry: TakenOff) -> str:
    if entry.is_back or entry.explained:
        return ""
    spare = entry.spare_is_here or entry.pocket or any(kept.kind == "part" for kept in entry.kept)
    return entry.awaits or (A_SPARE if entry.met == "missing" and not spare else "")


def _held_by(entry: TakenOff, graph: Before) -> tuple[TakenOff, ...]:
    """What must be back first and is not: the nearest, through what is back or stays out."""
    entries = {one.id: one for one in graph.order}
    found: dict[str, TakenOff] = {}
    seen: set[str] = set()
    ahead = list(graph.needs[entry.id])
    while ahead:
        key = ahead.pop()
        if key in seen:
            continue
        seen.add(key)
        if entries[key].is_back or entries[key].explained:
            ahead += graph.needs[key]
        else:
            found[key] = entries[key]
    return tuple(one for one in graph.order if one.id in found)


def _adjustments(steps: tuple[BackStep, ...]) -> tuple[Adjustment, ...]:
    """In the order in which the last part that opened each goes back."""
    opened: dict[str, list[BackStep]] = {}
    for step in steps:
        for what in step.opens:
            opened.setdefault(what, []).append(step)
    place = {step.entry.id: n for n, step in enumerate(steps)}
    found = []
    for what, by in opened.items():
        last = next((step for step in reversed(by) if step.state != "stays out"), by[-1])
        found.append(
            Adjustment(
                what=what,
                after=last.entry,
                opened_by=tuple(step.entry for step in by),
                is_ready=all(step.state in ("back", "stays out") for step in by),
            )
        )
    return tuple(sorted(found, key=lambda one: place[one.after.id]))


def _curing(steps: tuple[BackStep, ...], since_s: Mapping[str, float]) -> tuple[StillCuring, ...]:
    found = []
    for step in steps:
        since = since_s.get(step.entry.id)
        if step.glue is None or step.state != "back" or since is None or step.glue.cured(since):
            continue
        times = step.glue.curing
        found.append(
            StillCuring(
                entry=step.entry,
                glue=step.glue,
                holds=step.glue.holds(since),
                holds_in_s=max(0.0, times.set_s.high - since),
                cured_in_s=times.full_s.high - since,
            )
        )
    return tuple(found)


def _lack(step: BackStep) -> str:
    why = ""
    if step.waits_for:
        why = f": {step.waits_for}"
    elif step.held_by:
        why = f": first the {', the '.join(one.name for one in step.held_by)}"
    return f"The {step.entry.name} is not back{why}."
