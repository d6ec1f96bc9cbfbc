"""What was said to Pegwood while a key was held."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pegwood.hearing.results import NamedPart

#: What is told to be done.
CommandKind = Literal[
    "finding", "work", "pocket", "shim", "turns", "next", "undo", "read back", "photograph", "stop listening"
]


@dataclass(frozen=True, kw_only=True)
class Command:
    """
    One thing told.

    Attributes
    ----------
    kind : str
    part : NamedPart, optional
        Of a finding or work; of a shim where it was told by the part's name.
    condition : str
        A key of the conditions; of a finding only.
    grade : int, optional
        1 slight to 5 past use, where it was told.
    place : str
        Where on the part: "left".
    work : str
        A key of the works: "degrease"; of work, and of a finding that tells it as well.
    tray, pocket : int, optional
    thickness_m : float, optional
        Of a shim [m].
    turns : float, optional
        Counted.
    words : str
        As they were understood.
    """

    kind: CommandKind
    part: NamedPart | None = None
    condition: str = ""
    grade: int | None = None
    place: str = ""
    work: str = ""
    tray: int | None = None
    pocket: int | None = None
    thickness_m: float | None = None
    turns: float | None = None
    words: str

    def same_as(self, other: Command) -> bool:
        """Whether both tell the same, in whichever words."""
        return self._told == other._told

    @property
    def _told(self) -> tuple[object, ...]:
        part = self.part.id if self.part else None
        thickness = None if self.thickness_m is None else round(self.thickness_m, 6)
        told = (self.kind, part, self.condition, self.grade, self.place, self.work)
        return (*told, self.tray, self.pocket, thickness, self.turns)


@dataclass(frozen=True, kw_only=True)
class AskAgain:
    """
    Not understood well enough to be done.

    Attributes
    ----------
    why : str
        One line for the person.
    may_be : tuple of Command
        What it may have been, the likeliest first.
    """

    why: str
    may_be: tuple[Command, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Guess:
    """
    What a recogniser took speech for, with what is needed to doubt it.

    Attributes
    ----------
    words : str
        Empty where nothing fitted.
    worst : float
        Of its words, how far the one that fits worst stays behind the best that phones can do without any
        grammar: log likelihood a frame, at most about 0.
    whole : float
        The same over all of it, silence included: what the grammar could not take for words.
    votes : float
        Of the ways of speaking that were tried, how many took it for the same [0..1].
    rivals : tuple of (str, float)
        Other words that fitted nearly as well, the likeliest first, and by how much log likelihood they stay
        behind.
    taken_by_others : tuple of str
        What it was taken for by those searches that took it for something else.
    """

    words: str
    worst: float
    whole: float
    votes: float = 1.0
    rivals: tuple[tuple[str, float], ...] = ()
    taken_by_others: tuple[str, ...] = ()
