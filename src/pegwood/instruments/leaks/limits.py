"""The workshop's limit for fog on bare film, with its source (`limits.toml`)."""

from __future__ import annotations

import tomllib
from importlib import resources

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.verdicts import Bounds

__all__ = ["checked_limit", "fog_limit"]

_LEAST, _MOST = 0.01, 1.0


def fog_limit() -> Bounds:
    """
    From which density over the least fogged bare film on fog is taken for a leak's, as Pegwood has it.

    Returns
    -------
    limit : Bounds
        `high` only, unit "density".
    """
    row = tomllib.loads(resources.files(__package__).joinpath("limits.toml").read_text("utf-8"))["fog"]
    return Bounds(None, row["high_density"], "density", row["source"], row["mark"])


def checked_limit(limit: Bounds | None) -> tuple[Bounds, float]:
    """
    The limit that holds, and its density.

    Parameters
    ----------
    limit : Bounds or None
        The workshop's own; None for `fog_limit`.

    Returns
    -------
    limit : Bounds
    density : float
        Its upper bound, [1].

    Raises
    ------
    RefusedReadings
        If it has no upper bound, or none that fog can be told by.
    """
    held = fog_limit() if limit is None else limit
    if held.high is None or not _LEAST <= held.high <= _MOST:
        told = "none" if held.high is None else f"{held.high:g}"
        raise RefusedReadings(
            f"The limit for fog is {told}: give a density from {_LEAST:g} to {_MOST:g}, such as 0.05."
        )
    return held, held.high
