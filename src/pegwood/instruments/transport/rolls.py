"""Rolls of film as sold, and how thick film lies on a spool, as data with sources (`take_up.toml`)."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured

__all__ = ["Roll", "roll", "rolls", "thickness"]


@dataclass(frozen=True)
class Roll:
    """
    A roll of film.

    Parameters
    ----------
    length : Measured
        From its tongue's end to the cassette or core, [m].
    lead_m : float
        Wound up before the first frame, [m].
    tail_m : float
        What cannot be pulled out at the end, [m].
    frames : int
        What it is sold for.
    pitch_m : float
        From frame to frame, [m].
    source, mark : str
        Of its lengths.
    """

    length: Measured
    lead_m: float
    tail_m: float
    frames: int
    pitch_m: float
    source: str
    mark: str


@cache
def _table() -> dict[str, Any]:
    text = (
        resources.files("pegwood.instruments.transport").joinpath("take_up.toml").read_text(encoding="utf-8")
    )
    found: dict[str, Any] = tomllib.loads(text)
    return found


def thickness() -> Measured:
    """Thickness of ordinary film, looseness of winding included, [m]."""
    row = _table()["thickness"]
    u = row["within_m"] / math.sqrt(3)
    line = Component(
        "film thickness", u, note="anywhere in its range", source=row["source"], mark=row["mark"]
    )
    return Measured(row["m"], u, math.inf, (line,))


def rolls() -> tuple[str, ...]:
    """Names of the rolls that are known."""
    return tuple(_table()["roll"])


def roll(name: str) -> Roll:
    """
    A roll by its name.

    Parameters
    ----------
    name : str
        One of `rolls`.

    Returns
    -------
    roll : Roll

    Raises
    ------
    RefusedReadings
        If there is none of that name.
    """
    row = _table()["roll"].get(name)
    if row is None:
        raise RefusedReadings(f"No roll {name[:40]!r} is known. There are: {', '.join(rolls())}.")
    length = Measured(row["length_m"], row["within_m"] / math.sqrt(3))
    pitch = float(_table()["pitch"]["135"]["m"])
    return Roll(length, row["lead_m"], row["tail_m"], row["frames"], pitch, row["source"], row["mark"])
