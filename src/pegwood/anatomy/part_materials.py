"""What a part of a camera is usually made of, read from ``part_materials.toml``."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from pegwood.trade.names import plain
from pegwood.trade.reference import Row, Table, read_rows


@dataclass(frozen=True, kw_only=True)
class PartMaterials(Row):
    """
    What parts of one sort are usually made of.

    Attributes
    ----------
    name : str
        The sort of part.
    parts : tuple of str
        What such parts are called.
    materials : tuple of str
        Keys of the trade's materials, the usual one first.
    note : str
        When it may be otherwise.
    """

    name: str
    parts: tuple[str, ...]
    materials: tuple[str, ...]
    note: str

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return tuple(plain(part) for part in self.parts)


TABLE = Table("part_materials", PartMaterials)


@cache
def part_materials() -> Mapping[Hashable, PartMaterials]:
    """The table by the name of a part, as names are compared."""
    text = files("pegwood.anatomy").joinpath("part_materials.toml").read_text(encoding="utf-8")
    return read_rows(TABLE, text, "part_materials.toml")


def usual_materials(part: str) -> PartMaterials | None:
    """
    What a part of that name is usually made of; None where the table does not know such a part.

    A name that holds the name of a known part as whole words ("left strut, upper light seals") is taken for
    that part, the longest name first.
    """
    table = part_materials()
    wanted = plain(part)
    if wanted in table:
        return table[wanted]
    held = [str(name) for name in table if f" {name} " in f" {wanted.replace(',', ' ')} "]
    return table[max(held, key=len)] if held else None
