"""One marked speed as the pattern takes it: from a shutter result as plain data."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pegwood.instruments.shutter._group import SHARED
from pegwood.instruments.uncertainty import Measured

__all__ = ["NoError", "SpeedReading"]

COMMON = ("clock", "coupling")
"""What recordings made on one recorder share, whole and in one direction; all else is drawn anew for each."""


_SHORTEST_S, _LONGEST_S = 1e-6, 1e5
_MOST_EV = 40.0


class NoError(ValueError):
    """A result that says nothing about a marked speed, with the reason."""


@dataclass(frozen=True)
class SpeedReading:
    """
    One recording of one marked speed.

    Parameters
    ----------
    marked : str
        The marking.
    target_s : float
        Time it stands for, [s].
    error : Measured
        log2(measured / target) of the mean of the firings, [EV].
    n : int
        Firings.
    repeat_u_ev : float
        What of the uncertainty is the scatter of the firings, [EV].
    common_u_ev : tuple of (str, float)
        What of it other recordings of the same recorder share, by name, [EV].
    spread_ev : float or None
        Sample standard deviation of the firings, [EV]; None for one.
    first_firing : Measured or None
        First firing against the mean of the others, [EV]; None for fewer than three.
    noise_ev : float
        Noise of one firing, one standard deviation, [EV].
    bounced : int
        Firings that bounced.
    bounce_ev : float
        What a bounce added on average, [EV].
    taper : Measured or None
        Exposure at the last place against the first, [EV].
    capped, watched : int
        Firings that capped, and firings of which that is known.
    recorder : str
        What it was recorded with.

    Raises
    ------
    ValueError
        If a figure can't be.
    """

    marked: str
    target_s: float
    error: Measured
    n: int = 1
    repeat_u_ev: float = 0.0
    common_u_ev: tuple[tuple[str, float], ...] = ()
    spread_ev: float | None = None
    first_firing: Measured | None = None
    noise_ev: float = 0.0
    bounced: int = 0
    bounce_ev: float = 0.0
    taper: Measured | None = None
    capped: int = 0
    watched: int = 0
    recorder: str = ""

    def __post_init__(self) -> None:
        if not _SHORTEST_S <= self.target_s <= _LONGEST_S:
            raise ValueError(f"{self.marked}: {self.target_s!r} s is no marked time of a shutter")
        if self.n < 1 or not 0 <= self.bounced <= self.n or not 0 <= self.capped <= self.watched:
            raise ValueError(f"{self.marked}: it counts firings that can't be")
        for one in (self.error, self.first_firing, self.taper):
            if one is not None and (abs(one.value) > _MOST_EV or one.u > _MOST_EV):
                raise ValueError(
                    f"{self.marked}: {one.value:g} EV, u = {one.u:g} EV is no figure of a shutter"
                )
        for size in (self.spread_ev or 0.0, self.noise_ev, self.bounce_ev, *(u for _, u in self.common_u_ev)):
            if not 0 <= size <= _MOST_EV:
                raise ValueError(f"{self.marked}: a scatter of {size:g} EV is no figure of a shutter")

    @classmethod
    def from_result(cls, result: Mapping[str, Any], recorder: str = "") -> SpeedReading:
        """
        Take what the pattern needs from a result.

        Parameters
        ----------
        result : mapping
            `ShutterResult.to_json()`, with "curtains" where there were several sensors.
        recorder : str
            What it was recorded with; readings of one recorder share the error of its clock.

        Returns
        -------
        reading : SpeedReading
            The reading.

        Raises
        ------
        NoError
            If there is no error against a marked time; the message says why.
        """
        try:
            return cls._from(result, recorder)
        except (KeyError, TypeError, AttributeError, IndexError, ArithmeticError) as error:
            raise NoError("This is no result of 'pegwood measure shutter --json'") from error
        except NoError:
            raise
        except ValueError as error:
            raise NoError(str(error)) from error

    @classmethod
    def _from(cls, result: Mapping[str, Any], recorder: str) -> SpeedReading:
        summary, marked = result["summary"], result["marked"]
        by = next((by for by in ("sound", "video") if result.get(by)), None)
        if by is not None:
            raise NoError(f"{marked or 'A time'}: by {by}, and only times by light are weighed")
        if marked is None:
            raise NoError("The speed on the dial was not given: read it again with --marked")
        if result["marked_s"] is None:
            raise NoError(f"{marked} has no marked time to be off from")
        error = _measured(summary, "error", "ev")
        if error is None or not summary["n"]:
            raise NoError(f"{marked}: no firing gave a time; its result says why")
        per_ev = 1 / (summary["effective_s"] * math.log(2))
        shots = result["shots"]
        lines = {line["name"]: line["u"] * per_ev for line in summary.get("budget", ()) if line["u"]}
        bounces = [shot for shot in shots if shot["bounce"]]
        bounced = Counter(shot["channel"] for shot in bounces)
        extra = [_extra_ev(shot) for shot in bounces]
        curtains = result.get("curtains") or {}
        told = [one["capping"] for one in curtains.get("firings", ()) if one["capping"] != "cannot tell"]
        return cls(
            marked=str(marked),
            target_s=float(result["marked_s"]),
            error=error,
            n=int(summary["n"]),
            repeat_u_ev=min(lines.get("repeatability", 0.0), error.u),
            common_u_ev=tuple((name, lines[name]) for name in COMMON if name in lines),
            spread_ev=None if summary.get("spread_ev") is None else float(summary["spread_ev"]),
            first_firing=_measured(summary, "first_firing", "ev"),
            noise_ev=_noise_ev(shots),
            bounced=min(max(bounced.values(), default=0), int(summary["n"])),
            bounce_ev=sum(extra) / len(extra) if extra else 0.0,
            taper=_measured(curtains, "taper", "ev"),
            capped=told.count("found"),
            watched=len(told),
            recorder=recorder,
        )


def _measured(data: Mapping[str, Any], name: str, unit: str) -> Measured | None:
    value, u, df = data.get(f"{name}_{unit}"), data.get(f"{name}_u_{unit}"), data.get(f"{name}_df")
    if value is None or u is None:
        return None
    return Measured(float(value), float(u), math.inf if df is None else float(df))


def _extra_ev(shot: Mapping[str, Any]) -> float:
    share = (shot.get("bounce_extra_s") or 0.0) / shot["effective_s"]
    return -math.log2(1 - min(max(share, 0.0), 0.99))


def _noise_ev(shots: Iterable[Mapping[str, Any]]) -> float:
    """Root mean square, over the firings, of what the recording's noise adds to each."""
    squares = [
        sum(line["u"] ** 2 for line in shot.get("budget", ()) if line["u"] and line["name"] not in SHARED)
        / (shot["effective_s"] * math.log(2)) ** 2
        for shot in shots
    ]
    return math.sqrt(sum(squares) / len(squares)) if squares else 0.0
