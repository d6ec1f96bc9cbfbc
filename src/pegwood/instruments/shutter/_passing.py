"""Which light at which sensor belongs to one firing, and where the second curtain caught the first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from pegwood.instruments.shutter._flicker import FLICKERS
from pegwood.instruments.shutter.results import Shot, ShutterResult
from pegwood.instruments.uncertainty import Measured

__all__ = ["Capping", "Passing", "RefusedCurtains", "capping", "passings"]

Capping = Literal["found", "not found", "cannot tell"]

_ACROSS_S = (
    0.25  # no curtain takes longer over a gate, from memory: the slowest roller blinds take about 0.1 s
)
_MUCH_LESS = 0.25  # of the light at the sensor before: two stops, the house's choice
_FASTEST_M_S = 50.0  # several times any curtain's speed: faster is no curtain


class RefusedCurtains(ValueError):
    """Curtains that can't be told; the message is one line that says what is wrong and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(" ".join(message.split()))


@dataclass(frozen=True)
class Passing:
    """
    One firing as the sensors across the gate saw it.

    Parameters
    ----------
    shots : tuple of (Shot or None), shape (n,)
        What each sensor saw, in order of place; None where it saw no light.
    unread : tuple of int
        Sensors at which there was light that could not be measured.
    """

    shots: tuple[Shot | None, ...]
    unread: tuple[int, ...] = ()

    @property
    def at_s(self) -> float:
        """First light at any sensor, from the start of the recording, [s]."""
        return min(shot.at_s for shot in self.shots if shot is not None)

    @property
    def seen(self) -> tuple[Shot, ...]:
        """What the sensors saw that saw anything."""
        return tuple(shot for shot in self.shots if shot is not None)

    @property
    def is_whole(self) -> bool:
        """Whether every sensor saw it."""
        return None not in self.shots

    @property
    def moments(self) -> tuple[tuple[Measured, ...], tuple[Measured, ...]] | None:
        """
        When each curtain passed each sensor, on the recording's clock, [s]; None where one is not known.
        """
        first = tuple(s.half_open for s in self.seen if s.half_open is not None)
        second = tuple(s.half_closed for s in self.seen if s.half_closed is not None)
        return (first, second) if len(first) == len(second) == len(self.shots) else None

    @property
    def is_timed(self) -> bool:
        """Whether every sensor tells when each curtain passed, one sensor after the other."""
        return self.moments is not None and all(
            a.value < b.value for moments in self.moments for a, b in pairwise(moments)
        )


def passings(result: ShutterResult, places_m: Sequence[float]) -> list[Passing]:
    """
    Sort the shots of a recording by firing and sensor.

    Parameters
    ----------
    result : ShutterResult
        One channel for each sensor.
    places_m : sequence of float, shape (n,)
        Where each sensor sits along the travel, rising, [m].

    Returns
    -------
    firings : list of Passing
        In order of time.

    Raises
    ------
    RefusedCurtains
        If the channels do not fit the places, or what they hold can't come from curtains running past them.
    """
    _check_channels(result, places_m)
    groups: list[dict[int, Shot]] = []
    for shot in result.shots:  # in order of time
        last = groups[-1] if groups else None
        if last and shot.channel not in last and shot.at_s - _first_light(last) < _ACROSS_S:
            last[shot.channel] = shot
        else:
            groups.append({shot.channel: shot})
    found = [
        Passing(tuple(group.get(i) for i in range(len(places_m))), _unread_near(result, _first_light(group)))
        for group in groups
    ]
    _check_sensors(result, found, places_m)
    _check_direction(found, places_m)
    return found


def capping(firing: Passing, firings: Sequence[Passing], places_m: Sequence[float]) -> tuple[Capping, int]:
    """
    Whether the second curtain caught the first: no light at a later sensor, or much less than before it.

    Parameters
    ----------
    firing : Passing
        The firing.
    firings : sequence of Passing
        All firings of the recording: a sensor that saw light in any of them works.
    places_m : sequence of float, shape (n,)
        Where each sensor sits along the travel, rising, [m].

    Returns
    -------
    answer : "found", "not found" or "cannot tell"
        "cannot tell" where a sensor saw nothing and may be blind (a later one saw light, or it never does),
        or its light could not be measured.
    sensor : int
        The first sensor without its light; the number of sensors where there is none.
    """
    times = [None if shot is None else shot.effective.value for shot in firing.shots]
    for i, here in enumerate(times):
        before = times[i - 1] if i else None
        if here is not None:
            if before is not None and here < _MUCH_LESS * before:
                return "found", i
            continue
        if i in firing.unread or before is None or any(times[i + 1 :]):
            return "cannot tell", i
        works = any(other.shots[i] is not None for other in firings)
        return ("found" if works or _runs_out(times[:i], places_m) else "cannot tell"), i
    return "not found", len(times)


def _runs_out(times: Sequence[float | None], places_m: Sequence[float]) -> bool:
    """Whether the light falls so fast over the last two of these sensors that little is left at the next."""
    i = len(times)
    if i < 2 or times[i - 1] is None or times[i - 2] is None:
        return False
    x, (before, last) = places_m, (float(t) for t in times[i - 2 :] if t is not None)
    left = last + (last - before) * (x[i] - x[i - 1]) / (x[i - 1] - x[i - 2])
    return left < _MUCH_LESS * before


def _first_light(group: dict[int, Shot]) -> float:
    return min(shot.at_s for shot in group.values())


def _unread_near(result: ShutterResult, at_s: float) -> tuple[int, ...]:
    near = {channel for channel, at, _ in result.unread if abs(at - at_s) < _ACROSS_S}
    return tuple(sorted(near))


def _check_channels(result: ShutterResult, places_m: Sequence[float]) -> None:
    n, wanted = result.n_channels, len(places_m)
    if n != wanted:
        raise RefusedCurtains(
            f"{wanted} places were given and the recording has {n} channel{'s' if n > 1 else ''}: "
            "give one place for each channel, in their order"
        )
    for channel, why in result.left_out:
        if why == "copy":
            raise RefusedCurtains(
                f"Channel {channel} is a copy of another channel: each sensor needs a channel of its own"
            )


def _check_sensors(result: ShutterResult, found: list[Passing], places_m: Sequence[float]) -> None:
    """Refuse what no curtain explains: dark at a sensor while a later one sees light."""
    n = len(places_m)
    lit = [any(firing.shots[i] is not None for firing in found) for i in range(n)]
    for i in range(n):
        if lit[i] or not found:
            continue
        where = f"channel {i} ({_mm(places_m[i])})"
        if why := [reason for channel, _, reason in result.unread if channel == i]:
            alike = ". A slit narrower than the sensor's window looks alike: make the window narrower"
            raise RefusedCurtains(
                f"The light in {where} could not be measured: {why[0]}{alike if FLICKERS in why[0] else ''}"
            )
        if result.coupling == "AC":
            raise RefusedCurtains(
                f"The light in {where} sags: that input is AC-coupled. Use a DC-coupled one"
            )
        if any(lit[i + 1 :]):
            raise RefusedCurtains(
                f"No light in {where}, though a later sensor sees it: check the sensor, lamp and plug"
            )


def _check_direction(found: list[Passing], places_m: Sequence[float]) -> None:
    """Both curtains pass the places in their order, at a speed that a curtain can have."""
    for curtain, name in enumerate(("first", "second")):
        ways = [way for firing in found for way in _ways(firing, curtain, places_m)]
        if 2 * sum(abs(time) < way / _FASTEST_M_S for way, time in ways) > len(ways):
            raise RefusedCurtains(
                f"All sensors see the {name} curtain at once: no curtain runs past them. Measure across the "
                "gate of focal-plane shutters only, give the places in mm, and leave the lamp on"
            )
        if 2 * sum(time < 0 for _, time in ways) > len(ways):
            raise RefusedCurtains(
                f"The {name} curtain reaches the later places first: measure the places from the side from "
                "which the curtains start, channel 0 nearest to it"
            )


def _ways(firing: Passing, curtain: int, places_m: Sequence[float]) -> list[tuple[float, float]]:
    """From sensor to sensor: the way, [m], and the time the curtain took for it, [s]."""
    passed = [
        (place, moment.value)
        for place, shot in zip(places_m, firing.shots, strict=True)
        if shot and (moment := (shot.half_open, shot.half_closed)[curtain])
    ]
    return [(x_2 - x_1, t_2 - t_1) for (x_1, t_1), (x_2, t_2) in pairwise(passed)]


def _mm(place_m: float) -> str:
    return f"{1e3 * place_m:g} mm"
