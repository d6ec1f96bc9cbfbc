"""
What is known of a mechanism's faults, the signs that show them, and what mends them, read from TOML.

One file for each mechanism of the anatomy, under its id; parts are the mechanism's own. Figures are common
practice where a row says nothing else.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from pegwood.anatomy.mechanism import OUTSIDE, Mechanism, mechanisms
from pegwood.anatomy.parts import Minutes
from pegwood.causes.inference.net import SLACK
from pegwood.causes.reads import Reads
from pegwood.causes.story import TRACED, check_story
from pegwood.causes.words.told import Answered, Told
from pegwood.trade.agents import AGENTS
from pegwood.trade.grounds import Ground, Mark
from pegwood.trade.names import nearest
from pegwood.trade.reference import Reference
from pegwood.trade.typed_toml import Place, Source, built

FOLDER = Path(__file__).parent / "knowledge"
By = Literal["eye", "hand", "ear", "instrument"]
#: What may be answered to any sign, and what stands before an answer that is only partly so.
DONT_KNOW, SORT_OF = "don't know", "sort of "
LARGEST_ODDS = 1000.0
#: Of a million cameras one: nobody at a bench knows of anything rarer.
RAREST = 1e-6
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(frozen=True, kw_only=True)
class Raised:
    """That something in the story multiplies a fault's odds: above 1 raises it, below lowers it."""

    by: str
    odds: float

    def __post_init__(self) -> None:
        check_story(self.by)
        if not 1 / LARGEST_ODDS <= self.odds <= LARGEST_ODDS:
            raise ValueError(f"odds is {self.odds:g}. Expected between 0.001 and 1000.")


@dataclass(frozen=True, kw_only=True)
class Breaks:
    """What a mend may break: another fault of the mechanism, and how often, [1]."""

    fault: str
    chance: float

    def __post_init__(self) -> None:
        if not 0 < self.chance < 1:
            raise ValueError(f"the chance is {self.chance:g}. Expected between 0 and 1.")


@dataclass(frozen=True, kw_only=True)
class Mend:
    """
    A way to put a fault right.

    Attributes
    ----------
    name : str
    minutes : Minutes
        Once the part lies open, [min].
    success : float
        How often that does it, [1].
    parts : tuple of str
        Parts that are replaced, by id in the mechanism.
    agents : tuple of str
        Keys of the trade's agents.
    breaks : tuple of Breaks
    cautions : tuple of str
        Whole sentences.
    """

    name: str
    minutes: Minutes
    success: float
    parts: tuple[str, ...] = ()
    agents: tuple[str, ...] = ()
    breaks: tuple[Breaks, ...] = ()
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 0 < self.success <= 1:
            raise ValueError(f"success is {self.success:g}. Expected above 0, up to 1.")


@dataclass(frozen=True, kw_only=True)
class Fault:
    """
    A fault of a part.

    Attributes
    ----------
    id, name : str
        Short, lower case with dashes; as it is told: "oil on the blades".
    part : str
        By id in the mechanism.
    prior : float
        Chance that a camera of unknown history that comes in for repair has it, [1].
    raised : tuple of Raised
    mends : tuple of Mend
    also : tuple of str
        Other parts whose findings may speak of it: the second of a pair.
    told : tuple of str
        What of a finding at its parts speaks of it, as `Told.parse` reads it; the concepts of its name where
        nothing is said.
    source, mark : str
        The file's own where the fault says nothing else.
    """

    id: str
    name: str
    part: str
    prior: float
    raised: tuple[Raised, ...] = ()
    mends: tuple[Mend, ...] = ()
    also: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    source: str = ""
    mark: Mark | None = None

    def __post_init__(self) -> None:
        for text in self.told:
            Told.parse(text)
        if not RAREST <= self.prior <= 1 - RAREST:
            raise ValueError(f"the prior is {self.prior:g}. Expected between {RAREST:g} and 1 - {RAREST:g}.")
        if len({one.by for one in self.raised}) < len(self.raised):
            raise ValueError(f"{self.id!r} is raised by one thing twice.")


@dataclass(frozen=True, kw_only=True)
class Shown:
    """How often a fault alone shows each answer of a sign, [1]."""

    fault: str
    shows: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class TellsOf:
    """How often something of the story, with no fault, shows each answer of a sign by itself, [1]."""

    by: str
    shows: tuple[float, ...]

    def __post_init__(self) -> None:
        if self.by not in TRACED:
            raise ValueError(f"{self.by!r} leaves no trace. Expected one of: {', '.join(TRACED)}.")


@dataclass(frozen=True, kw_only=True)
class Sign:
    """
    A question to a camera.

    Attributes
    ----------
    id : str
    asks : str
        As it is asked: "Fire at 1 s: does it hang or stop?"
    by : str
        By eye, hand, ear or instrument.
    answers : tuple of str
        From nothing to be seen up: ("no", "yes"), ("free", "stiff", "seized").
    minutes : float
        To ask it, once what must be off is off, [min].
    off : tuple of str
        Parts that must be off, by id in the mechanism.
    leak : tuple of float
        How often each answer comes with none of the faults, [1].
    shown_by : tuple of Shown
    tells_of : tuple of TellsOf
        What of the story shows it as well: chewed screws, that somebody was in there before.
    answered : Answered, optional
        How a finding answers it.
    reads : Reads, optional
        Which readings of an instrument answer it.
    source, mark : str
    """

    id: str
    asks: str
    by: By
    minutes: float
    leak: tuple[float, ...]
    shown_by: tuple[Shown, ...] = ()
    tells_of: tuple[TellsOf, ...] = ()
    answers: tuple[str, ...] = ("no", "yes")
    off: tuple[str, ...] = ()
    answered: Answered | None = None
    reads: Reads | None = None
    source: str = ""
    mark: Mark | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.minutes) and 0 < self.minutes <= 240):
            raise ValueError(f"minutes is {self.minutes:g}. Expected above 0, up to 240.")
        if len(self.answers) < 2 or len({one.casefold() for one in self.answers}) < len(self.answers):
            raise ValueError(f"{self.id!r} needs two answers or more, all different.")
        for answer in self.answers:
            said = answer.strip().casefold()
            if not said or said == DONT_KNOW or said.startswith(SORT_OF):
                raise ValueError(f"{answer!r} is no answer to look for: everybody may give it to any sign.")
        if not (self.shown_by or self.tells_of):
            raise ValueError(f"{self.id!r} is shown by no fault, and tells of nothing in the story.")
        if len({one.by for one in self.tells_of}) < len(self.tells_of):
            raise ValueError(f"{self.id!r} tells of one thing twice.")
        if self.answered is not None and len(self.answered.by) != len(self.answers):
            raise ValueError(f"by: {len(self.answered.by)} lists for {len(self.answers)} answers.")
        if self.reads is not None:
            # a step seen in an edge, or a spool held by a finger, can be measured as well
            if self.by != "instrument" and (self.by == "ear" or self.reads.instrument == "shutter"):
                raise ValueError(f"{self.id!r} is looked at by {self.by}, so no instrument reads it.")
            if self.reads.answers != len(self.answers):
                raise ValueError(f"the reading tells {self.reads.answers} answers, not {len(self.answers)}.")
        for what, chances in (
            ("leak", self.leak),
            *((one.fault, one.shows) for one in self.shown_by),
            *((one.by, one.shows) for one in self.tells_of),
        ):
            if len(chances) != len(self.answers):
                raise ValueError(f"{what}: {len(chances)} chances for {len(self.answers)} answers.")
            if not all(0 <= one <= 1 for one in chances) or abs(math.fsum(chances) - 1) > SLACK:
                raise ValueError(f"{what}: the chances are from 0 to 1 and come to 1 together.")


@dataclass(frozen=True, kw_only=True)
class Knowledge:
    """
    What is known of a mechanism. `source` and `mark` are for every row that says nothing else.

    Attributes
    ----------
    instead : bool
        Only in a workshop's own file: whether it stands in place of all that came for the mechanism.
    """

    mechanism: str
    source: str
    mark: Mark
    fault: tuple[Fault, ...] = ()
    sign: tuple[Sign, ...] = ()
    instead: bool = False

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)


def read_knowledge(
    text: str,
    where: str,
    known: Mapping[str, Mechanism],
    reference: Reference,
    *,
    onto: Mapping[str, Knowledge] | None = None,
) -> Knowledge:
    """
    What is known of a mechanism, from a file's text.

    Parameters
    ----------
    text, where : str
    known : mapping of str to Mechanism
    reference : Reference
    onto : mapping of str to Knowledge, optional
        What is known already: faults of it may be spoken of.

    Raises
    ------
    TableError
        With file, line and place, if the text is none, an id stands twice, or a row speaks of a part, a fault
        or an agent that is nowhere.
    """
    source = Source(text, where)
    found = built(Knowledge, source.table(), source)
    if found.mechanism not in known:
        raise source.error(("mechanism",), _nowhere(found.mechanism, "mechanism", known))
    if not (found.fault or found.sign):
        raise source.error((), "there is no fault and no sign in it.")
    parts = {part.id for part in known[found.mechanism].part}
    parts |= {OUTSIDE + need for need in known[found.mechanism].needs}
    faults = _once(source, "fault", [one.id for one in found.fault])
    if onto and found.mechanism in onto and not found.instead:
        faults |= {one.id for one in onto[found.mechanism].fault}
    _once(source, "sign", [one.id for one in found.sign])
    agents = reference.rows(AGENTS)
    for n, fault in enumerate(found.fault):
        at: Place = ("fault", n)
        for part in (fault.part, *fault.also):
            _known(source, (*at, "part" if part == fault.part else "also"), part, "part", parts)
        for m, mend in enumerate(fault.mends):
            for part in mend.parts:
                _known(source, (*at, "mends", m, "parts"), part, "part", parts)
            for agent in mend.agents:
                _known(source, (*at, "mends", m, "agents"), agent, "agent", set(map(str, agents)))
            for breaks in mend.breaks:
                _known(source, (*at, "mends", m, "breaks"), breaks.fault, "fault", faults)
    for n, sign in enumerate(found.sign):
        for part in sign.off:
            _known(source, ("sign", n, "off"), part, "part", parts)
        for part in sign.answered.parts if sign.answered else ():
            _known(source, ("sign", n, "answered"), part, "part", parts)
        _once(source, "sign", [one.fault for one in sign.shown_by])
        for one in sign.shown_by:
            _known(source, ("sign", n, "shown_by"), one.fault, "fault", faults)
    return found


def _once(source: Source, what: str, ids: list[str]) -> set[str]:
    for n, one in enumerate(ids):
        if not _ID.fullmatch(one):
            raise source.error((what, n, "id"), f"{one!r} is no id. Write it like 'spring-off'.")
        if one in ids[:n]:
            raise source.error((what,), f"{one!r} stands there twice.")
    return set(ids)


def _known(source: Source, place: Place, word: str, what: str, known: set[str]) -> None:
    if word not in known:
        raise source.error(place, _nowhere(word, what, known))


def _nowhere(word: str, what: str, known: Mapping[str, object] | set[str]) -> str:
    return f"{word!r} is no {what} here. Nearest: {', '.join(nearest(word, known)) or 'none'}."


class AllKnowledge(Mapping[str, Knowledge]):
    """
    All knowledge by mechanism, each file that came along read when first asked for.

    A family has a third of the mechanisms, and to read all takes half a second.

    Parameters
    ----------
    own : mapping of str to Knowledge, optional
        What stands before that which came.
    """

    def __init__(self, own: Mapping[str, Knowledge] | None = None) -> None:
        self._own = own or {}
        self._names = tuple(dict.fromkeys((*sorted(path.stem for path in FOLDER.glob("*.toml")), *self._own)))

    def __getitem__(self, mechanism: str) -> Knowledge:
        if mechanism not in self._names:
            raise KeyError(mechanism)
        return self._own.get(mechanism) or _came(mechanism)

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


@cache
def _came(mechanism: str) -> Knowledge:
    name = f"{mechanism}.toml"
    return read_knowledge((FOLDER / name).read_text("utf-8"), name, mechanisms(), Reference())


@cache
def knowledge() -> AllKnowledge:
    """What comes along, by mechanism."""
    return AllKnowledge()
