"""What is taken as given of photographs of glass, and the grades, from the table beside this file."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from pegwood.instruments.given import Givens, figures_in, table_beside
from pegwood.instruments.uncertainty import Mark

__all__ = ["KINDS", "Practice", "practice"]

KINDS = ("marks", "fungus", "separation", "cement", "haze")
"""What is graded; all but haze by their share of the glass."""


@dataclass(frozen=True)
class Practice(Givens):
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

    grades: dict[str, tuple[float, ...]]
    source: str
    mark: Mark

    def grade(self, kind: str, percent: float) -> int:
        """Grade 0 to 5 of a share, [%]."""
        return sum(percent >= begin for begin in self.grades[kind][1:])


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
    grade = table["grade"]
    grades = {kind: tuple(grade[kind]) for kind in KINDS}
    return Practice(figures_in(table), grades, grade["source"], grade["mark"])
