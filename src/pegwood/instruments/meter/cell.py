"""
Cells compared by their short-circuit current: which of two tired ones is the better.

The current into a low resistance goes with the illuminance, ``I = k E^g`` with g near 1 for a sound selenium
cell (memory). Cells are compared level by level, so that what is wrong with the illuminance or with the
ammeter's range drops out of the comparison.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.fitting import fit_linear, polynomial
from pegwood.instruments.meter.cell_results import CellResult, Cells, CellTest, Comparison
from pegwood.instruments.readings import FiguresTable, RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured

__all__ = ["compare_cells", "currents_of"]

Array = NDArray[np.float64]

_CURRENTS = {"current_a": 1.0, "current_ma": 1e-3, "current_ua": 1e-6}
USUAL = "the cell"
USUAL_SCATTER = 0.02
"""Of a current read at a set light, [EV] (practice); only its ratio to the ammeter's step counts."""


def currents_of(table: FiguresTable) -> tuple[CellTest, ...]:
    """
    Take currents from a table.

    Parameters
    ----------
    table : FiguresTable
        Columns `illuminance_lx`, `current_ua` (or `current_ma`, `current_a`), and `cell` where there are
        several; or in place of both a column for each cell, such as `in_the_camera_ua` and `spare_ua`, whose
        cells may be empty.

    Returns
    -------
    tests : tuple of CellTest
        In the order the cells are first named.

    Raises
    ------
    RefusedReadings
        If a column lacks, or a figure is not above zero.
    """
    table.need("illuminance_lx")
    unit = table.first_of(*_CURRENTS)
    light = table.column("illuminance_lx", _positive)
    if unit is None:
        return _side_by_side(table, light)
    current = table.column(unit, _positive)
    names = table.column("cell", str.strip) if "cell" in table.columns else (USUAL,) * len(light)
    found = []
    for name in dict.fromkeys(names):
        of = [i for i, one in enumerate(names) if one == name]
        found.append(
            CellTest(
                name or USUAL,
                np.array([light[i] for i in of]),
                np.array([current[i] * _CURRENTS[unit] for i in of]),
            )
        )
    return tuple(found)


def _side_by_side(table: FiguresTable, light: Sequence[float]) -> tuple[CellTest, ...]:
    """Currents with a column for each cell."""
    ends = {f"_{unit.removeprefix('current_')}": scale for unit, scale in _CURRENTS.items()}
    found = []
    for column in table.columns:
        end = next((one for one in ends if column.endswith(one)), None)
        if end is None:
            continue
        current = table.column(column, lambda text: _positive(text) if text.strip() else None)
        there = [i for i, one in enumerate(current) if one is not None]
        values = np.array([one for one in current if one is not None], dtype=float)
        if there:
            name = column.removesuffix(end).replace("_", " ")
            found.append(CellTest(name, np.array([light[i] for i in there]), values * ends[end]))
    if not found:
        raise table.lacking(
            "a cell's current",
            "there is no column current_ua (or current_ma, current_a), and none for each cell, such as "
            "spare_ua, in which a current stands.",
        )
    return tuple(found)


def compare_cells(
    tests: Sequence[CellTest], *, division_a: float = 0.0, illuminance_u_ev: float = 0.1
) -> Cells:
    """
    Which cell is the better.

    Parameters
    ----------
    tests : sequence of CellTest
        One or more.
    division_a : float
        Step of the ammeter, [A].
    illuminance_u_ev : float
        Standard uncertainty of the illuminance, alike for all readings, [EV]: it touches the sensitivity and
        not the comparison.

    Returns
    -------
    cells : Cells
    """
    warnings: list[str] = []
    cells = tuple(_one(test, division_a, illuminance_u_ev, warnings) for test in tests)
    pairs = tuple(
        _compared(first, second, division_a, warnings)
        for place, first in enumerate(tests)
        for second in tests[place + 1 :]
    )
    names = [test.name for test in tests]
    best = next(
        (
            name
            for name in names
            if len(names) > 1 and all(p.better == name for p in pairs if name in (p.cell, p.against))
        ),
        None,
    )
    return Cells(cells, pairs, best, tuple(warnings), tuple(tests))


def _one(test: CellTest, division: float, illuminance_u: float, warnings: list[str]) -> CellResult:
    x, y = np.log2(test.illuminance), np.log2(test.current)
    n = x.size
    if n < 3 or np.ptp(x) < 0.5:
        warnings.append(
            f"{test.name}: {n} readings tell no exponent. Read at least four levels over the scale."
        )
        return CellResult(test.name, None, None, n, "not known")
    middle = float(x.max() + x.min()) / 2
    fit = fit_linear(polynomial(x - middle, 1), y, _weights(test.current, division))
    parts = [
        Component("illuminance", illuminance_u, note="alike for all readings; as told, or 0.1 EV (practice)")
    ]
    height = fit.of((1, 0), "readings", parts)
    sensitivity = 2**height.value / 2**middle
    exponent = fit.of((0, 1), "readings")
    low, high = exponent.coverage_interval()
    if high < 0.97:
        says = "falls behind in strong light: a resistance in series, or an ammeter with too much of its own"
    elif low > 1.03:
        says = "falls off in weak light: a leak across the cell, damp or age"
    else:
        says = "goes with the light, as far as can be told"
    relative = Measured(sensitivity, sensitivity * math.log(2) * height.u, height.df)
    return CellResult(test.name, relative, exponent, n, says)


def _compared(first: CellTest, second: CellTest, division: float, warnings: list[str]) -> Comparison:
    x, more, u = _paired(first, second, division)
    weakest = float(np.exp2(max(np.log2(first.illuminance).min(), np.log2(second.illuminance).min())))
    if x.size < 3:
        warnings.append(
            f"{first.name} and {second.name}: only {x.size} levels in common. Read both at the same four "
            "or more."
        )
        return Comparison(first.name, second.name, None, None, weakest, "too close to call")
    middle = float(x.max() + x.min()) / 2
    degree = 1 if x.size >= 4 and np.ptp(x) > 0.5 else 0
    fit = fit_linear(polynomial(x - middle, degree), more, u)
    found = [fit.of((1, at) if degree else (1,), "readings") for at in (0.0, float(x.min()) - middle)]
    return Comparison(
        first.name, second.name, found[0], found[1], 2 ** float(x.min()), _better(first, second, found)
    )


def _paired(first: CellTest, second: CellTest, division: float) -> tuple[Array, Array, Array]:
    """Levels both were read at, as log2 of lx; how much more current the first gave, [EV]; its weights."""
    levels, more, us = [], [], []
    for level in np.unique(first.illuminance):
        ours = first.current[np.isclose(first.illuminance, level, rtol=1e-3)]
        theirs = second.current[np.isclose(second.illuminance, level, rtol=1e-3)]
        if theirs.size:
            levels.append(math.log2(level))
            more.append(float(np.log2(ours).mean() - np.log2(theirs).mean()))
            both = [float(_weights(one, division).mean() / math.sqrt(one.size)) for one in (ours, theirs)]
            us.append(math.hypot(*both))
    return np.array(levels), np.array(more), np.array(us)


def _better(first: CellTest, second: CellTest, found: Sequence[Measured]) -> str:
    signs = []
    for one in found:
        low, high = one.coverage_interval()
        signs.append(1 if low > 0 else -1 if high < 0 else 0)
    if signs[0] * signs[1] < 0:
        return "one in strong light, one in weak"
    sign: Literal[-1, 0, 1] = 1 if max(signs) > 0 else -1 if min(signs) < 0 else 0
    return {1: first.name, -1: second.name, 0: "too close to call"}[sign]


def _weights(current: Array, division: float) -> Array:
    """
    How uncertain readings are against each other, [EV]: an ammeter's step counts for more in weak light.

    Its steps are all over the place from level to level, so that rounding is part of the scatter.
    """
    return np.asarray(np.hypot(USUAL_SCATTER, division / math.sqrt(12) / current / math.log(2)), dtype=float)


def _positive(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and value > 0):
        raise RefusedReadings(
            f"{text[:30]!r} is not above zero. A dead cell needs no comparison; leave it out."
        )
    return value
