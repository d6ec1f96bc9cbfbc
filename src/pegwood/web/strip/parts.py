"""A family's parts as a table: names, what they are made of, how scarce a spare is, what holds them."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.trade.grounds import Ground
from pegwood.trade.materials import MATERIALS
from pegwood.trade.reference import Reference
from pegwood.web.strip.steps import group_of, held_by, own_ground


@dataclass(frozen=True, kw_only=True)
class PartShown:
    """A part in the table; `materials` are the names under which the trade's tables tell of them."""

    id: str
    name: str
    group: str
    also: str
    materials: tuple[str, ...]
    scarce: str
    not_in_all: bool
    held: tuple[str, ...]
    ways: int
    ground: Ground | None


def parts_shown(construction: Construction, reference: Reference) -> tuple[PartShown, ...]:
    """All parts of a family, in its order."""
    rows = reference.rows(MATERIALS)
    return tuple(
        PartShown(
            id=part.id,
            name=part.name,
            group=group_of(part.id),
            also=", ".join(part.also),
            materials=tuple(rows[key].name if key in rows else key for key in part.materials),
            scarce=part.scarce,
            not_in_all=part.not_in_all,
            held=tuple(held_by(construction, part)),
            ways=len(part.ways),
            ground=own_ground(construction, part),
        )
        for part in construction.parts.values()
    )
