"""The workshop's limits for film transport, and what is known of edges, with sources (`limits.toml`)."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.filmstrip import FilmFormat
from pegwood.instruments.uncertainty import Component
from pegwood.instruments.verdicts import Bounds

__all__ = ["edge_component", "end_component", "scatter_limit", "spacing_limit", "square_limit"]


def spacing_limit(film: FilmFormat) -> Bounds:
    """How far the mean spacing may be from the format's nominal one, [m]."""
    row = _table()["spacing"]
    low, high = film.spacing_m - row["within_m"], film.spacing_m + row["within_m"]
    return Bounds(low, high, "m", row["source"], row["mark"], f"about {1e3 * film.spacing_m:.2f} mm")


def scatter_limit() -> Bounds:
    """How much spacings may scatter, as a standard deviation, [m]."""
    row = _table()["scatter"]
    return Bounds(None, row["high_m"], "m", row["source"], row["mark"])


def square_limit() -> Bounds:
    """How far the gate's edges may be from square to the film, [rad]."""
    row = _table()["square"]
    return Bounds(-row["within_rad"], row["within_rad"], "rad", row["source"], row["mark"])


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
