"""How a recording was coupled, and what is told of what was not measured."""

from __future__ import annotations

from typing import Literal

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._channel import Channel
from pegwood.instruments.shutter._flicker import FLICKERS
from pegwood.instruments.shutter._scan import Envelope
from pegwood.instruments.shutter.results import Shot

__all__ = [
    "AC_REFUSED",
    "SINKING",
    "bandwidth_notes",
    "cut_off",
    "judge_coupling",
    "nothing_found",
    "required_bandwidth_hz",
    "tell_refused",
]

AC_REFUSED = (
    "The record looks AC-coupled (the light sags while it is on, or swings past darkness): its times were "
    "not given. Leave half a second of darkness around each firing, keep the peaks whole, or use an input "
    "that is DC-coupled."
)

SINKING = (
    "After each firing darkness lies a little lower than before: the input is AC-coupled with a long time "
    "constant, or the light around changes. The effect on these times is small and in the budget."
)

_FULL_SCALE = 0.99  # of it: the envelope is a mean over some readings

_TOLD = 5
_KNOCK, _KNOCK_DIRECT = 0.15, 0.3  # of the firings' height: behind capacitors, and without any


def judge_coupling(
    channels: list[Channel], lit: list[Channel], warnings: list[str], *, is_restored: bool
) -> Literal["DC", "AC", "unknown"]:
    """Whether the sensor is DC-coupled; takes back figures that can't be trusted."""
    evident = False
    for channel in channels:
        finding = channel.finding
        undershot = [at for at, reason in channel.refused if "AC-coupled" in reason]
        against = [p for p in finding.opposite if p.height > 0.3 * (channel.height or p.height)]
        n = len(channel.shots)
        ringing = len(undershot) + len(finding.two_sided) if channel.refused or n == 0 else 0
        # one of many knocks may look like a firing, more so behind some capacitor; halves of hum do by dozens
        least = (_KNOCK if is_restored else _KNOCK_DIRECT) * channel.height
        swings = sum(p.height > least for p in finding.two_sided) * (1 if is_restored else 2)
        if (
            finding.sagging
            or (n and swings > n)
            or (len(undershot) and len(undershot) >= n)
            or (len(against) and 2 * len(against) >= n)
        ):
            sags = finding.sagging or any(FLICKERS in reason for _, reason in channel.refused)
            if channel.shots or undershot or sags:
                evident = True
            if channel in lit:
                channel.shots.clear()
                lit.remove(channel)
        elif n == 0 and ringing:
            evident = evident or bool(undershot)
    if evident:
        warnings.append(AC_REFUSED)
    if evident or not any(c.shots for c in lit):
        return "AC" if evident else "unknown"
    sinking = [d.undershoot > max(4 * d.undershoot_u, 0.002) for c in lit for d in c.drafts]
    if sum(sinking) * 2 > len(sinking):
        warnings.append(SINKING)
        return "AC"
    return "DC"


def tell_refused(channels: list[Channel], lit: list[Channel], warnings: list[str]) -> None:
    """Add to the warnings what was seen and not measured, the first few places one by one."""
    telling = [c for c in channels if c in lit] or channels
    for channel in telling:
        for at, reason in channel.refused[:_TOLD]:
            warnings.append(f"At {at:.3f} s in channel {channel.number}: not measured: {reason}.")
        if len(channel.refused) > _TOLD:
            warnings.append(
                f"{len(channel.refused) - _TOLD} more places in channel {channel.number} were not measured."
            )
        knocks = len(channel.finding.two_sided)
        if knocks:
            warnings.append(
                f"{knocks} places in channel {channel.number} swing to both sides of darkness and "
                f"were left out: "
                "knocks, or an AC-coupled input."
            )


def nothing_found(channels: list[Channel]) -> str:
    """What to say, and to do, where no firing was found."""
    if channels and all(float(c.envelope.high.max()) == float(c.envelope.low.min()) for c in channels):
        return (
            "No firing found: every reading is the same, so nothing came in at all. Check the wire, that the "
            "input is not muted, and that it is the one the sensor is on."
        )
    steps = sum(c.finding.steps for c in channels)
    seen = (
        f" The light stepped {steps} times and did not come back: room light, or an AC-coupled input."
        if steps
        else ""
    )
    return (
        "No firing found."
        + seen
        + " Check that the sensor sees the lamp through the open shutter and is DC-coupled, "
        "and leave half a second of darkness before and after each firing."
    )


def cut_off(channel: int, envelope: Envelope, full_scale: float | None) -> str:
    """
    What to say of a channel without figures that is cut off at full scale.

    Parameters
    ----------
    channel : int
        Its number.
    envelope : Envelope
        From the first pass.
    full_scale : float or None
        Reading at which the converter clips, where that is known.

    Returns
    -------
    warning : str
        Empty where it is not cut off.
    """
    if full_scale is None or max(envelope.high.max(), -envelope.low.min()) < _FULL_SCALE * full_scale:
        return ""
    return (
        f"Channel {channel} reaches full scale, so its peaks are cut off, and behind the capacitors of a "
        "sound input what is cut off is missing from all that follows. Turn the gain or the lamp down and "
        "fire again."
    )


def bandwidth_notes(shots: list[Shot], recording: Recording) -> list[str]:
    """Whether the sampling holds the bandwidth that ISO 516:2019 asks for, where it does not."""
    totals = [s.total.value for s in shots if s.total is not None and s.total.value > 0]
    if not totals:
        return []
    needed = required_bandwidth_hz(min(totals))
    if needed <= recording.sample_rate_hz / 2:
        return []
    return [
        f"ISO 516:2019 asks for a bandwidth of 100 / total time, here {needed / 1000:.3g} kHz; "
        f"{recording.sample_rate_hz:g} samples per second hold {recording.sample_rate_hz / 2000:.3g} "
        f"kHz at most."
    ]


def required_bandwidth_hz(total_s: float) -> float:
    """
    Bandwidth of detector and recorder that ISO 516:2019 asks for: flat within 3 dB from d.c. to 100 / t0.

    Parameters
    ----------
    total_s : float
        Total time t0, above zero, [s].

    Returns
    -------
    bandwidth : float
        [Hz].

    Raises
    ------
    ValueError
        If the time is not above zero.
    """
    if not total_s > 0:
        raise ValueError(f"A total time must be above zero, not {total_s!r} s")
    return 100 / total_s
