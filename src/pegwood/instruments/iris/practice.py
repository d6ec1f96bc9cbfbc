"""What is taken as given of pictures, callipers and diaphragms, from the table beside this file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from pegwood.instruments.given import Givens, figures_in, table_beside
from pegwood.instruments.verdicts import Bounds

__all__ = ["Practice", "practice"]


@dataclass(frozen=True)
class Practice(Givens):
    """
    The table.

    Parameters
    ----------
    figures : dict of str to Given
        Such as "scale.u_rel"; units in their names.
    stops : tuple of (float, float, Bounds)
        Limits of the error of a stop with the smallest and the largest f-number each is for.
    returns, hysteresis : Bounds
        Limits of the difference between two settings of one stop, [EV].
    """

    stops: tuple[tuple[float, float, Bounds], ...]
    returns: Bounds
    hysteresis: Bounds

    def limit_for(self, marked: float) -> Bounds | None:
        """The limit for a marked f-number, or None."""
        return next((limit for low, high, limit in self.stops if low <= marked < high), None)

    def held_against(self, stops: Sequence[Bounds], returns: Bounds, hysteresis: Bounds) -> Practice:
        """
        The same table with the workshop's own limits.

        Parameters
        ----------
        stops : sequence of Bounds
            As many as the table has, in its order: of the wide stops, of the small ones, [EV].
        returns, hysteresis : Bounds
            [EV]
        """
        ranges = zip(self.stops, stops, strict=True)
        mine = tuple((low, high, limit) for (low, high, _), limit in ranges)
        return replace(self, stops=mine, returns=returns, hysteresis=hysteresis)


@cache
def practice() -> Practice:
    """
    The table, read once.

    Returns
    -------
    practice : Practice
        All of it.
    """
    table = table_beside(__package__)
    stops = tuple((row["smallest"], row["largest"], _bounds(row)) for row in table["limit"])
    return Practice(figures_in(table), stops, _bounds(table["returns"]), _bounds(table["hysteresis"]))


def _bounds(row: dict[str, Any]) -> Bounds:
    return Bounds(row["low_ev"], row["high_ev"], "ev", row["source"], row["mark"], row.get("note", ""))
