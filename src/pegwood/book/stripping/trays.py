"""What lies in which pocket of which tray: drawn on the page and printed on the sheet from the same."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.book.models import Kept, StripDown, TakenOff
from pegwood.book.stripping.kept import described
from pegwood.book.stripping.pockets import pocket_name


@dataclass(frozen=True)
class Lying:
    """Something in a pocket: what it is, whose step, and whether it is still out."""

    what: str
    step: TakenOff
    is_out: bool
    kept: Kept | None = None


@dataclass(frozen=True)
class PocketShown:
    """A pocket of a tray as it is drawn."""

    tray: int
    number: int
    lying: tuple[Lying, ...]
    is_next: bool

    @property
    def is_full(self) -> bool:
        """Whether something is still out."""
        return any(one.is_out for one in self.lying)

    @property
    def name(self) -> str:
        return pocket_name(self.tray, self.number)


@dataclass(frozen=True)
class TrayShown:
    """A tray as it is drawn, row by row."""

    number: int
    columns: int
    pockets: tuple[PocketShown, ...]


def trays_of(
    strip_down: StripDown, rows: tuple[TakenOff, ...], upcoming: tuple[int, int] | None = None
) -> tuple[TrayShown, ...]:
    """The trays in use, with all that lies or lay in their pockets."""
    lying: dict[tuple[int, int], list[Lying]] = {}
    for row in rows:
        if row.tray and row.pocket and row.met == TakenOff.Met.THERE:
            lying.setdefault((row.tray, row.pocket), []).append(Lying(row.name, row, row.is_out))
        for one in row.kept.all():
            if one.tray and one.pocket:
                there = Lying(described(one), row, one.is_out, one)
                lying.setdefault((one.tray, one.pocket), []).append(there)
    used = {tray for tray, _ in lying} | ({upcoming[0]} if upcoming else set())
    return tuple(
        TrayShown(
            number=tray,
            columns=strip_down.tray_columns,
            pockets=tuple(
                PocketShown(tray, n, tuple(lying.get((tray, n), ())), (tray, n) == upcoming)
                for n in range(1, strip_down.pockets + 1)
            ),
        )
        for tray in sorted(used)
    )
