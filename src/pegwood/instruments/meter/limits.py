"""The workshop's limits for an exposure meter, and what readings rest on where nobody says otherwise."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

from pegwood.instruments.given import table_beside
from pegwood.instruments.uncertainty import Component, Mark
from pegwood.instruments.verdicts import Bounds

__all__ = ["MeterLimits", "Practice", "default_limits", "practice"]


@dataclass(frozen=True)
class MeterLimits:
    """
    What a meter may be off by.

    Parameters
    ----------
    error : Bounds or None
        Error anywhere on the scale, [EV].
    hysteresis : Bounds or None
        Light rising less light falling, [EV].
    scatter : Bounds or None
        Standard deviation of a reading about the fit, [EV].
    """

    error: Bounds | None
    hysteresis: Bounds | None = None
    scatter: Bounds | None = None


@dataclass(frozen=True)
class Practice:
    """
    Habits of the bench, all marked `practice`.

    Parameters
    ----------
    reference_u : float
        Standard uncertainty of a reference that nobody tells more of, [EV].
    reference_note : str
        What it stands for.
    offset, shape, hysteresis : float
        Sizes from which a part of the error is called by name, [EV].
    clear : float
        Chance from which a shape is called clear, [-].
    source, mark : str
        Of all of it.
    """

    reference_u: float
    reference_note: str
    offset: float
    shape: float
    hysteresis: float
    clear: float
    source: str
    mark: Mark

    def reference(self) -> Component:
        """What is uncertain about every reading alike, where nobody says more."""
        return Component(
            "reference", self.reference_u, math.inf, "B", self.reference_note, self.source, self.mark
        )


@cache
def practice() -> Practice:
    """The habits in the table beside this file."""
    table = _table()
    named = table["pattern"]
    return Practice(
        reference_u=table["reference"]["u_ev"],
        reference_note=table["reference"]["note"],
        offset=named["offset_ev"],
        shape=named["shape_ev"],
        hysteresis=named["hysteresis_ev"],
        clear=named["clear"],
        source=table["source"],
        mark=table["mark"],
    )


@cache
def default_limits() -> MeterLimits:
    """The limits Pegwood comes with, all marked `practice`."""
    table = _table()
    found = {
        name: Bounds(
            table[name].get("low_ev"), table[name].get("high_ev"), "ev", table["source"], table["mark"]
        )
        for name in ("error", "hysteresis", "scatter")
    }
    return MeterLimits(**found)


def _table() -> dict[str, Any]:
    return table_beside(__package__, "limits.toml")
