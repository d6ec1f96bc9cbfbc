"""
Register by depth gauge: flange to film rails or pressure plate, at several points.

The gauge stands on the flange (or a flat bar of known thickness on it) and reads down to the rails, or to the
plate pressed on by the closed back. The mean is the register; a plane through the points is the tilt. Between
plate and rails is the film's channel: film is thinner than it is deep and floats in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pegwood.instruments.focus._figures import FocusLimits, default_limits, register_limit, sourced
from pegwood.instruments.focus.tilt import Place, Plane, Shim, fit_plane, shims_under
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["DepthReading", "Gauge", "Register", "RegisterResult", "measure_register"]

Surface = Literal["rails", "plate"]


@dataclass(frozen=True)
class Gauge:
    """
    A depth gauge.

    Parameters
    ----------
    error_m : float
        Largest error its maker or its check allows, to either side, [m].
    step_m : float
        Smallest step it shows, [m].
    bar_m : float
        Thickness of the bar or plate it stands on, to be taken off, [m].
    """

    error_m: float = 10e-6
    step_m: float = 10e-6
    bar_m: float = 0.0


@dataclass(frozen=True)
class DepthReading:
    """One reading: where [m], what to, and the depth shown [m]."""

    place: Place
    depth_m: float
    to: Surface = "rails"


@dataclass(frozen=True)
class Register:
    """
    Distance to one surface.

    Parameters
    ----------
    to : "rails" or "plate"
    distance : Measured
        Flange to surface, mean of the points, [m].
    points : tuple of (place, Measured, int)
        Place [m], mean [m] and number of readings of each.
    plane : Plane or None
        None where points do not tell a tilt; `why_no_plane` says why.
    why_no_plane : str
    """

    to: Surface
    distance: Measured
    points: tuple[tuple[Place, Measured, int], ...]
    plane: Plane | None
    why_no_plane: str = ""


@dataclass(frozen=True)
class RegisterResult:
    """
    What a depth gauge's readings tell.

    Parameters
    ----------
    surfaces : tuple of Register
    channel : Measured or None
        Plate less rails, [m].
    film_float : Measured or None
        Channel less the film's thickness, [m].
    error : Measured or None
        Distance less nominal, [m].
    limit, channel_limit : Bounds or None
    verdict, channel_verdict : str
    shims : tuple of Shim
    advice, warnings, notes : tuple of str
    """

    surfaces: tuple[Register, ...]
    channel: Measured | None
    film_float: Measured | None
    error: Measured | None
    limit: Bounds | None
    channel_limit: Bounds | None
    verdict: Verdict
    channel_verdict: Verdict
    shims: tuple[Shim, ...]
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


def measure_register(
    readings: Sequence[DepthReading],
    gauge: Gauge,
    nominal_m: float | None = None,
    screws: Sequence[Place] = (),
    limit_m: float | None = None,
    limits: FocusLimits | None = None,
) -> RegisterResult:
    """
    Reckon a depth gauge's readings.

    Parameters
    ----------
    readings : sequence of DepthReading
        Several at each of several points.
    gauge : Gauge
    nominal_m : float, optional
        What the register should be, to the first surface read (the rails if they were read), [m].
    screws : sequence of (x, y)
        Of the mount, [m]; three, for the shims.
    limit_m : float, optional
        How far it may be off, [m]; the workshop's if not given.
    limits : FocusLimits, optional
        The workshop's; those that come with Pegwood if not given.

    Returns
    -------
    result : RegisterResult

    Raises
    ------
    RefusedReadings
        If there are too few readings, or some cannot be depths.
    """
    _check(readings, gauge, nominal_m)
    surfaces = tuple(
        _register([one for one in readings if one.to == to], gauge, to)
        for to in ("rails", "plate")
        if any(one.to == to for one in readings)
    )
    warnings = [
        f"Tilt to the {one.to} is not told: {one.why_no_plane}" for one in surfaces if one.plane is None
    ]
    first = surfaces[0]
    error, limit = None, None
    if nominal_m is None:
        warnings.append("No nominal register is given, so there is no error: tell the nominal one.")
    else:
        limit = register_limit(limit_m, limits)
        error = combine(first.distance.value - nominal_m, first.distance.budget)
    channel = film_float = None
    channel_limit: Bounds | None = None
    if len(surfaces) == 2:
        channel, film_float = _channel(surfaces[0], surfaces[1])
        channel_limit = (limits or default_limits()).channel
    shims: tuple[Shim, ...] = ()
    if screws:
        if first.plane is None:
            warnings.append("Without a tilt there are no shims.")
        else:
            # where the way to the film is too long the mount has to come down: the sign turns round
            shims = tuple(
                Shim(one.place, one.change.scaled(-1), one.add)
                for one in _turned(shims_under(first.plane, screws), first.plane, screws)
            )
    judged = verdict(error, limit)
    return RegisterResult(
        surfaces,
        channel,
        film_float,
        error,
        limit,
        channel_limit,
        judged,
        verdict(channel, channel_limit),
        shims,
        _advice(error, judged, first),
        tuple(warnings),
        (
            "Film lies between rails and plate and floats there; a register is told to one of them and not "
            "to film.",
            "Places as seen from behind the camera: x to the right, y up.",
        ),
    )


def _check(readings: Sequence[DepthReading], gauge: Gauge, nominal_m: float | None) -> None:
    if len(readings) < 2:
        raise RefusedReadings(
            f"{len(readings)} reading tells no spread. Read each of several points at least twice, lifting "
            "the gauge in between."
        )
    for one in readings:
        if not (math.isfinite(one.depth_m) and one.depth_m > gauge.bar_m):
            raise RefusedReadings(
                f"A depth of {1e3 * one.depth_m:g} mm is not more than the bar's {1e3 * gauge.bar_m:g} mm. "
                "Give depths as the gauge shows them, in mm."
            )
        if nominal_m is not None and abs(one.depth_m - gauge.bar_m - nominal_m) > 0.1 * nominal_m:
            raise RefusedReadings(
                f"A depth of {1e3 * (one.depth_m - gauge.bar_m):g} mm is not near the nominal "
                f"{1e3 * nominal_m:g} mm. Are the units mixed up, or is the bar's thickness missing?"
            )
    if nominal_m is not None and not (math.isfinite(nominal_m) and nominal_m > 0):
        raise RefusedReadings(f"A nominal register must be above zero, not {1e3 * nominal_m:g} mm.")


def _register(readings: Sequence[DepthReading], gauge: Gauge, to: Surface) -> Register:
    places = list(dict.fromkeys(one.place for one in readings))
    groups = [[one.depth_m - gauge.bar_m for one in readings if one.place == place] for place in places]
    df = sum(len(one) - 1 for one in groups)
    if df < 1:
        raise RefusedReadings(
            f"Each point to the {to} was read once, which tells no spread. Read each at least twice, "
            "lifting the gauge in between."
        )
    spread = math.sqrt(sum(float(np.var(one)) * len(one) for one in groups) / df)
    step = gauge.step_m / math.sqrt(12)
    means = []
    for one in groups:
        means.append(
            combine(
                float(np.mean(one)),
                [
                    Component(
                        "repeatability", spread / math.sqrt(len(one)), df, "A", f"{df} degrees of freedom"
                    ),
                    Component("gauge's step", step / math.sqrt(len(one)), note="rectangular"),
                ],
            )
        )
    plane, why = None, ""
    try:
        plane = fit_plane(places, means)
    except RefusedReadings as error:
        why = str(error)
    heights = np.array([one.value for one in means])
    n = len(readings)
    parts = [
        Component("repeatability", spread / math.sqrt(n), df, "A", f"{n} readings at {len(places)} points"),
        Component("gauge's step", step / math.sqrt(n), note="rectangular"),
        Component("gauge", gauge.error_m / math.sqrt(3), note="largest error allowed, rectangular"),
    ]
    left = heights if plane is None else np.array(plane.residuals)
    lost = 1 if plane is None else 3
    if len(places) > lost:
        uneven = math.sqrt(
            float((left**2).sum() if plane else ((left - left.mean()) ** 2).sum()) / (len(places) - lost)
        )
        own = math.sqrt(float(np.mean([one.u**2 for one in means])))
        beyond = math.sqrt(max(uneven**2 - own**2, 0.0) / len(places))
        parts.append(
            Component(
                "unevenness",
                beyond,
                len(places) - lost,
                "A",
                "points about their plane, beyond repeatability",
            )
        )
    return Register(
        to,
        combine(float(np.mean(heights)), parts),
        tuple((place, mean, len(group)) for place, mean, group in zip(places, means, groups, strict=True)),
        plane,
        why,
    )


def _channel(rails: Register, plate: Register) -> tuple[Measured, Measured]:
    """Plate less rails: the gauge's own error is in both and goes out."""
    parts = [
        Component(f"{one.to}: {c.name}", c.u, c.df, c.kind, c.note)
        for one in (rails, plate)
        for c in one.distance.budget
        if c.name != "gauge"
    ]
    channel = combine(plate.distance.value - rails.distance.value, parts)
    film = sourced("film")
    thick, thin = film.values["thickest"], film.values["thinnest"]
    rest = combine(
        channel.value - (thick + thin) / 2,
        [
            *parts,
            Component(
                "film's thickness",
                (thick - thin) / 2 / math.sqrt(3),
                note="rectangular",
                source=film.source,
                mark=film.mark,
            ),
        ],
    )
    return channel, rest


def _turned(shims: Sequence[Shim], plane: Plane, screws: Sequence[Place]) -> tuple[Shim, ...]:
    """`add` counted from the screw where the way is longest, since shims here make it longer."""
    highest = max(screws, key=lambda one: float(np.dot(plane.slopes, one)))
    return tuple(Shim(one.place, one.change, plane.difference(highest, one.place)) for one in shims)


def _advice(error: Measured | None, judged: Verdict, first: Register) -> tuple[str, ...]:
    said = []
    if error is not None and judged == "within":
        said.append("Leave the shims of the mount as they are.")
    elif error is not None:
        low, high = error.coverage_interval()
        if low <= 0 <= high:
            said.append("Read more points, more often: the error is not larger than its uncertainty.")
        else:
            way = "thinner" if error.value > 0 else "thicker"
            said.append(
                f"Make the shims of the mount {1e3 * abs(error.value):.3f} mm {way}, measured to the "
                f"{first.to}."
            )
    return tuple(said)
