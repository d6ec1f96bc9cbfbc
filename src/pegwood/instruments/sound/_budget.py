"""From the instants of two sounds to an exposure time with its budget."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter import Curve, Shot
from pegwood.instruments.sound._firings import Timed
from pegwood.instruments.sound._picking import Pick
from pegwood.instruments.sound._practice import practice
from pegwood.instruments.sound.results import HeardFiring
from pegwood.instruments.uncertainty import Component, combine

__all__ = ["CLOCK_PPM", "MIRRORS", "Mirror", "Told", "heard", "shot_of"]

Mirror = Literal["none", "locked", "moving", "not told"]
MIRRORS: tuple[Mirror, ...] = ("none", "locked", "moving", "not told")

CLOCK_PPM = 100.0
_CLOCK_SOURCE = "Crystals of sound cards and phones: 50 to 100 ppm"


@dataclass(frozen=True)
class Told:
    """What is known of camera and recording beside the sounds."""

    kind: str | None
    mirror: Mirror
    recording: Recording

    @property
    def is_compressed(self) -> bool:
        """True where a codec has smeared the sounds."""
        return self.recording.is_compressed


def heard(timed: Timed, shot: Shot, told: Told) -> HeardFiring:
    """
    A firing's sounds as they are told.

    Parameters
    ----------
    timed : Timed
        Both instants.
    shot : Shot
        The time made of them.
    told : Told
        What else is known.

    Returns
    -------
    firing : HeardFiring
        With the time between the sounds, which knows nothing of the light.
    """
    return HeardFiring(
        opened=combine(timed.opened.at_s, _instant("instant", timed.opened, told)),
        closed=combine(timed.closed.at_s, _instant("instant", timed.closed, told)),
        between=combine(timed.between_s, _between(timed, told)),
        chance=timed.chance,
        warnings=shot.warnings,
    )


def shot_of(timed: Timed, told: Told, channel: int) -> Shot:
    """
    The exposure time of a firing.

    Parameters
    ----------
    timed : Timed
        Both instants.
    told : Told
        What else is known.
    channel : int
        Channel that was listened to.

    Returns
    -------
    shot : Shot
        With nothing of the light but the effective time.
    """
    known = practice()
    kind = told.kind or "unknown"
    parts = [*_between(timed, told), known.component("moment of the sound", f"moment {kind}")]
    if told.mirror == "not told":
        parts.append(known.component("mirror", "mirror"))
    warnings = []
    if timed.naming_u_s > 0.0005:
        warnings.append(
            "Two sounds stand so near each other that either may be meant; the uncertainty holds both."
        )
    return Shot(
        at_s=timed.opened.at_s,
        channel=channel,
        effective=combine(timed.between_s, parts),
        total=None,
        opening=None,
        closing=None,
        efficiency=None,
        half_height_s=None,
        bounce=False,
        bounce_extra_s=0.0,
        curve=Curve((), (), {}),
        warnings=tuple(warnings),
    )


def _between(timed: Timed, told: Told) -> list[Component]:
    recording = told.recording
    by_crystal = CLOCK_PPM * 1e-6 / math.sqrt(3) if recording.clock_u is None else recording.clock_u
    u = timed.between_s * math.hypot(by_crystal, recording.sample_rate_u)
    clock = (
        Component(
            "clock",
            u,
            note=f"rate of the converter, within {CLOCK_PPM:.0f} ppm",
            source=_CLOCK_SOURCE,
            mark="memory",
        )
        if recording.clock_u is None
        else Component("clock", u, note="rate of the converter, calibrated")
    )
    return [
        *_instant("opening's instant", timed.opened, told),
        *_instant("closing's instant", timed.closed, told),
        Component("which sound", timed.naming_u_s, note="sounds so near each other that either may be meant"),
        clock,
    ]


def _instant(name: str, pick: Pick, told: Told) -> list[Component]:
    parts = [Component(name, pick.u_s, kind="A", note="spread of the change-point likelihood")]
    if told.is_compressed:
        edge = name.removesuffix("'s instant")
        parts.append(practice().component(f"codec, {edge}", "codec"))
    return parts
