"""The foil at hand: leaves of each thickness, in whole tenths of a micrometre."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from pegwood.trade.grounds import Ground, Grounds
from pegwood.trade.reference import Named, Reference, Table

#: Thicknesses are counted in this: an inch foil of 0.0005 in is 127 of them, so nothing is ever rounded.
UNIT_M = 1e-7
UNITS_PER_MM = 10_000
UNITS_PER_INCH = 254_000

#: Thicker than this is a spacer to be turned, not a shim.
THICKEST = 10 * UNITS_PER_MM

_LEAF = re.compile(r"^(?P<size>\d*\.?\d+)\s*(?P<unit>mm|inch|in|\")?(?:\s*[x*×]\s*(?P<count>\d+))?$")


@dataclass(frozen=True, order=True)
class Leaf:
    """
    Leaves of one thickness.

    Attributes
    ----------
    units : int
        Thickness in tenths of a micrometre.
    count : int, optional
        How many there are; None if as many can be cut as are wanted.
    inch : bool
        Whether it is sold by the inch.
    """

    units: int
    count: int | None = None
    inch: bool = False

    @property
    def thickness_m(self) -> float:
        """Thickness, m."""
        return self.units * UNIT_M

    @property
    def told(self) -> str:
        """The thickness as it is written on the foil."""
        size = f"{self.units / UNITS_PER_MM:g} mm"
        return f"{self.units / UNITS_PER_INCH:g} in ({size})" if self.inch else size


@dataclass(frozen=True, kw_only=True)
class FoilSet(Named):
    """Thicknesses in which foil is sold, in mm or inch."""

    sizes_mm: tuple[float, ...] = ()
    sizes_in: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        sizes = self.sizes_mm or self.sizes_in
        if bool(self.sizes_mm) == bool(self.sizes_in):
            raise ValueError("the sizes stand either in mm or in inch.")
        if list(sizes) != sorted(set(sizes)) or sizes[0] <= 0:
            raise ValueError("the sizes do not rise from above 0.")

    @property
    def leaves(self) -> tuple[Leaf, ...]:
        """The foils, thinnest first, each to be cut as often as wanted."""
        return tuple(_leaf(one, "mm", None) for one in self.sizes_mm) + tuple(
            _leaf(one, "in", None) for one in self.sizes_in
        )


FOIL_SETS = Table("shim-foils", FoilSet)


def units(size: float, unit: str) -> int:
    """
    A thickness in tenths of a micrometre.

    Raises
    ------
    ValueError
        If it is not above zero, thicker than any shim, or finer than 0.1 um.
    """
    exact = size * (UNITS_PER_MM if unit == "mm" else UNITS_PER_INCH)
    whole = round(exact) if math.isfinite(exact) else 0
    if not 0 < whole <= THICKEST:
        raise ValueError(f"{size:g} {unit} is no shim. Expected above 0 and at most 10 mm.")
    if abs(exact - whole) > 1e-6 * max(whole, 1):
        raise ValueError(f"{size:g} {unit} is finer than foil is made: 0.1 um at most.")
    return whole


def _leaf(size: float, unit: str, count: int | None) -> Leaf:
    return Leaf(units(size, unit), count, unit != "mm")


def read_stock(reference: Reference, text: str) -> tuple[tuple[Leaf, ...], Grounds]:
    """
    The leaves at hand and what is known of them.

    Parameters
    ----------
    reference : Reference
    text : str
        Leaves with commas between: ``"0.05x4, 0.1x2, 0.2"`` (one where no number stands), ``"0.002inx3"``;
        or names of foil sets, of which as many leaves can be cut as are wanted: ``"metric"``.

    Raises
    ------
    ValueError
        If a piece can be read neither way.
    """
    sets = {name: row for row in reference.rows(FOIL_SETS).values() for name in (row.key, *row.also)}
    counts: dict[tuple[int, bool], int | None] = {}
    grounds: list[Ground] = []
    for piece in (one.strip().lower() for one in text.split(",") if one.strip()):
        if piece in sets:
            grounds += sets[piece].grounds
            counts.update({(leaf.units, leaf.inch): None for leaf in sets[piece].leaves})
            continue
        found = _LEAF.match(piece)
        if not found:
            raise ValueError(
                f"{piece!r} is no foil. Give thickness in mm and how many, such as 0.05x4, 0.1x2, 0.002inx3, "
                f"or a set: {', '.join(row.key for row in reference.rows(FOIL_SETS).values())}."
            )
        unit = "mm" if found["unit"] in (None, "mm") else "in"
        leaf = _leaf(float(found["size"]), unit, int(found["count"] or 1))
        before = counts.get((leaf.units, leaf.inch), 0)
        counts[leaf.units, leaf.inch] = None if before is None else before + (leaf.count or 0)
    if not counts or all(count == 0 for count in counts.values()):
        raise ValueError("there is no foil in the stock. Give it as 0.05x4, 0.1x2, 0.2.")
    leaves = tuple(sorted(Leaf(size, count, inch) for (size, inch), count in counts.items() if count != 0))
    return leaves, tuple(grounds)
