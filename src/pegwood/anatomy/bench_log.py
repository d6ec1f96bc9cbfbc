"""What really happened at the bench: what came off, in which order, and what was kept of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pegwood.anatomy.parts import NoteKind

KeptKind = Literal["screw", "shim", "washer", "spring", "pin", "ball", "part", "other"]
#: How a part was met: it was there; it is missing though it belongs there; this variant never had it.
Met = Literal["there", "missing", "never fitted"]


@dataclass(frozen=True, kw_only=True)
class Kept:
    """
    Something laid into a pocket, or beside the trays.

    Attributes
    ----------
    id : str
        The log's own key for it.
    kind : str
        What sort of thing; "part" is the part itself.
    what : str
        More of what it is, if there is anything to say: "short one, blued".
    place, side : str
        Where it belongs: "left strut", "under".
    count : int
        How many alike.
    thread, head : str
        Of a screw.
    length_mm : float, optional
        Of a screw, under the head.
    thickness_mm, thickness_u_mm : float, optional
        Of a shim or washer as measured, with its standard uncertainty.
    pocket : str
        Where it lies: "tray 1, pocket 5"; empty for beside the trays.
    back : int
        How many are back in the camera.
    explained : str
        Why what is not back need not be: "head sheared, a new one fitted".
    """

    id: str
    kind: KeptKind
    what: str = ""
    place: str = ""
    side: str = ""
    count: int = 1
    thread: str = ""
    head: str = ""
    length_mm: float | None = None
    thickness_mm: float | None = None
    thickness_u_mm: float | None = None
    pocket: str = ""
    back: int = 0
    explained: str = ""

    def __post_init__(self) -> None:
        if self.count < 1 or not 0 <= self.back <= self.count:
            raise ValueError(f"{self.back} of {self.count} back: expected 0 up to a count of 1 or more.")
        for name in ("length_mm", "thickness_mm", "thickness_u_mm"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0):
                raise ValueError(f"{name} is {value}. Expected above 0.")

    @property
    def is_out(self) -> bool:
        """Whether some of it is not back, and nobody said why."""
        return self.back < self.count and not self.explained


@dataclass(frozen=True, kw_only=True)
class Written:
    """A note taken before a part moved: its kind, and what was written down ("1 3/4 turns")."""

    kind: NoteKind
    says: str


@dataclass(frozen=True, kw_only=True)
class TakenOff:
    """
    One part that came off, or was found missing.

    Attributes
    ----------
    id : str
        The log's own key.
    number : int
        Which it was, from 1.
    part : str
        Its id in the family; empty where the family does not know it.
    name : str
        As it was told.
    way : str
        By which of its ways; empty where it has one, or another was found.
    side, tool : str
        From where and with what, as far as told.
    minutes : float, optional
        How long it took, [min]; None where the clock did not run through.
    met : str
        Whether it was there.
    held_to, hidden_under : tuple of str
        Other parts of the log, by id or name, that it was held to, and that hid what held it, as far as told.
    notes : tuple of Written
    pocket : str
        Where the part lies: "tray 1, pocket 5"; empty for beside the trays.
    kept : tuple of Kept
    awaits : str
        What keeps it away: "cleaning", "a spare"; empty when it is at hand.
    spare_is_here : bool
        Of one that is missing: whether a spare is at hand.
    explained : str
        Why it stays out though it belongs in: "left off at the owner's wish"; empty while nobody said so.
    is_back : bool
        Whether it is in the camera again.
    """

    id: str
    number: int
    part: str = ""
    name: str
    way: str = ""
    side: str = ""
    tool: str = ""
    minutes: float | None = None
    met: Met = "there"
    held_to: tuple[str, ...] = ()
    hidden_under: tuple[str, ...] = ()
    notes: tuple[Written, ...] = ()
    pocket: str = ""
    kept: tuple[Kept, ...] = ()
    awaits: str = ""
    spare_is_here: bool = False
    explained: str = ""
    is_back: bool = False

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueError("what came off needs a name.")
        if self.minutes is not None and not (math.isfinite(self.minutes) and self.minutes > 0):
            raise ValueError(f"minutes is {self.minutes}. Expected above 0, or none.")
