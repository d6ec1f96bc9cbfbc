"""
Friction torque by a spring balance that pulls a thread off a radius.

Torque is force times radius, pulled square to it and slowly: a jerk adds what it takes to set parts moving.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.plain_data import bounds_of, budget_of, figure
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine, mean_of
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["Friction", "friction", "limit_of", "limits"]


@dataclass(frozen=True)
class Friction:
    """
    How hard something turns.

    Parameters
    ----------
    torque : Measured or None
        [N m]; None where one reading alone gives it no scatter.
    limit : Bounds or None
        Workshop's limit, [N m].
    verdict : str
    pull_n : tuple of float or None
        Tension that a clutch of this torque puts on the film with the spool empty and full, [N].
    pulls_n_m : tuple of float
        The torque of each pull, in the order they came, [N m].
    warnings : tuple of str
    """

    torque: Measured | None
    limit: Bounds | None
    verdict: Verdict
    pull_n: tuple[float, float] | None
    pulls_n_m: tuple[float, ...]
    warnings: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """As the schema ``measure.take-up`` describes it."""
        return {
            **figure("torque", "n_m", self.torque),
            "torque_budget": budget_of(self.torque.budget if self.torque else ()),
            "limit": bounds_of(self.limit),
            "verdict": self.verdict,
            "pull_n": None if self.pull_n is None else list(self.pull_n),
            "pulls_n_m": list(self.pulls_n_m),
        }


@cache
def _table() -> dict[str, Any]:
    text = (
        resources.files("pegwood.instruments.transport").joinpath("friction.toml").read_text(encoding="utf-8")
    )
    found: dict[str, Any] = tomllib.loads(text)
    return found


def limits() -> tuple[str, ...]:
    """What there is a limit for."""
    return tuple(_table()["limit"])


def limit_of(what: str) -> Bounds:
    """
    The limit of something that turns.

    Parameters
    ----------
    what : str
        One of `limits`.

    Returns
    -------
    limit : Bounds
        [N m]

    Raises
    ------
    RefusedReadings
        If there is none for it.
    """
    row = _table()["limit"].get(what)
    if row is None:
        raise RefusedReadings(f"No limit for {what[:40]!r} is known. There are: {', '.join(limits())}.")
    return Bounds(None, row["high_nm"], "n_m", row["source"], row["mark"], row["says"])


def friction(
    forces_n: Sequence[float],
    radius_m: float,
    *,
    limit: Bounds | None = None,
    spool_m: tuple[float, float] | None = None,
) -> Friction:
    """
    Torque from several readings of a spring balance.

    Parameters
    ----------
    forces_n : sequence of float, shape (n,)
        [N]; two or more.
    radius_m : float
        At which the thread pulls, [m].
    limit : Bounds, optional
        [N m]
    spool_m : (float, float), optional
        Diameters of the spool empty and full, for a clutch, [m].

    Returns
    -------
    friction : Friction

    Raises
    ------
    RefusedReadings
        If a force or the radius cannot be.
    """
    if not 1e-3 <= radius_m <= 0.2:
        raise RefusedReadings(
            f"A radius of {1e3 * radius_m:g} mm is none here. Give it in mm, such as 12.", "radius_mm"
        )
    for one in forces_n:
        if not 0 <= one <= 100:
            raise RefusedReadings(
                f"A pull of {one:g} N is none here. Give newtons, such as 0.8 (100 g pull 0.98 N).", "force"
            )
    pulls = tuple(one * radius_m for one in forces_n)
    if len(forces_n) < 2:
        why = "One pull gives the torque no uncertainty: it is not told. Pull three times or more."
        return Friction(None, limit, "too close to call" if limit else "no limit given", None, pulls, (why,))
    mean = mean_of(forces_n)
    balance, arm = _table()["balance"], _table()["radius"]
    torque = combine(
        mean.value * radius_m,
        [
            Component("repeatability", mean.u * radius_m, mean.df, "A", f"{len(forces_n)} pulls"),
            _line("balance", balance, balance["within_n"] * radius_m),
            _line("radius", arm, arm["within_m"] * mean.value),
        ],
    )
    pull = None if spool_m is None else (2 * torque.value / spool_m[0], 2 * torque.value / spool_m[1])
    return Friction(torque, limit, verdict(torque, limit), pull, pulls, ())


def _line(name: str, row: dict[str, Any], half_width: float) -> Component:
    note = "half-width of a range, all of it alike"
    return Component(name, half_width / math.sqrt(3), note=note, source=row["source"], mark=row["mark"])
