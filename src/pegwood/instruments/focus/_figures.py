"""Formats, film and limits from the table beside this file."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.rangefinder import circle
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Mark
from pegwood.instruments.verdicts import Bounds

__all__ = [
    "FocusLimits",
    "Format",
    "Sourced",
    "default_limits",
    "formats",
    "picture_format",
    "register_limit",
    "share_limit",
    "sourced",
]


@dataclass(frozen=True)
class Format:
    """
    A picture format.

    Parameters
    ----------
    key : str
        Such as "24x36".
    width_m, height_m : float
        Of the picture, [m].
    confusion_m : float
        Circle of confusion: the largest blur that passes for a point, [m].
    source, mark : str
        Of the circle of confusion.
    circle : str
        What that is called in the rangefinder's table, which is the one for both.
    """

    key: str
    width_m: float
    height_m: float
    confusion_m: float
    source: str
    mark: Mark
    circle: str


@dataclass(frozen=True)
class FocusLimits:
    """
    What focus is held against.

    Parameters
    ----------
    register : Bounds
        How far a register may be off, [m].
    share : Bounds
        How far focus may be off, in depths of focus to one side, [-].
    channel : Bounds
        How deep the film's channel may be, [m].
    """

    register: Bounds
    share: Bounds
    channel: Bounds


@dataclass(frozen=True)
class Sourced:
    """A row of the table: its numbers, with source and mark."""

    values: dict[str, float]
    source: str
    mark: Mark
    note: str = ""


@cache
def _table() -> dict[str, Any]:
    text = resources.files(__package__).joinpath("focus.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def formats() -> dict[str, Format]:
    """Every format under each of its names."""
    found: dict[str, Format] = {}
    for row in _table()["format"]:
        blur = circle(row["circle"])
        size = row["width_mm"] / 1e3, row["height_mm"] / 1e3
        one = Format(row["key"], *size, blur.value, blur.source, blur.mark, row["circle"])
        found |= dict.fromkeys([row["key"], *row["also"]], one)
    return found


def picture_format(name: str) -> Format:
    """
    A format by one of its names.

    Raises
    ------
    RefusedReadings
        If none is called so; the names there are.
    """
    said = name.strip().casefold().replace(" ", "").replace("×", "x")
    if said not in formats():
        known = ", ".join(row["key"] for row in _table()["format"])
        raise RefusedReadings(f"No picture format {name[:40]!r} is known. There are: {known}.")
    return formats()[said]


def sourced(*path: str) -> Sourced:
    """A row by its place in the table, lengths in metres."""
    row = _table()
    for key in path:
        row = row[key]
    values = {
        key.removesuffix("_mm"): value / 1e3 if key.endswith("_mm") else value
        for key, value in row.items()
        if isinstance(value, int | float)
    }
    return Sourced(values, row["source"], row["mark"], row.get("note", ""))


@cache
def default_limits() -> FocusLimits:
    """
    The limits as Pegwood comes.

    Returns
    -------
    limits : FocusLimits
    """
    register, share, channel = (sourced("limit", one) for one in ("register", "focus", "channel"))
    within, part = register.values["plus_minus"], share.values["share_of_depth"]
    return FocusLimits(
        Bounds(-within, within, "m", register.source, register.mark, register.note),
        Bounds(-part, part, "depths", share.source, share.mark, share.note),
        Bounds(channel.values["from"], channel.values["to"], "m", channel.source, channel.mark, channel.note),
    )


def register_limit(plus_minus_m: float | None = None, limits: FocusLimits | None = None) -> Bounds:
    """How far a register may be off, [m]; as given with the readings, else the workshop's."""
    if plus_minus_m is not None:
        return Bounds(-plus_minus_m, plus_minus_m, "m", "as given", "practice")
    return (limits or default_limits()).register


def share_limit(
    depth_m: float, plus_minus_m: float | None = None, limits: FocusLimits | None = None
) -> Bounds:
    """How far focus may be off, [m]; as given, else the workshop's share of a depth of focus to one side."""
    if plus_minus_m is not None:
        return Bounds(-plus_minus_m, plus_minus_m, "m", "as given", "practice")
    share = (limits or default_limits()).share
    low, high = (None if side is None else side * depth_m for side in (share.low, share.high))
    return Bounds(low, high, "m", share.source, share.mark, share.note)
