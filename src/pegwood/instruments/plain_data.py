"""Measured values as plain data: every number finite or None, as strict JSON wants it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from pegwood.instruments.uncertainty import Component, Measured
from pegwood.instruments.verdicts import Bounds

__all__ = ["bounds_of", "budget_of", "df_of", "figure", "interval_of", "plain", "u_of", "value_of"]


def plain(number: float | None) -> float | None:
    """A number JSON can hold, or None."""
    return None if number is None or not math.isfinite(number) else float(number)


def value_of(measured: Measured | None) -> float | None:
    return None if measured is None else plain(measured.value)


def u_of(measured: Measured | None) -> float | None:
    return None if measured is None else plain(measured.u)


def df_of(measured: Measured | None) -> float | None:
    return None if measured is None else plain(measured.df)


def interval_of(measured: Measured | None) -> list[float | None] | None:
    return None if measured is None else [plain(end) for end in measured.coverage_interval(0.95)]


def budget_of(components: Iterable[Component]) -> list[dict[str, Any]]:
    return [
        {
            "name": c.name,
            "u": plain(c.u),
            "df": plain(c.df),
            "kind": c.kind,
            "note": c.note,
            "source": c.source or None,
            "mark": c.mark or None,
        }
        for c in components
    ]


def figure(name: str, unit: str, measured: Measured | None) -> dict[str, Any]:
    """
    A value under `name_unit`, with `name_u_unit`, `name_df` and `name_95_unit`.

    Parameters
    ----------
    name, unit : str
        What it is and in which unit; the unit may be empty.
    measured : Measured or None
        The value; None gives None for all four.

    Returns
    -------
    data : dict
        Four entries.
    """
    end = f"_{unit}" if unit else ""
    return {
        f"{name}{end}": value_of(measured),
        f"{name}_u{end}": u_of(measured),
        f"{name}_df": df_of(measured),
        f"{name}_95{end}": interval_of(measured),
    }


def bounds_of(limit: Bounds | None) -> dict[str, Any] | None:
    """
    A limit as data, its unit part of the names: ``low_m``, ``high_m``, ``source``, ``mark``, ``note``.

    Parameters
    ----------
    limit : Bounds or None
        The limit that was held against; None gives None.

    Returns
    -------
    data : dict or None
        Five entries.
    """
    if limit is None:
        return None
    return {
        f"low_{limit.unit}": plain(limit.low),
        f"high_{limit.unit}": plain(limit.high),
        "source": limit.source,
        "mark": limit.mark,
        "note": limit.note or None,
    }
