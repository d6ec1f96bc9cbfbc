"""Formats of film and frame, as data with their sources (`formats.toml`)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Mark

__all__ = ["FilmFormat", "Perforations", "film_format", "format_keys", "perforations", "picture_width_u"]

Ruler = Literal["perforations", "picture width"]


@dataclass(frozen=True)
class FilmFormat:
    """
    Frames as cameras put them on a film.

    Parameters
    ----------
    key, name : str
        What it is asked for by, and its name.
    ruler : "perforations" or "picture width"
        What tells the scale of a picture of it.
    across_m, along_m : float
        Size of the frame across the film and along it, [m].
    spacing_m : float
        From one frame's edge to the same edge of the next, [m].
    source : str
    mark : "seen", "memory" or "practice"
    """

    key: str
    name: str
    ruler: Ruler
    across_m: float
    along_m: float
    spacing_m: float
    source: str
    mark: Mark


@dataclass(frozen=True)
class Perforations:
    """
    The holes of 135 film as a ruler.

    Parameters
    ----------
    pitch_m : float
        From hole to hole, [m].
    along_m, across_m : float
        Size of a hole, [m].
    rows_m : float
        Between the middles of both rows, [m].
    film_m : float
        Width of the film, [m].
    components : tuple of Component
        What is not known of the pitch, as shares of it, [-].
    source : str
    mark : "seen", "memory" or "practice"
    """

    pitch_m: float
    along_m: float
    across_m: float
    rows_m: float
    film_m: float
    components: tuple[Component, ...]
    source: str
    mark: Mark


def format_keys() -> tuple[str, ...]:
    """What formats are asked for by, in the order of the table."""
    return tuple(one["key"] for one in _table()["format"])


def film_format(key: str) -> FilmFormat:
    """
    A format by its key.

    Parameters
    ----------
    key : str
        One of `format_keys`.

    Returns
    -------
    format : FilmFormat

    Raises
    ------
    RefusedReadings
        If there is none of that name.
    """
    for row in _table()["format"]:
        if row["key"] == key:
            return FilmFormat(**row)
    raise RefusedReadings(f"There is no format {key!r}. Give one of {', '.join(format_keys())}.")


@cache
def perforations(pitch_m: float | None = None, pitch_u_m: float = 0.0) -> Perforations:
    """
    The ruler of 135 film.

    Parameters
    ----------
    pitch_m : float, optional
        Pitch measured on this very film, [m]: of shrunk film, or of cine stock. The nominal one if not given.
    pitch_u_m : float
        Its standard uncertainty, [m].

    Returns
    -------
    perforations : Perforations

    Raises
    ------
    RefusedReadings
        If that is no pitch of such film.
    """
    table = _table()["perforations"]
    unknown: tuple[Component, ...]
    if pitch_m is None:
        pitch = float(table["pitch_m"])
        unknown = (
            _share("perforation pitch", table["new"], "how exactly new film is perforated"),
            _share("film shrinkage", table["shrinkage"], "the film lay for years"),
        )
    else:
        if not 4.4e-3 <= pitch_m <= 4.85e-3 or not 0 <= pitch_u_m <= 0.1e-3:
            raise RefusedReadings(
                f"{1e3 * pitch_m:g} mm is no pitch of 35 mm film: about 4.75 mm. Measure over 40 holes, "
                f"divide by 40."
            )
        pitch = pitch_m
        unknown = (Component("perforation pitch", pitch_u_m / pitch_m, note="measured on this film"),)
    return Perforations(
        pitch,
        table["along_m"],
        table["across_m"],
        table["rows"]["apart_m"],
        _table()["film"]["width_m"],
        unknown,
        table["source"],
        table["mark"],
    )


def picture_width_u() -> Component:
    """How far a roll film's picture is from its nominal width, as a share of it, [-]."""
    return _share("picture width", _table()["picture_width"], "the gate's own width is the ruler")


def _share(name: str, row: dict[str, Any], note: str) -> Component:
    return Component(name, row["relative_u"], note=note, source=row["source"], mark=row["mark"])


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(resources.files(__package__).joinpath("formats.toml").read_text("utf-8"))
