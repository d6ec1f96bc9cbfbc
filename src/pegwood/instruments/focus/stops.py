"""How best focus moves as the lens is stopped down (spherical aberration), against the depth of focus."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pegwood.instruments.focus._figures import FocusLimits, share_limit
from pegwood.instruments.focus.optics import depth_of_focus
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["StopShift", "shifts_with_stop"]


@dataclass(frozen=True)
class StopShift:
    """
    Best focus at one stop against the widest.

    Parameters
    ----------
    f_number : float
        [-].
    shift : Measured
        Positive: further from the film, [m].
    depth : float
        Depth of focus at this stop, to one side, [m].
    limit : Bounds
        That depth's allowed share.
    verdict : str
    """

    f_number: float
    shift: Measured
    depth: float
    limit: Bounds
    verdict: Verdict


def shifts_with_stop(
    best: Mapping[float, Measured], confusion_m: float, limits: FocusLimits | None = None
) -> tuple[StopShift, ...]:
    """
    Compare best focus between stops.

    Parameters
    ----------
    best : mapping of float to Measured
        Best focus by f-number, [m], away from the film.
    confusion_m : float
        Circle of confusion, [m].
    limits : FocusLimits, optional
        The workshop's; those that come with Pegwood if not given.

    Returns
    -------
    shifts : tuple of StopShift
        For each stop but the widest.

    Raises
    ------
    RefusedReadings
        If there are not two stops at least.
    """
    stops = sorted(best)
    if len(stops) < 2:
        raise RefusedReadings("A shift with the stop needs a series at two stops at least.")
    widest = best[stops[0]]
    found = []
    for stop in stops[1:]:
        one = best[stop]
        shift = combine(
            one.value - widest.value,
            [
                Component(f"best focus at f/{stop:g}", one.u, one.df, "A"),
                Component(f"best focus at f/{stops[0]:g}", widest.u, widest.df, "A"),
            ],
        )
        depth = depth_of_focus(stop, confusion_m)
        limit = share_limit(depth, limits=limits)
        found.append(StopShift(stop, shift, depth, limit, verdict(shift, limit)))
    return tuple(found)
