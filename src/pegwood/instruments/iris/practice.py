"""What is taken as given of pictures, callipers and diaphragms, from the table beside this file."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.uncertainty import Component, Mark
from pegwood.instruments.verdicts import Bounds

__all__ = ["Given", "Practice", "practice"]


@dataclass(frozen=True)
class Given:
    """A figure that is taken as given: value, whose it is, how well that is known."""

    value: float
    source: str
    mark: Mark

    def component(self, name: str, u: float, note: str = "") -> Component:
        """A line of a budget that rests on it, `u` in the unit of the result."""
        return Component(name, u, note=note, source=self.source, mark=self.mark)


@dataclass(frozen=True)
class Practice:
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

    figures: dict[str, Given]
    stops: tuple[tuple[float, float, Bounds], ...]
    returns: Bounds
    hysteresis: Bounds

    def __getitem__(self, name: str) -> Given:
        return self.figures[name]

    def limit_for(self, marked: float) -> Bounds | None:
        """The limit for a marked f-number, or None."""
        return next((limit for low, high, limit in self.stops if low <= marked < high), None)

    def but(self, **figures: float) -> Practice:
        """
        The same table with figures of one's own; ``scale__u_rel=0`` changes "scale.u_rel".

        Raises
        ------
        KeyError
            If there is no such figure.
        """
        own = dict(self.figures)
        for name, value in figures.items():
            key = name.replace("__", ".")
            own[key] = Given(value, own[key].source, own[key].mark)
        return Practice(own, self.stops, self.returns, self.hysteresis)


@cache
def practice() -> Practice:
    """
    The table, read once.

    Returns
    -------
    practice : Practice
        All of it.
    """
    text = resources.files(__package__).joinpath("practice.toml").read_text(encoding="utf-8")
    table: dict[str, Any] = tomllib.loads(text)
    figures = {}
    for part, rows in table.items():
        if isinstance(rows, dict):
            for key, value in rows.items():
                if isinstance(value, float):
                    figures[f"{part}.{key}"] = Given(value, rows["source"], rows["mark"])
    stops = tuple((row["smallest"], row["largest"], _bounds(row)) for row in table["limit"])
    return Practice(figures, stops, _bounds(table["returns"]), _bounds(table["hysteresis"]))


def _bounds(row: dict[str, Any]) -> Bounds:
    return Bounds(row["low_ev"], row["high_ev"], "ev", row["source"], row["mark"], row.get("note", ""))
