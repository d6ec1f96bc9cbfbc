"""From what is told at the bench, in its own words and units, to take-up and torque."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.readings.table import number
from pegwood.instruments.transport.friction import Friction, friction, limit_of
from pegwood.instruments.transport.rolls import Roll, roll
from pegwood.instruments.transport.take_up import TakeUp, take_up
from pegwood.instruments.uncertainty import Component, Measured, combine, mean_of
from pegwood.instruments.verdicts import Bounds

__all__ = ["CLUTCH", "core_of", "friction_told", "newtons", "take_up_told"]

CLUTCH = "take-up clutch"
"""What turns where no limit stands for it: its torque pulls on the film."""
_ROLL = "135-36"
_CALLIPER = "how well a calliper meets a spool's core; half-width of a range"
_STANDARD_GRAVITY = 9.80665
"""[m/s2], exact by convention (3rd CGPM, 1901; memory)."""


def newtons(text: str, unit: str = "N") -> float:
    """
    A pull as it was read off a balance, in newtons.

    Parameters
    ----------
    text : str
        "0.8", "0,8 N" or "80 g"; a unit in the text comes before the one that is usual there.
    unit : "N" or "g"
        What a bare figure is in.

    Returns
    -------
    force : float
        [N]

    Raises
    ------
    RefusedReadings
        If it is no pull.
    """
    said = text.strip()
    for ending, own in (("gf", "g"), ("g", "g"), ("n", "N")):
        if said.casefold().endswith(ending):
            said, unit = said[: -len(ending)].strip(), own
            break
    return number(said) * (_STANDARD_GRAVITY / 1e3 if unit == "g" else 1.0)


def core_of(diameters_mm: Sequence[float], within_mm: float | None = None) -> Measured:
    """
    The spool's core from a calliper's readings.

    Parameters
    ----------
    diameters_mm : sequence of float, shape (n,)
        [mm]; with several their scatter counts too.
    within_mm : float, optional
        How well the calliper meets the core, either side, [mm]; 0.1 if not given.

    Returns
    -------
    core : Measured
        [m]

    Raises
    ------
    RefusedReadings
        If a figure cannot be.
    """
    half = 0.1 if within_mm is None else within_mm
    if not (diameters_mm and all(math.isfinite(one) for one in diameters_mm)):
        raise RefusedReadings("The core's diameter in mm is wanted, such as 14.", "core_mm")
    if not (math.isfinite(half) and half > 0):
        raise RefusedReadings("How well the core is known is above zero, such as 0.1 mm.", "core_within_mm")
    middle = math.fsum(diameters_mm) / len(diameters_mm)
    if any(abs(one - middle) > 0.1 * middle for one in diameters_mm):
        raise RefusedReadings(
            "Readings of the core differ by more than a tenth: take it where the film lies, in mm, and the "
            "diameter each time."
        )
    calliper = Component(
        "calliper", half / 1e3 / math.sqrt(3), note=_CALLIPER, source="as told", mark="practice"
    )
    if len(diameters_mm) < 2:
        return Measured(middle / 1e3, calliper.u, math.inf, (calliper,))
    mean = mean_of([one / 1e3 for one in diameters_mm])
    return combine(mean.value, [*mean.budget, calliper])


def take_up_told(
    diameters_mm: Sequence[float], told: Mapping[str, Any], *, limit: Bounds | None = None
) -> TakeUp:
    """
    How a spool winds, as it was told; what is missing or None is not known, or the ordinary.

    Parameters
    ----------
    diameters_mm : sequence of float, shape (n,)
        Of the empty core, [mm].
    told : mapping
        `core_within_mm`, `roll_name`, `length_m`, `pitch_mm`, `thickness_mm`, `thickness_within_mm`,
        `drive_turns`, `counted`.
    limit : Bounds, optional
        The workshop's own of the slip at the first frame, [turns].

    Returns
    -------
    take_up : TakeUp

    Raises
    ------
    RefusedReadings
        If something cannot be.
    """
    thickness_mm, within_mm = told.get("thickness_mm"), told.get("thickness_within_mm")
    thick = None
    if thickness_mm is not None:
        half = 0.005 if within_mm is None else within_mm
        if not (math.isfinite(thickness_mm) and math.isfinite(half) and half > 0):
            raise RefusedReadings(
                "A thickness in mm and how well it is known, above zero, are wanted.", "thickness_mm"
            )
        thick = Measured(thickness_mm / 1e3, half / 1e3 / math.sqrt(3))
    return take_up(
        core_of(diameters_mm, told.get("core_within_mm")),
        _film(told),
        thick=thick,
        drive_turns=told.get("drive_turns"),
        counted=told.get("counted"),
        limit=limit,
    )


def _film(told: Mapping[str, Any]) -> Roll:
    film = roll(told.get("roll_name") or _ROLL)
    pitch_mm, length_m = told.get("pitch_mm"), told.get("length_m")
    if pitch_mm is not None:
        if not 5 <= pitch_mm <= 120:
            raise RefusedReadings("Frames are some 19 to 100 mm apart, such as 38.", "pitch_mm")
        film = replace(film, pitch_m=pitch_mm / 1e3)
    if length_m is not None:
        if not 0.2 <= length_m <= 40:
            raise RefusedReadings("Film is some metres long. Give it in metres, such as 1.6.", "length_m")
        frames = int((length_m - film.lead_m - film.tail_m) / film.pitch_m)
        film = replace(
            film, length=Measured(length_m, 0.002), frames=frames, source="as told", mark="practice"
        )
    return film


def friction_told(
    forces_n: Sequence[float],
    told: Mapping[str, Any],
    *,
    spool_m: tuple[float, float] | None = None,
    limit: Bounds | None = None,
) -> Friction:
    """
    How hard something turns, as it was told.

    Parameters
    ----------
    forces_n : sequence of float, shape (n,)
        [N]
    told : mapping
        `radius_mm`; `what` it is, for a limit: one of `friction.limits`, or None or `CLUTCH` for a clutch.
    spool_m : (float, float), optional
        Diameters of the spool empty and full, for a clutch; where not given, `core_mm` and `full_mm` as told,
        [m].
    limit : Bounds, optional
        The workshop's own for it, [N m]; that of the table if not given.

    Returns
    -------
    friction : Friction

    Raises
    ------
    RefusedReadings
        If something cannot be.
    """
    radius_mm = told.get("radius_mm")
    if radius_mm is None:
        raise RefusedReadings("Tell the radius at which the thread pulls, in mm, such as 12.", "radius_mm")
    what = told.get("what")
    if what not in (None, "", CLUTCH):
        return friction(forces_n, radius_mm / 1e3, limit=limit or limit_of(what))
    core_mm, full_mm = told.get("core_mm"), told.get("full_mm")
    if spool_m is None and core_mm is not None and full_mm is not None:
        if not 2 <= core_mm < full_mm <= 100:
            raise RefusedReadings(
                "An empty spool is thinner than a full one; both are diameters in mm, such as 14 and 21.",
                "core_mm",
            )
        spool_m = (core_mm / 1e3, full_mm / 1e3)
    return friction(forces_n, radius_mm / 1e3, spool_m=spool_m)
