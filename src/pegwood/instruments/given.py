"""Tables of what is taken as given: figures of practice beside an instrument, each with its source."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib import resources
from typing import Any, Self

from pegwood.instruments.uncertainty import Component, Mark

__all__ = ["Given", "Givens", "figures_in", "table_beside"]


@dataclass(frozen=True)
class Given:
    """
    A figure that is taken as given.

    Parameters
    ----------
    value : float
        In the unit its name says.
    source, mark : str
        Whose it is, and how well that is known.

    Raises
    ------
    ValueError
        If it is not finite, or comes without source and mark.
    """

    value: float
    source: str
    mark: Mark

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.source and self.mark):
            raise ValueError("An outside figure is a finite number with source and mark")

    def component(self, name: str, u: float, note: str = "") -> Component:
        """A line of a budget that rests on it, `u` in the unit of the result."""
        return Component(name, u, note=note, source=self.source, mark=self.mark)


@dataclass(frozen=True)
class Givens:
    """
    A table of them.

    Parameters
    ----------
    figures : dict of str to Given
        Such as "scale.u_rel"; units in their names.
    """

    figures: dict[str, Given]

    def __getitem__(self, name: str) -> Given:
        return self.figures[name]

    def but(self, **figures: float) -> Self:
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
            own[key] = replace(own[key], value=value)
        return replace(self, figures=own)


def table_beside(package: str | None, name: str = "practice.toml") -> dict[str, Any]:
    """
    A table that lies beside an instrument's code.

    Parameters
    ----------
    package : str
        The instrument's own, its ``__package__``.
    name : str
        The file's.

    Returns
    -------
    table : dict
        As TOML reads it.
    """
    if not package:
        raise ValueError("A table lies in a package; here is none")
    return tomllib.loads(resources.files(package).joinpath(name).read_text(encoding="utf-8"))


def figures_in(table: Mapping[str, Any]) -> dict[str, Given]:
    """
    Every number with a point in a table's parts, as "part.name", under its part's source and mark.

    Parameters
    ----------
    table : mapping
        As `table_beside` gives it; lists of rows are left to who knows them.

    Returns
    -------
    figures : dict of str to Given

    Raises
    ------
    KeyError
        If a part with such a number has no source or no mark.
    """
    return {
        f"{part}.{key}": Given(value, row["source"], row["mark"])
        for part, row in table.items()
        if isinstance(row, dict)
        for key, value in row.items()
        if isinstance(value, float)
    }
