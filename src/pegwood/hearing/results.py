"""What narration holds: proposals for a person to keep, mend or drop. Nothing here is a finding yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: How sure the speaker was: said as seen, "probably", "could be". A conjecture is never made plainer.
Certainty = Literal["plain", "probable", "possible"]


@dataclass(frozen=True, kw_only=True)
class NamedPart:
    """
    A part that may be spoken of.

    Attributes
    ----------
    id : str
        As the family knows it.
    name : str
    also : tuple of str
        Its other names, the bench's own among them.
    """

    id: str
    name: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Line:
    """
    A stretch of narration as it was written down.

    Attributes
    ----------
    words : str
    at_s : float, optional
        When it began, from the recording's start [s]; None where the text tells no times.
    """

    words: str
    at_s: float | None = None


@dataclass(frozen=True, kw_only=True)
class SaidFinding:
    """
    A condition told of a part.

    Attributes
    ----------
    part : NamedPart
    condition : str
        A key of the vocabulary's conditions; "fine" where nothing is wrong.
    grade : int, optional
        1 slight to 5 past use, where it was told; 0 never, for "fine" tells that.
    place : str
        Where on the part, as said; empty if it was not.
    certainty : Certainty
    denied : bool
        That the condition is not there: "no sign of fungus".
    cause : str
        What made it so, as said: "from a leaking cell".
    work : tuple of str
        Keys of the vocabulary's works that were told together with it.
    measured : str
        A measure as said: "a tenth low".
    earlier_repair : bool
        Whether it tells of somebody having been in there before.
    at_s : float, optional
        When the words began [s].
    words : str
        The words it rests on, as they stand in the text.
    where : (int, int)
        First character of those words in the whole text (lines joined by a line feed), and that after them.
    """

    part: NamedPart
    condition: str
    grade: int | None = None
    place: str = ""
    certainty: Certainty = "plain"
    denied: bool = False
    cause: str = ""
    work: tuple[str, ...] = ()
    measured: str = ""
    earlier_repair: bool = False
    at_s: float | None = None
    words: str
    where: tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class SaidWork:
    """Work told of a part, or of none in particular; `done` where it was told as done already."""

    part: NamedPart | None
    work: str
    done: bool = False
    at_s: float | None = None
    words: str
    where: tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class SaidRemark:
    """Knowledge about such cameras in general: not a finding of this one."""

    at_s: float | None = None
    words: str
    where: tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Unplaced:
    """
    What sounded like a finding and could not be made one.

    Attributes
    ----------
    part : NamedPart, optional
    condition : str
        Empty where it was not understood.
    why : str
        One line: "no part named", "may be the cam or the cam follower".
    """

    part: NamedPart | None = None
    condition: str = ""
    why: str
    at_s: float | None = None
    words: str
    where: tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Heard:
    """All that a narration holds, each kind in the order spoken."""

    findings: tuple[SaidFinding, ...] = ()
    work: tuple[SaidWork, ...] = ()
    remarks: tuple[SaidRemark, ...] = ()
    unplaced: tuple[Unplaced, ...] = ()
