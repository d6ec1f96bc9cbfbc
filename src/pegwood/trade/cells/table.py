"""Cells by their IEC 60086 designation: system, volts, size, and what has stood in for them."""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from pegwood.trade.grounds import Grounded, Grounds
from pegwood.trade.names import UnknownWord, find, nearest, plain
from pegwood.trade.reference import Named, Reference, Table


@dataclass(frozen=True, kw_only=True)
class System(Named):
    """
    An electrochemical system.

    Attributes
    ----------
    letter : str
        That IEC 60086 gives it; none for zinc-carbon.
    volts : float
        Nominal, of one cell, V.
    curve : str
        How the volts go through life.
    needs_air, mercury, lithium : bool
        What must be said wherever it stands.
    """

    letter: str
    volts: float
    curve: str
    needs_air: bool = False
    mercury: bool = False
    lithium: bool = False

    def __post_init__(self) -> None:
        super().__post_init__()
        if not 1 <= self.volts <= 4:
            raise ValueError("a cell has between 1 and 4 V.")


@dataclass(frozen=True, kw_only=True)
class Size(Named):
    """The most a round cell of a size may measure, mm, and the least where it is known."""

    diameter_mm: float
    height_mm: float
    least_diameter_mm: float | None = None
    least_height_mm: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        for least, most in (
            (self.least_diameter_mm, self.diameter_mm),
            (self.least_height_mm, self.height_mm),
        ):
            if most <= 0 or (least is not None and not 0 < least < most):
                raise ValueError("the least size lies above 0 and below the most.")


@dataclass(frozen=True, kw_only=True)
class StandIn(Grounded):
    """A cell, or several, that may take another's place, and what must be done for it."""

    cell: str
    number: int = 1
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.number < 1:
            raise ValueError("at least one cell stands in.")


@dataclass(frozen=True, kw_only=True)
class Cell(Named):
    """
    A cell or battery.

    Attributes
    ----------
    system, size : str
        Keys in their tables.
    cells : int
        How many stand in series.
    stand_ins : tuple of StandIn
        The nearest in volts first.
    note : str
    """

    system: str
    size: str
    cells: int = 1
    stand_ins: tuple[StandIn, ...] = ()
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.cells < 1:
            raise ValueError(f"cells is {self.cells}. Expected how many stand in series, 1 or more.")


SYSTEMS = Table("cell-systems", System)
SIZES = Table("cell-sizes", Size)
CELLS = Table("cells", Cell)

N = TypeVar("N", bound=Named)

#: A number that stands in a battery chamber, with the letters that this and that seller put around it.
_NUMBERED = re.compile(r"^[a-z]{1,4}\s?(?P<number>\d{2,3})\s?(?P<kind>a|s|px)?$")


@dataclass(frozen=True)
class Known:
    """A cell with its system and size."""

    cell: Cell
    system: System
    size: Size

    @property
    def volts(self) -> float:
        """Nominal, V."""
        return self.cell.cells * self.system.volts

    @property
    def grounds(self) -> Grounds:
        """What designation, volts and size rest on."""
        return self.cell.grounds + self.system.grounds + self.size.grounds


def known(reference: Reference, word: str) -> Known:
    """
    The cell of that designation.

    Parameters
    ----------
    reference : Reference
    word : str
        IEC designation, or the number printed in the chamber with or without letters around it.

    Raises
    ------
    UnknownWord
        With the three nearest, if there is none.
    """
    rows = reference.rows(CELLS)
    return _whole(reference, find(rows, _without_letters(rows, word), "cell"))


def stand_ins(reference: Reference, old: Known) -> list[tuple[StandIn, Known]]:
    """What may stand in for a cell, each with its own system and size; the nearest in volts first."""
    rows = reference.rows(CELLS)
    return [(one, _whole(reference, _row(rows, one.cell, "cell"))) for one in old.cell.stand_ins]


def _whole(reference: Reference, cell: Cell) -> Known:
    system = _row(reference.rows(SYSTEMS), cell.system, "system of cells")
    return Known(cell, system, _row(reference.rows(SIZES), cell.size, "size of cells"))


def _row(rows: Mapping[Hashable, N], key: str, what: str) -> N:
    if key not in rows:
        raise UnknownWord(key, what, nearest(key, (str(one) for one in rows)))
    return rows[key]


def _without_letters(rows: Mapping[Hashable, Cell], word: str) -> str:
    names = {plain(one) for row in rows.values() for one in (row.key, *row.also)}
    found = _NUMBERED.match(plain(word))
    if plain(word) in names or not found or plain(word)[: found.start("number")].strip().endswith("r"):
        return word  # an IEC designation ends its letters in R and is looked up as it stands
    number = found["number"] + (found["kind"] or "").removesuffix("px")
    return number if number in names else word
