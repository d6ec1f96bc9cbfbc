"""Film formats and the frames that cameras put on them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pegwood.trade.grounds import Grounded
from pegwood.trade.reference import Named, Table


@dataclass(frozen=True, kw_only=True)
class Frame(Grounded):
    """
    A picture on a film, mm.

    Attributes
    ----------
    name : str
        As people call it.
    across_mm, along_mm : float
        Across the film and along it.
    count : int, optional
        Pictures on the usual length.
    spacing_mm : float, optional
        From a picture's edge to the next one's; None where no source was found.
    """

    name: str
    across_mm: float
    along_mm: float
    count: int | None = None
    spacing_mm: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.across_mm <= 0 or self.along_mm <= 0:
            raise ValueError("a frame has a size above 0.")
        if self.spacing_mm is not None and self.spacing_mm <= self.along_mm:
            raise ValueError("frames would lie over each other: the spacing is no more than the frame.")

    @property
    def diagonal_mm(self) -> float:
        """Corner to corner, mm."""
        return math.hypot(self.across_mm, self.along_mm)


@dataclass(frozen=True, kw_only=True)
class Width(Grounded):
    """How wide a film is, mm, and its tolerance, plus and minus, where it is known."""

    mm: float
    within_mm: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.mm <= 0:
            raise ValueError("a film has a width above 0.")


@dataclass(frozen=True, kw_only=True)
class Note(Grounded):
    """What one should know beside the figures."""

    says: str


@dataclass(frozen=True, kw_only=True)
class Film(Named):
    """
    A film format.

    Attributes
    ----------
    width : Width
        Of the film.
    pitch_mm : float, optional
        From perforation to perforation.
    backing, perforation, standard, spool : str
    nitrate : bool
        Whether film of this format was sold while some was still on nitrate.
    frames : tuple of Frame
        The usual one first or, where none is, by size.
    notes : tuple of Note
    """

    width: Width
    backing: str
    perforation: str
    standard: str
    spool: str
    nitrate: bool
    frames: tuple[Frame, ...]
    pitch_mm: float | None = None
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.frames:
            raise ValueError("a film format has at least one frame.")
        for frame in self.frames:
            if frame.across_mm >= self.width.mm:
                raise ValueError(f"frame {frame.name} is wider than the film.")


FILMS = Table("films", Film)
