"""What stands on a strip-down record: what the repairer told while taking the camera apart, and confirmed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from pegwood.papers._typed import BadContent, Piece, check_date, check_filled
from pegwood.papers.pieces import Camera, Head, Owner


@dataclass(frozen=True, kw_only=True)
class Noted(Piece):
    """
    One thing that was told and confirmed.

    Parameters
    ----------
    kind : {'seen', 'done', 'to do'}
    part : str
        Empty for work on no part in particular.
    says : str
        How it is, or what was done.
    at : str
        When it was said, from the beginning of the telling: `0:12:03`; empty where no times are known.
    grade : int or None
        1 (slight) to 5 (past use).
    place, cause : str
        Where on the part; what made it so, as told.
    surmise : bool
        Whether it was told as a conjecture.
    earlier : bool
        Whether it tells of earlier work on the camera.
    outlook : {'mend', 'can stay', ''}
    """

    kind: Literal["seen", "done", "to do"]
    part: str
    says: str
    at: str = ""
    grade: int | None = None
    place: str = ""
    cause: str = ""
    surmise: bool = False
    earlier: bool = False
    outlook: Literal["mend", "can stay", ""] = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Noted", says=self.says)
        if self.grade is not None and self.grade not in range(6):
            raise BadContent(f"Noted.grade: {self.grade}. Expected 0 (as new) to 5 (past use), or none.")


@dataclass(frozen=True, kw_only=True)
class Telling(Piece):
    """What was told at one sitting, in the order spoken: the ISO date, and who told it."""

    on: str
    by: str
    noted: tuple[Noted, ...]

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_date("Telling.on", self.on)
        if not self.noted:
            raise BadContent("Telling.noted: nothing. Expected at least one thing that was confirmed.")


@dataclass(frozen=True, kw_only=True)
class Record(Piece):
    """
    The record of a strip-down for the owner.

    Parameters
    ----------
    head : Head
    owner : Owner
    camera : Camera
    tellings : tuple of Telling
        At least one; the first first.
    """

    kind: ClassVar[str] = "record"
    head: Head
    owner: Owner
    camera: Camera
    tellings: tuple[Telling, ...]

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        if not self.tellings:
            raise BadContent("Record.tellings: none. Expected at least one.")
