"""One sensor moved across the gate between firings: exposure at each place, nothing that needs one clock."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from pegwood.instruments.shutter._figure import taper
from pegwood.instruments.shutter._passing import RefusedCurtains
from pegwood.instruments.shutter.curtains import Curtains, Place
from pegwood.instruments.shutter.results import ShutterResult
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["compare_places"]

_NO_CLOCK = (
    "firings at different places have no clock in common: use two or three sensors at once, one channel each"
)
_METHOD = (
    "One sensor moved along the travel between firings: each place has firings of its own, so how much "
    "firings differ "
    "among themselves is in every figure, pooled over the places in EV. The setting must not have been "
    "touched in "
    "between. Less certain than sensors fired together."
)


def compare_places(readings: Sequence[tuple[float, ShutterResult]]) -> Curtains:
    """
    Exposure along the travel from one sensor that was moved between firings.

    Parameters
    ----------
    readings : sequence of (float, ShutterResult)
        For each place its distance along the travel, [m], rising, and the result of at least two firings
        there.

    Returns
    -------
    curtains : Curtains
        Exposure at each place and taper; what needs one clock is withheld with the reason.

    Raises
    ------
    RefusedCurtains
        If there are fewer than two places, they do not rise, or a place has fewer than two firings or more
        than one sensor.
    """
    _check(readings)
    values = [[shot.effective.value for shot in result.shots] for _, result in readings]
    scatter, df = _pooled(values)
    places = [Place(at, None, _with_scatter(result, scatter, df)) for at, result in readings]
    exposures = [place.effective for place in places if place.effective is not None]
    low = min(range(len(exposures)), key=lambda i: exposures[i].value)
    high = max(range(len(exposures)), key=lambda i: exposures[i].value)
    return Curtains(
        method=_METHOD,
        places=tuple(places),
        n=sum(map(len, values)),
        taper=taper(exposures[0], exposures[-1]),
        unevenness=taper(exposures[low], exposures[high]) if low != high else None,
        withheld={
            "travel": _NO_CLOCK,
            "slit": _NO_CLOCK,
            "flash": _NO_CLOCK,
            "capping": "a sensor that is moved sees a capped firing as no firing at all",
        },
        warnings=("One sensor moved between firings: less certain than sensors fired together.",),
    )


def _check(readings: Sequence[tuple[float, ShutterResult]]) -> None:
    places = [at for at, _ in readings]
    if len(places) < 2:
        raise RefusedCurtains("A sensor that is moved needs at least two places: --at 0 FILE --at 18 FILE")
    if not all(a < b for a, b in itertools.pairwise(places)) or not (places[0] >= 0 and places[-1] <= 0.3):
        shown = ", ".join(f"{1e3 * x:g}" for x in places)
        raise RefusedCurtains(f"The places must rise along the travel, in mm and from 0 or more; not {shown}")
    for at, result in readings:
        where = f"{result.file} at {1e3 * at:g} mm"
        if len({shot.channel for shot in result.shots}) > 1:
            raise RefusedCurtains(
                f"{where}: more than one channel saw light. Give --sensors for sensors at once"
            )
        if not result.shots:
            raise RefusedCurtains(
                f"{where}: no firing found. Either the second curtain has caught the first there (capping), "
                "or the "
                "sensor did not see its lamp: fire once at a slower speed to tell"
            )
        if len(result.shots) < 2:
            raise RefusedCurtains(
                f"{where}: one firing only. At least two at each place tell how much firings differ; better "
                "five"
            )


def _pooled(values: list[list[float]]) -> tuple[float, float]:
    """Standard deviation of the logarithm of the time from firing to firing, and its degrees of freedom."""
    total, df = 0.0, 0
    for row in values:
        logs = [math.log(v) for v in row]
        mean = sum(logs) / len(logs)
        total += sum((x - mean) ** 2 for x in logs)
        df += len(logs) - 1
    return math.sqrt(total / df), float(df)


def _with_scatter(result: ShutterResult, scatter: float, df: float) -> Measured:
    """Mean at one place, its scatter taken from the firings at all places."""
    found = result.summary.effective
    assert found is not None, "checked: there are firings"
    n = len(result.shots)
    own = (
        math.sqrt(
            sum(c.u**2 for s in result.shots for c in s.effective.budget if c.name in ("noise", "sampling"))
        )
        / n
    )
    note = f"scatter of the firings at all places, for {n} firings at this one"
    parts = [
        Component("repeatability", max(found.value * scatter / math.sqrt(n), own), df, "A", note),
        *(c for c in found.budget if c.name != "repeatability"),
    ]
    return combine(found.value, parts)
