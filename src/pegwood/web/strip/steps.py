"""The list for the bench: steps in their order, those by one tool from one side together."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import groupby

from pegwood.anatomy.construction import WITHIN, Construction
from pegwood.anatomy.parts import Join, Minutes, Part, Shim
from pegwood.anatomy.planning.plan import Step
from pegwood.trade.grounds import Ground

FROM = {
    "front": "from the front",
    "top": "from the top",
    "base": "from the base",
    "back": "from the back",
    "left": "from the left",
    "right": "from the right",
    "inside": "inside",
}
TO = {
    "front": "front up",
    "top": "top up",
    "base": "base up",
    "back": "back up",
    "left": "left side up",
    "right": "right side up",
}
NOTE = {
    "scribe": "scribe",
    "count turns": "count turns",
    "start thread": "mark where the thread starts",
    "photograph": "photograph",
    "measure": "measure",
    "which way round": "note which way round",
}
#: What is said of a spare that is not simply bought.
SPARE = {"never found": "a spare is never found", "made anew": "a spare is made anew"}
PLURALS = {"press": "press fits", "solder": "soldered joints", "glue": "glued places", "friction": "fits"}
ONE = {"press": "press fit", "solder": "soldered joint"}


@dataclass(frozen=True, kw_only=True)
class RiskShown:
    """What may go wrong: how often, [%], and what it then costs more, [min]."""

    what: str
    percent: str
    minutes: str


@dataclass(frozen=True, kw_only=True)
class StepShown:
    """
    One step as it is told.

    Attributes
    ----------
    number : int
        From 1.
    part, group : str
        The part's id; the mechanism it belongs to.
    name, way, also : str
        The part's name, by which of its ways, its other names.
    minutes : Minutes
        Least, usual, most.
    rests_on : str
        What they rest on where they are this bench's own; empty for the file's.
    held : tuple of str
        What holds it, with threads, lengths and heads.
    shims : tuple of str
    before : tuple of (str, str)
        What is written down first: kind and words.
    risks : tuple of RiskShown
    cautions : tuple of str
    spare : str
        What is said of a spare; empty for nothing.
    not_in_all, is_wanted : bool
        Whether some never had it; whether it is to be reached.
    ground : Ground or None
        What it rests on where that is not what the family rests on.
    it_is_off : str
        Where "it is off" leads.
    """

    number: int
    part: str
    group: str
    name: str
    way: str
    also: str
    minutes: Minutes
    rests_on: str
    held: tuple[str, ...]
    shims: tuple[str, ...]
    before: tuple[tuple[str, str], ...]
    risks: tuple[RiskShown, ...]
    cautions: tuple[str, ...]
    spare: str
    not_in_all: bool
    is_wanted: bool
    ground: Ground | None
    it_is_off: str


@dataclass(frozen=True, kw_only=True)
class InHand:
    """
    Steps that are done by one tool from one side without a change.

    `change` says what changes before the first: "change to the spanner, turn it front up".
    """

    tool: str
    side: str
    change: str
    minutes: float
    steps: tuple[StepShown, ...]

    @property
    def first(self) -> int:
        """The number of the first step."""
        return self.steps[0].number


def in_hand(
    construction: Construction, steps: Iterable[Step], wanted: Iterable[str], off_link: Callable[[str], str]
) -> tuple[InHand, ...]:
    """The steps of a plan, grouped by tool and side."""
    wanted = frozenset(wanted)
    numbered = list(enumerate(steps, 1))
    found: list[InHand] = []
    tool = side = ""
    for (now_tool, now_side), those in groupby(numbered, key=lambda one: (one[1].way.tool, one[1].way.side)):
        told = tuple(
            step_shown(construction, number, step, step.part.id in wanted, off_link(step.part.id))
            for number, step in those
        )
        found.append(
            InHand(
                tool=now_tool,
                side=FROM[now_side],
                change=_change(tool, now_tool, side, now_side),
                minutes=sum(one.minutes.likely for one in told),
                steps=told,
            )
        )
        tool, side = now_tool, now_side
    return tuple(found)


def _change(tool: str, now_tool: str, side: str, now_side: str) -> str:
    told = []
    if tool != now_tool == "fingers":
        told.append("by hand")
    elif tool != now_tool:
        told.append(f"{'change to' if tool else 'take'} the {now_tool}")
    if side != now_side == "inside":
        told.append("go inside")
    elif side != now_side:
        told.append(f"{'turn it' if side else 'lay it'} {TO[now_side]}")
    return ", ".join(told)


def step_shown(
    construction: Construction, number: int, step: Step, is_wanted: bool, it_is_off: str
) -> StepShown:
    """One step as it is told."""
    part, way = step.part, step.way
    return StepShown(
        number=number,
        part=part.id,
        group=group_of(part.id),
        name=part.name,
        way=way.name,
        also=", ".join(part.also),
        minutes=way.minutes,
        rests_on=way.minutes_from,
        held=tuple(held_by(construction, part)),
        shims=tuple(map(shim_words, part.shims)),
        before=tuple((NOTE[note.kind], note.says) for note in way.before),
        risks=tuple(
            RiskShown(what=one.what, percent=f"{100 * one.chance:.2g}", minutes=f"{one.minutes:g}")
            for one in way.risks
        ),
        cautions=way.cautions,
        spare=SPARE.get(part.scarce, ""),
        not_in_all=part.not_in_all,
        is_wanted=is_wanted,
        ground=own_ground(construction, part),
        it_is_off=it_is_off,
    )


def own_ground(construction: Construction, part: Part) -> Ground | None:
    """What a part rests on, where that is not what its family rests on."""
    if not part.source or part.mark is None:
        return None
    whole = construction.ground
    same = (part.source, part.mark) == (whole.source, whole.mark)
    return None if same else Ground(part.source, part.mark)


def group_of(part: str) -> str:
    """The mechanism of a part, as its family calls it."""
    called, inside, _ = part.partition(WITHIN)
    return called.replace("-", " ") if inside else ""


def held_by(construction: Construction, part: Part) -> list[str]:
    """What holds a part: "3 screws M1.7x0.35, 4 mm, cheese head, under the front covering"."""
    return [_join_words(construction, join) for join in part.joins]


def _join_words(construction: Construction, join: Join) -> str:
    words = f"{join.count} {PLURALS.get(join.kind, join.kind + 's')}" if join.count > 1 else _one(join)
    if join.thread:
        words += f" {join.thread}"
    if join.length_mm is not None:
        words += f", {join.length_mm:g} mm"
    if join.head:
        words += f", {join.head}"
    if join.to in construction.parts:
        words += f", to the {construction.parts[join.to].name}"
    if join.under in construction.parts:
        words += f", under the {construction.parts[join.under].name}"
    return words


def _one(join: Join) -> str:
    return f"1 {join.kind}" if join.kind in ("screw", "pin") else ONE.get(join.kind, join.kind)


def shim_words(shim: Shim) -> str:
    """Where a shim lies and how thick such are: "left strut, under the foot: 0.05 to 0.5 mm"."""
    thick = f"{shim.low_mm:g}" if shim.low_mm == shim.high_mm else f"{shim.low_mm:g} to {shim.high_mm:g}"
    return f"{shim.place}, {shim.side}: {thick} mm"
