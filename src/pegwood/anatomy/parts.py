"""What a camera is made up of: parts, what holds them, how each comes off, and what its way back needs."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from pegwood.trade.grounds import Ground, Mark

JoinKind = Literal[
    "screw", "ring", "pin", "circlip", "glue", "press", "solder", "bayonet", "hook", "friction", "rivet"
]
Side = Literal["front", "top", "base", "back", "left", "right", "inside"]
Tool = Literal[
    "fingers",
    "screwdriver",
    "spanner",
    "friction tool",
    "tweezers",
    "pin punch",
    "soldering iron",
    "spring hook",
    "blunt blade",
    "solvent and swab",
    "gear puller",
]
NoteKind = Literal["scribe", "count turns", "start thread", "photograph", "measure", "which way round"]
Scarce = Literal["common", "scarce", "never found", "made anew"]


#: A day and night: nothing that is one step takes longer, [min].
MOST_MINUTES = 1440.0


@dataclass(frozen=True, kw_only=True)
class Minutes:
    """
    How long something takes at the bench, [min]: the least, the usual, the most.

    Raises
    ------
    ValueError
        If they are not in this order, above nought.
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(one) for one in (self.low, self.likely, self.high)):
            raise ValueError("minutes are plain numbers.")
        if self.high > MOST_MINUTES:
            raise ValueError(
                f"{self.high:g} minutes for one step cannot be. Expected up to {MOST_MINUTES:g}."
            )
        if not 0 < self.low <= self.likely <= self.high:
            raise ValueError(
                f"minutes {self.low:g}, {self.likely:g}, {self.high:g}: expected low, likely, high in this "
                "order, above nought."
            )


@dataclass(frozen=True, kw_only=True)
class Join:
    """
    What holds a part.

    Attributes
    ----------
    kind : str
        How.
    to : str
        The part it is held to, by id; empty for the body.
    count : int
        How many screws, pins and so on.
    thread : str
        Of a screw or ring, by its name in the trade's tables ("M1.7x0.35"); empty where it varies.
    length_mm : float, optional
        Of the screws under the head; where they differ, each is measured when it comes out.
    head : str
        Of a screw: "slotted countersunk", "cheese head", ...
    under : str
        The part that hides it, by id; empty for none.
    """

    kind: JoinKind
    to: str = ""
    count: int = 1
    thread: str = ""
    length_mm: float | None = None
    head: str = ""
    under: str = ""

    def __post_init__(self) -> None:
        if self.count < 1:
            raise ValueError(f"count is {self.count}. Expected 1 or more.")
        if self.length_mm is not None and not 0 < self.length_mm < 60:
            raise ValueError(f"length_mm is {self.length_mm:g}. Expected between 0 and 60.")
        if self.kind not in ("screw", "ring") and (self.thread or self.head):
            raise ValueError(f"a {self.kind} has neither thread nor head.")


@dataclass(frozen=True, kw_only=True)
class Shim:
    """A shim or washer: where it lies, on which side of what, and how thick such ones are, [mm]."""

    place: str
    side: str
    low_mm: float
    high_mm: float

    def __post_init__(self) -> None:
        if not 0 < self.low_mm <= self.high_mm < 5:
            raise ValueError("a shim is thicker than nothing and thinner than 5 mm, low before high.")


@dataclass(frozen=True, kw_only=True)
class Note:
    """What must be written down before the part moves."""

    kind: NoteKind
    says: str


@dataclass(frozen=True, kw_only=True)
class Risk:
    """
    What may go wrong on a way.

    Attributes
    ----------
    what : str
        "covering tears", "screw head goes", "spring flies".
    chance : float
        How often, [1].
    minutes : float
        What it then costs more, [min].
    """

    what: str
    chance: float
    minutes: float

    def __post_init__(self) -> None:
        if not 0 < self.chance < 1:
            raise ValueError(f"the chance is {self.chance:g}. Expected between 0 and 1.")
        if not 0 < self.minutes <= 1000:
            raise ValueError(f"minutes is {self.minutes:g}. Expected above 0, up to 1000.")


@dataclass(frozen=True, kw_only=True)
class Way:
    """
    One way of taking a part off.

    Attributes
    ----------
    side : str
        From which side of the body one works.
    tool : str
        The tool in hand.
    minutes : Minutes
        Without what goes wrong.
    after : tuple of str
        Parts that must be off before, by id.
    name : str
        How the way is told apart where a part has several: "from the base".
    risks : tuple of Risk
    before : tuple of Note
        What is written down first.
    cautions : tuple of str
        Whole sentences; they stand at the step.
    file_minutes : Minutes, optional
        What the file says, where `minutes` are learned from this bench; no field of a file.
    minutes_from : str
        What `minutes` rest on then.
    """

    side: Side
    tool: Tool
    minutes: Minutes
    after: tuple[str, ...] = ()
    name: str = ""
    risks: tuple[Risk, ...] = ()
    before: tuple[Note, ...] = ()
    cautions: tuple[str, ...] = ()
    file_minutes: Minutes | None = field(default=None, metadata={"in_table": False})
    minutes_from: str = field(default="", metadata={"in_table": False})

    @property
    def cost_minutes(self) -> float:
        """Usual minutes, and what the risks cost on average, [min]."""
        return self.minutes.likely + sum(risk.chance * risk.minutes for risk in self.risks)


@dataclass(frozen=True, kw_only=True)
class Back:
    """
    What the way back needs.

    Attributes
    ----------
    lubricate : str
        The place in the trade's table of places to lubricate; empty for none.
    glue : str
        A glue's key in the trade's table; empty for none.
    feel : str
        How tight: "snug, no more".
    opens : tuple of str
        Adjustments that are lost and made anew: "infinity", "shutter speeds".
    check : str
        What to look at afterwards.
    """

    lubricate: str = ""
    glue: str = ""
    feel: str = ""
    opens: tuple[str, ...] = ()
    check: str = ""


@dataclass(frozen=True, kw_only=True)
class Part:
    """
    A part of a camera.

    Attributes
    ----------
    id : str
        Short, lower case with dashes; unique in its mechanism. In a family the mechanism's name and a dot
        stand before it.
    name : str
        As it is told.
    also : tuple of str
        Other names repairers use.
    materials : tuple of str
        Keys of the trade's materials, all that are in it; none where nobody has looked yet, which only a
        workshop's own file may leave open.
    scarce : str
        How easily a spare is found.
    not_in_all : bool
        Whether some variants never had it: then 'missing' is asked, not assumed.
    joins, shims, ways, back
        What holds it, what lies under it, how it comes off, what its way back needs. A part without a way is
        never taken off: the body.
    source, mark : str
        As `pegwood.trade.grounds.Ground`; the mechanism's own where the part says nothing else.
    """

    id: str
    name: str
    materials: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    scarce: Scarce = "scarce"
    not_in_all: bool = False
    joins: tuple[Join, ...] = ()
    shims: tuple[Shim, ...] = ()
    ways: tuple[Way, ...] = ()
    back: Back = Back()
    source: str = ""
    mark: Mark | None = None

    def __post_init__(self) -> None:
        if not self.id or self.id != self.id.strip().lower() or " " in self.id:
            raise ValueError(f"the id is {self.id!r}. Expected lower case and dashes, as 'front-ring'.")
        if not self.name.strip():
            raise ValueError(f"{self.id!r} needs a name.")
        if len({way.name for way in self.ways}) < len(self.ways):
            raise ValueError(f"{self.id!r} has several ways of the same name. Give each its own.")
        if self.source or self.mark:
            Ground(self.source, self.mark or "practice")
