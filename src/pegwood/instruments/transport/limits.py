"""The workshop's limits for film transport, and what is known of edges, with sources (`limits.toml`)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.filmstrip import FilmFormat
from pegwood.instruments.uncertainty import Component
from pegwood.instruments.verdicts import Bounds

__all__ = ["TransportLimits", "default_limits", "edge_component", "end_component"]


@dataclass(frozen=True)
class TransportLimits:
    """
    What a strip is held against.

    Parameters
    ----------
    spacing : Bounds
        How far the mean spacing may be from the format's own, [m].
    scatter : Bounds
        How much spacings may scatter, as a standard deviation, [m].
    square : Bounds
        How far the gate's edges may be from square to the film, [rad].
    gap : Bounds
        How narrow the narrowest gap between two frames may be; below zero they lie over each other, [m].
    """

    spacing: Bounds
    scatter: Bounds
    square: Bounds
    gap: Bounds

    def spacing_of(self, film: FilmFormat) -> Bounds:
        """The same as the mean spacing itself, [m]."""
        nominal, about = film.spacing_m, f"about {1e3 * film.spacing_m:.2f} mm"
        low, high = (None if one is None else nominal + one for one in (self.spacing.low, self.spacing.high))
        return Bounds(low, high, "m", self.spacing.source, self.spacing.mark, about)


def default_limits() -> TransportLimits:
    """
    The limits as Pegwood comes.

    Returns
    -------
    limits : TransportLimits
    """
    spacing, scatter, square, gap = (_table()[one] for one in ("spacing", "scatter", "square", "gap"))
    return TransportLimits(
        Bounds(-spacing["within_m"], spacing["within_m"], "m", spacing["source"], spacing["mark"]),
        Bounds(None, scatter["high_m"], "m", scatter["source"], scatter["mark"]),
        Bounds(-square["within_rad"], square["within_rad"], "rad", square["source"], square["mark"]),
        Bounds(gap["low_m"], None, "m", gap["source"], gap["mark"]),
    )


def edge_component(pixel_m: float, share: float = 1.0) -> Component:
    """What the agreement of an edge's bands cannot tell, [m]; `share` of it goes into the figure."""
    row = _table()["edge"]
    u = max(row["share_of_pixel"] * pixel_m, row["least_m"]) * share
    return Component("picture at the edges", u, source=row["source"], mark=row["mark"])


def end_component() -> Component:
    """How well the film's end is defined, [m]."""
    row = _table()["end"]
    return Component("end of the film", row["u_m"], source=row["source"], mark=row["mark"])


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(resources.files(__package__).joinpath("limits.toml").read_text("utf-8"))
