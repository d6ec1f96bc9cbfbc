"""What a rangefinder is held against, from the table beside this file."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from pegwood.instruments.given import Given, table_beside
from pegwood.instruments.readings import RefusedReadings

__all__ = ["ARCMIN", "ARCSEC", "acuities", "acuity", "circle", "circles", "practice"]

ARCMIN = math.pi / 180 / 60
ARCSEC = ARCMIN / 60


@cache
def _table() -> dict[str, Any]:
    return table_beside(__package__)


def practice(row: str, key: str) -> Given:
    """
    One figure of a row, in the table's own unit.

    Parameters
    ----------
    row, key : str
        Such as "scale", "travel_m".

    Returns
    -------
    figure : Given
    """
    found = _table()[row]
    return Given(float(found[key]), found["source"], found["mark"])


def acuities() -> tuple[str, ...]:
    """Names of the acuities there are, the finest first."""
    return tuple(_table()["acuity"])


def acuity(name: str) -> Given:
    """
    How finely two images are brought together.

    Parameters
    ----------
    name : str
        One of `acuities`.

    Returns
    -------
    acuity : Given
        [rad] at the eye.
    """
    found = _table()["acuity"].get(name)
    if found is None:
        raise RefusedReadings(f"No acuity {name[:40]!r} is known. There are: {', '.join(acuities())}.")
    return Given(found["arcsec"] * ARCSEC, found["source"], found["mark"])


def circles() -> tuple[str, ...]:
    """Formats whose circle of confusion is known."""
    return tuple(_table()["circle"])


def circle(format_name: str) -> Given:
    """
    The circle of confusion of a format.

    Parameters
    ----------
    format_name : str
        One of `circles`.

    Returns
    -------
    circle : Given
        Diameter, [m].
    """
    found = _table()["circle"].get(format_name)
    if found is None:
        raise RefusedReadings(
            f"No circle of confusion is known for {format_name[:40]!r}. There are: {', '.join(circles())}; "
            "or give the circle itself."
        )
    return Given(found["m"], found["source"], found["mark"])
