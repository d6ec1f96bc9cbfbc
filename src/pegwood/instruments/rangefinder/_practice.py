"""What a rangefinder is held against, from the table beside this file."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Mark

__all__ = ["ARCMIN", "ARCSEC", "Sourced", "acuities", "acuity", "circle", "circles", "practice"]

ARCMIN = math.pi / 180 / 60
ARCSEC = ARCMIN / 60


@dataclass(frozen=True)
class Sourced:
    """
    An outside figure.

    Parameters
    ----------
    value : float
        In the unit its owner names.
    source, mark : str
        Where it comes from, and how well that is known.
    """

    value: float
    source: str
    mark: Mark

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.source and self.mark):
            raise ValueError("An outside figure is a finite number with source and mark")


@cache
def _table() -> dict[str, Any]:
    found: dict[str, Any] = tomllib.loads(
        resources.files(__package__).joinpath("practice.toml").read_text(encoding="utf-8")
    )
    return found


def practice(row: str, key: str) -> Sourced:
    """
    One figure of a row, in the table's own unit.

    Parameters
    ----------
    row, key : str
        Such as "scale", "travel_m".

    Returns
    -------
    figure : Sourced
    """
    found = _table()[row]
    return Sourced(float(found[key]), found["source"], found["mark"])


def acuities() -> tuple[str, ...]:
    """Names of the acuities there are, the finest first."""
    return tuple(_table()["acuity"])


def acuity(name: str) -> Sourced:
    """
    How finely two images are brought together.

    Parameters
    ----------
    name : str
        One of `acuities`.

    Returns
    -------
    acuity : Sourced
        [rad] at the eye.
    """
    found = _table()["acuity"].get(name)
    if found is None:
        raise RefusedReadings(f"No acuity {name[:40]!r} is known. There are: {', '.join(acuities())}.")
    return Sourced(found["arcsec"] * ARCSEC, found["source"], found["mark"])


def circles() -> tuple[str, ...]:
    """Formats whose circle of confusion is known."""
    return tuple(_table()["circle"])


def circle(format_name: str) -> Sourced:
    """
    The circle of confusion of a format.

    Parameters
    ----------
    format_name : str
        One of `circles`.

    Returns
    -------
    circle : Sourced
        Diameter, [m].
    """
    found = _table()["circle"].get(format_name)
    if found is None:
        raise RefusedReadings(
            f"No circle of confusion is known for {format_name[:40]!r}. There are: {', '.join(circles())}; "
            "or give the circle itself."
        )
    return Sourced(found["m"], found["source"], found["mark"])
