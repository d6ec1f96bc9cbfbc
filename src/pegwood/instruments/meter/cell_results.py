"""Currents of cells, and what comes of comparing them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.uncertainty import Measured

__all__ = ["CellResult", "CellTest", "Cells", "Comparison"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CellTest:
    """
    Currents of one cell.

    Parameters
    ----------
    name : str
        Which cell.
    illuminance : array, shape (n,)
        [lx], above zero.
    current : array, shape (n,)
        Short-circuit current, [A], above zero.
    """

    name: str
    illuminance: Array
    current: Array


@dataclass(frozen=True)
class CellResult:
    """
    One cell.

    Parameters
    ----------
    name : str
        Which.
    sensitivity : Measured or None
        Current over illuminance in the middle of the range, [A/lx].
    exponent : Measured or None
        g, [-]: below 1 it falls behind in strong light, above 1 in weak light.
    n : int
        Readings.
    says : str
        What the exponent means.
    """

    name: str
    sensitivity: Measured | None
    exponent: Measured | None
    n: int
    says: str


@dataclass(frozen=True)
class Comparison:
    """
    One cell against another.

    Parameters
    ----------
    cell, against : str
        Which.
    middle, weakest : Measured or None
        How much more current the first gives, in the middle of the range and at the weakest light, [EV].
    weakest_lx : float
        That light, [lx].
    better : str
        Name of the better cell, or "too close to call", or "one in strong light, one in weak".
    """

    cell: str
    against: str
    middle: Measured | None
    weakest: Measured | None
    weakest_lx: float
    better: str


@dataclass(frozen=True)
class Cells:
    """
    All cells and their comparisons.

    Parameters
    ----------
    cells : tuple of CellResult
        In the order they were named.
    comparisons : tuple of Comparison
        Each pair.
    best : str or None
        The cell that is better than every other; None where it is too close to call.
    warnings : tuple of str
        What was refused and why.
    tests : tuple of CellTest
        What was read, for a chart.
    """

    cells: tuple[CellResult, ...]
    comparisons: tuple[Comparison, ...]
    best: str | None
    warnings: tuple[str, ...]
    tests: tuple[CellTest, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The result as plain data, as `measure.meter-cell` describes it."""
        from pegwood.instruments.meter.telling import cautions_for
        from pegwood.instruments.plain_data import budget_of, figure

        return {
            "cells": [
                {
                    "name": one.name,
                    "n": one.n,
                    **figure("sensitivity", "a_per_lx", one.sensitivity),
                    **figure("exponent", "", one.exponent),
                    "says": one.says,
                }
                for one in self.cells
            ],
            "comparisons": [
                {
                    "cell": one.cell,
                    "against": one.against,
                    **figure("middle", "ev", one.middle),
                    **figure("weakest", "ev", one.weakest),
                    "weakest_lx": one.weakest_lx,
                    "weakest_budget": [] if one.weakest is None else budget_of(one.weakest.budget),
                    "better": one.better,
                }
                for one in self.comparisons
            ],
            "best": self.best,
            "points": [
                {"cell": test.name, "illuminance_lx": float(light), "current_a": float(current)}
                for test in self.tests
                for light, current in zip(test.illuminance, test.current, strict=True)
            ],
            "cautions": list(cautions_for("selenium")),
            "warnings": list(self.warnings),
        }
