"""What is taken as given of photographs of glass, and the grades, from the table beside this file."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.uncertainty import Component, Mark

__all__ = ["KINDS", "Given", "Practice", "practice"]

KINDS = ("marks", "fungus", "separation", "cement", "haze")
"""What is graded; all but haze by their share of the glass."""


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
        Such as "dark.u"; units in their names.
    grades : dict of str to tuple of float
        For each of `KINDS` where grades 0 to 5 begin, [%].
    source, mark : str
        Whose the grades are.
    """

    figures: dict[str, Given]
    grades: dict[str, tuple[float, ...]]
    source: str
    mark: Mark

    def __getitem__(self, name: str) -> Given:
        return self.figures[name]

    def grade(self, kind: str, percent: float) -> int:
        """Grade 0 to 5 of a share, [%]."""
        return sum(percent >= begin for begin in self.grades[kind][1:])

    def but(self, **figures: float) -> Practice:
        """The same table with figures of one's own; ``dark__u=0`` changes "dark.u"."""
        own = dict(self.figures)
        for name, value in figures.items():
            key = name.replace("__", ".")
            own[key] = Given(value, own[key].source, own[key].mark)
        return Practice(own, self.grades, self.source, self.mark)


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
    figures = {
        f"{part}.{key}": Given(value, rows["source"], rows["mark"])
        for part, rows in table.items()
        for key, value in rows.items()
        if isinstance(value, float)
    }
    grade = table["grade"]
    grades = {kind: tuple(grade[kind]) for kind in KINDS}
    return Practice(figures, grades, grade["source"], grade["mark"])
