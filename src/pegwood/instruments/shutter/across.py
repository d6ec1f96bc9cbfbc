"""
Focal-plane shutters: two or three sensors across the gate time both curtains.

A curtain passes a place when the light there crosses half of its full-open level: there its edge stands
before the middle of the sensor, however wide sensor and shadow are. Travel times are the distances of those
moments on one clock. Between the sensors a curtain runs at uniform speed (two sensors) or at uniform
acceleration (three); the width of the slit is what then lies between both curtains while the slit's middle
passes, which for two curtains of the same acceleration is exactly the mean of their speeds there times the
time open (elementary kinematics).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._figure import mean_over_firings, taper, timed
from pegwood.instruments.shutter._group import summarise
from pegwood.instruments.shutter._kinematics import Run, as_runs, slit_efficiency
from pegwood.instruments.shutter._passing import Capping, Passing, capping, passings
from pegwood.instruments.shutter.curtains import Curtains, Firing, Flash, Place, Sensors
from pegwood.instruments.shutter.marked import SERIES, MarkedSpeed
from pegwood.instruments.shutter.results import ShutterResult
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["with_curtains"]

_SUMMARY = "The summary takes every firing as the mean over its places."
_NO_SUMMARY = "No time stands for the whole gate: some of it got no light."
_GAP_U_M = 0.1e-3 / 3**0.5
_UNLIKE = 0.08  # widths of one kind differ by less, over their mean
_SLIT_OVER_SENSOR = 1.1  # narrower than this, slit and sensor can't be told apart


def with_curtains(result: ShutterResult, sensors: Sensors) -> ShutterResult:
    """
    A result of `analyse` with what its channels, taken as sensors across the gate, say of both curtains.

    The summary becomes that of the firings that every sensor saw, each as the mean over the places; where the
    second curtain caught the first, it is empty.

    Parameters
    ----------
    result : ShutterResult
        One channel for each sensor, sampled at the same moments.
    sensors : Sensors
        Where they sit.

    Returns
    -------
    result : ShutterResult
        With `curtains`; without, where no firing was found at all.

    Raises
    ------
    RefusedCurtains
        If the channels do not fit the places, or what they hold can't come from curtains running past them.
    """
    firings = passings(result, sensors.places_m)
    if not firings:
        return result
    curtains = _curtains(firings, sensors)
    # a gate that is dark in part has no one time; nor may a slower firing beside it stand for this speed
    whole = [firing.seen for firing in firings if firing.is_whole] if curtains.capping != "found" else []
    return replace(
        result,
        summary=summarise(whole, result.marked_s, result.summary.limit),
        curtains=curtains,
        notes=(*result.notes, _SUMMARY if whole else _NO_SUMMARY),
        warnings=(*_without_dark_channels(result), *curtains.warnings),
    )


def _without_dark_channels(result: ShutterResult) -> tuple[str, ...]:
    """Warnings that hold for sensors too: a trace of light is told as capping, not as crosstalk."""
    traces = tuple(
        f"Channel {channel} holds only a trace" for channel, why in result.left_out if why == "trace"
    )
    return tuple(w for w in result.warnings if not (traces and w.startswith(traces)))


def _curtains(firings: list[Passing], sensors: Sensors) -> Curtains:
    places, n = sensors.places_m, len(sensors.places_m)
    answers = [capping(firing, firings, places) for firing in firings]
    whole = [firing for firing in firings if firing.is_whole]
    times = [firing for firing in whole if firing.is_timed]
    narrow = _narrow(times, sensors)
    if narrow:
        times = []
    withheld, warnings = _withheld(whole, times, narrow), _capping_words(firings, answers, places)
    if narrow:
        warnings.append(narrow[0].upper() + narrow[1:] + ".")

    def over(function: Callable[[Run, Run], float], place_u_m: float = sensors.place_u_m) -> Measured | None:
        if not times:
            return None
        return mean_over_firings([timed(function, firing, places, place_u_m) for firing in times])

    tapers = [_taper(firing) for firing in whole]
    exposures = [_exposure(whole or firings, i) for i in range(n)]
    flash = _flash(times, sensors) if times else None
    if times and flash is None:
        withheld["flash"] = "the run of a curtain past the sensors does not lead to the ends of the gate"
    found = [_place_of(i, exposures[i], sensors, over, flash) for i in range(n)]
    if flash and flash.wholly_open.value > 0:
        withheld["slit"] = "the second curtain starts after the first is across: the gate stands wholly open"
    if sensors.shadow_m is None:
        withheld["slit_efficiency"] = "needs the distance from curtain to film and the stop"
    return Curtains(
        method=_method(sensors, times, found),
        places=tuple(found),
        n=len(whole),
        first_travel=over(_travel_of_first),
        second_travel=over(_travel_of_second),
        taper=mean_over_firings(tapers) if tapers else None,
        unevenness=_unevenness(whole),
        capping=_over_all([answer for answer, _ in answers]),
        capped=tuple(
            (firing.at_s, places[i])
            for firing, (answer, i) in zip(firings, answers, strict=True)
            if answer == "found"
        ),
        flash=flash,
        shadow_m=sensors.shadow_m,
        firings=tuple(
            _firing_of(firing, answer, places) for firing, (answer, _) in zip(firings, answers, strict=True)
        ),
        withheld=withheld,
        warnings=tuple(warnings),
    )


def _travel_of_first(first: Run, _: Run) -> float:
    return first.times_s[-1] - first.times_s[0]


def _travel_of_second(_: Run, second: Run) -> float:
    return second.times_s[-1] - second.times_s[0]


def _taper(firing: Passing) -> Measured:
    seen = firing.seen
    return taper(seen[0].effective, seen[-1].effective)


def _unevenness(whole: list[Passing]) -> Measured | None:
    """The most exposed place against the least, by the means over the firings."""
    if not whole:
        return None
    n = len(whole[0].shots)
    means = [sum(firing.seen[i].effective.value for firing in whole) for i in range(n)]
    least, most = means.index(min(means)), means.index(max(means))
    if least == most:
        return None
    return mean_over_firings([taper(f.seen[least].effective, f.seen[most].effective) for f in whole])


def _exposure(firings: list[Passing], i: int) -> Measured | None:
    seen = [shot.effective for firing in firings if (shot := firing.shots[i]) is not None]
    return mean_over_firings(seen) if seen else None


def _firing_of(firing: Passing, answer: Capping, places: Sequence[float]) -> Firing:
    return Firing(
        at_s=firing.at_s,
        first_travel=timed(_travel_of_first, firing, places, 0.0) if firing.is_timed else None,
        second_travel=timed(_travel_of_second, firing, places, 0.0) if firing.is_timed else None,
        taper=_taper(firing) if firing.is_whole else None,
        capping=answer,
    )


def _place_of(
    i: int,
    exposure: Measured | None,
    sensors: Sensors,
    over: Callable[[Callable[[Run, Run], float]], Measured | None],
    flash: Flash | None,
) -> Place:
    def slit(first: Run, second: Run) -> float:
        opened, closed = first.times_s[i], second.times_s[i]
        return 0.5 * (first.speed(opened) + second.speed(closed)) * (closed - opened)

    width = over(slit)
    shadow = sensors.shadow_m
    return Place(
        at_m=sensors.places_m[i],
        channel=i,
        effective=exposure,
        first_speed=over(lambda first, _: first.speed(first.times_s[i])),
        second_speed=over(lambda _, second: second.speed(second.times_s[i])),
        slit=width if flash is not None and flash.wholly_open.value <= 0 else None,
        # behind a gate that stands wholly open, too, each point is opened and closed by soft edges
        slit_efficiency=None if width is None or shadow is None else _efficiency(width, shadow, sensors),
        opens=over(lambda first, _: first.times_s[i] - first.times_s[0]),
        closes=over(lambda first, second: second.times_s[i] - first.times_s[0]),
    )


def _efficiency(slit: Measured, shadow_m: float, sensors: Sensors) -> Measured | None:
    if slit.value <= 0 or sensors.f_number is None:
        return None
    value = slit_efficiency(slit.value, shadow_m)
    by_slit = value * (1 - value) / slit.value
    by_gap = value / (slit.value + shadow_m) / sensors.f_number
    return combine(
        value,
        [
            Component("width of the slit", by_slit * slit.u, slit.df, "B", "curtain speed times time open"),
            Component(
                "distance from curtain to film",
                by_gap * _GAP_U_M,
                note="within ± 0.1 mm; the stop is taken as it is given",
                source="Workshop's assumption",
                mark="practice",
            ),
        ],
    )


def _flash(times: list[Passing], sensors: Sensors) -> Flash | None:
    start, end = sensors.ends_m

    def over(function: Callable[[Run, Run], float]) -> Measured:
        return mean_over_firings([timed(function, f, sensors.places_m, sensors.place_u_m) for f in times])

    try:
        shortest = over(lambda a, _: a.time_at(end) - a.time_at(start))
        wholly = over(lambda a, b: b.time_at(start) - a.time_at(end))
        across = over(lambda a, _: a.time_at(end) - a.times_s[0])
        starts = over(lambda a, b: b.time_at(start) - a.times_s[0])
    except ValueError:
        return None
    low, high = wholly.coverage_interval()
    return Flash(
        shortest=shortest,
        marked=_fastest_marking(shortest.coverage_interval()[1]),
        wholly_open=wholly,
        covers="yes" if low > 0 else "no" if high < 0 else "too close to call",
        across=across,
        starts=starts,
    )


def _fastest_marking(longer_than_s: float) -> str | None:
    fitting = [
        (seconds, text)
        for text in SERIES["doubling"].exact_s
        if (seconds := MarkedSpeed.parse(text).seconds() or 0.0) > longer_than_s
    ]
    return min(fitting)[1] if fitting else None


def _narrow(times: list[Passing], sensors: Sensors) -> str:
    """Why moments can't be trusted: a slit narrower than the sensors' windows changes places with them."""
    if not times:
        return ""
    slits, edges, doubts, noise = np.mean([_widths(firing, sensors) for firing in times], axis=0)
    if slits.min() > sensors.places_m[-1] - sensors.places_m[0]:
        return ""  # wholly open
    if sensors.sensor_m is not None:
        window = sensors.sensor_m
        if slits.min() > _SLIT_OVER_SENSOR * window and (edges + 2 * doubts).min() > 0.9 * window:
            return ""
        return (
            f"the slit is no wider than the sensor's window of {1e3 * window:g} mm, so neither it nor the "
            "exposure can be told: put a narrower window before the sensor"
        )
    # windows are alike at all places: where it is the edges that differ, they are the slit
    if len(slits) < 3 or _unlike(edges) < _unlike(slits) + _UNLIKE + 4 * float((noise / edges).max()):
        return ""
    return (
        "the windows of the sensors seem wider than the slit, so neither it nor exposure can be told: put "
        "a narrower window before each sensor"
    )


def _widths(firing: Passing, sensors: Sensors) -> list[list[float]]:
    """At each place speed times the time open, the time of an edge, all its doubt and that by noise, [m]."""
    moments = firing.moments
    assert moments is not None, "only firings of which every moment is known are timed"
    opened, closed = ([m.value - moments[0][0].value for m in row] for row in moments)
    first, second = as_runs(opened, closed, sensors.places_m)
    rows = []
    for a, b, shot in zip(opened, closed, firing.seen, strict=True):
        speed = 0.5 * (first.speed(a) + second.speed(b))
        edges = [edge for edge in (shot.opening, shot.closing) if edge is not None]
        noise = [c.u for edge in edges for c in edge.budget if c.name == "fit of the edge"]
        mean = sum(edge.value for edge in edges) / len(edges)
        rows.append([speed * x for x in (b - a, mean, max(edge.u for edge in edges), max(noise))])
    return [list(column) for column in zip(*rows, strict=True)]


def _unlike(widths: NDArray[np.float64]) -> float:
    """How much widths differ, over their mean, [-]."""
    return float(np.ptp(widths) / np.mean(widths))


def _withheld(whole: list[Passing], times: list[Passing], narrow: str) -> dict[str, str]:
    if not whole:
        why = "no firing gave light at every sensor"
        return {"travel": why, "taper": why, "flash": why}
    if narrow:
        return {"travel": narrow, "slit": narrow, "flash": narrow}
    if not times:
        why = (
            "at a sensor the full-open level was not seen (the slit is narrower than the sensor) or is "
            "clipped: put "
            "a narrower window before it, or turn the gain down"
        )
        return {"travel": why, "slit": why, "flash": why}
    return {}


def _capping_words(
    firings: list[Passing], answers: list[tuple[Capping, int]], places: Sequence[float]
) -> list[str]:
    words = []
    capped = [i for answer, i in answers if answer == "found"]
    if capped:
        words.append(
            f"Capping: in {len(capped)} of {len(firings)} firings the second curtain catches the first "
            "before "
            f"{1e3 * places[min(capped)]:g} mm: no light there, or less than a quarter of that at the sensor "
            "before."
        )
    unsure = [i for answer, i in answers if answer == "cannot tell"]
    if unsure:
        words.append(
            f"In {len(unsure)} of {len(firings)} firings nothing was measured at "
            f"{1e3 * places[min(unsure)]:g} mm: "
            "capping, or a sensor that does not see its lamp. Fire once at a slower speed in the same "
            "recording."
        )
    missing = sum(not firing.is_whole for firing in firings)
    if missing:
        words.append(
            f"{missing} of {len(firings)} firings did not give light at every sensor and are not in the "
            "figures over "
            "the places."
        )
    return words


def _over_all(answers: list[Capping]) -> Capping:
    if "found" in answers:
        return "found"
    return "cannot tell" if "cannot tell" in answers else "not found"


def _method(sensors: Sensors, times: list[Passing], found: list[Place]) -> str:
    words = [
        "A curtain passes a sensor when its light crosses half of the full-open level. Travel times run from "
        "the "
        "first sensor to the last, all channels sampled at the same moments.",
        "Between three sensors each curtain is taken to accelerate evenly."
        if len(sensors.places_m) == 3
        else "Between two sensors each curtain is taken to run evenly.",
        "Slit: mean speed of both curtains at the place, times the time open there.",
    ]
    edges = [place.first_speed.value * opening.value for place, opening in _openings(times, found)]
    if edges and sensors.sensor_m is None and any(place.slit for place in found):
        words.append(
            f"Edges here are as wide as {1e3 * max(edges):.2g} mm: slit and exposure hold if the window of a "
            "sensor is "
            "no wider than that; behind a wider window the slit would be as narrow as that instead."
        )
    words.append(
        "Flash: the first curtain wholly across before the second starts, without the flash's own duration, "
        "the "
        "contact's delay and the shadow of the edges"
        + (
            "; the outermost sensors are taken for the ends of the gate."
            if sensors.gate_m is None
            else f"; the gate runs from 0 to {1e3 * sensors.gate_m:g} mm."
        )
    )
    if sensors.shadow_m is not None:
        words.append(
            f"Shadow of an edge = {1e3 * (sensors.gap_m or 0):g} mm / {sensors.f_number:g}, efficiency of "
            "the slit "
            "w / (w + shadow): geometry, from memory."
        )
    return " ".join(words)


def _openings(times: list[Passing], found: list[Place]) -> list[tuple[Any, Measured]]:
    if not times:
        return []
    pairs = zip(found, times[0].seen, strict=True)
    return [(place, shot.opening) for place, shot in pairs if place.first_speed and shot.opening]
