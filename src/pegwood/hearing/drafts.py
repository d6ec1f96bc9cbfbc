"""Findings and work while a narration is still being listened to: they may yet be mended or taken back."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.hearing.results import Certainty


@dataclass(eq=False, slots=True)
class Draft:
    """
    A condition told of parts, not yet final.

    Attributes
    ----------
    parts : tuple of int
        None where no part is known.
    condition : str
    first, end : int
        Tokens it rests on.
    told, told_end : int
        The tokens with which the condition was told.
    piece : int
        The piece of its sentence.
    carried : bool
        Whether the part was not named where the condition was.
    may_be : tuple of int
        Parts of which it may be one, where that was not told.
    work : tuple of WorkDraft
        Told of the same part beside it.
    taken_back, corrected : bool
        Whether it was withdrawn, and whether its part was put right.
    """

    parts: tuple[int, ...]
    condition: str
    first: int
    end: int
    told: int
    told_end: int
    piece: int
    carried: bool = False
    may_be: tuple[int, ...] = ()
    grade: int | None = None
    certainty: Certainty = "plain"
    denied: bool = False
    cause: str = ""
    place: str = ""
    measured: str = ""
    earlier_repair: bool = False
    vague: str = ""
    work: tuple[WorkDraft, ...] = ()

    taken_back: bool = False
    corrected: bool = False

    def rests_on(self, first: int, end: int) -> None:
        """Widen the words it rests on."""
        self.first, self.end = min(self.first, first), max(self.end, end)


@dataclass(slots=True)
class WorkDraft:
    """Work told, not yet final."""

    parts: tuple[int, ...]
    work: str
    done: bool
    first: int
    end: int
