"""What stands against all figures of a recording, and what against one firing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pegwood.instruments.recordings import Recording
from pegwood.instruments.sound._scan import TILE_S, Passage, Scan

__all__ = ["against_all", "clipped_share", "noise_ratio_db"]

_TOO_BUSY = 0.2
_AROUND_S = 0.15
_GATED = 0.2
_PUMPS_DB = -3.0
_QUIET_S = 0.02
_CLIP = 1 - 2.0**-7


def against_all(
    recording: Recording, scanned: Scan, firings: Sequence[tuple[float, float]], channel: int
) -> tuple[str, str] | None:
    """
    A reason why no time of this recording can be trusted, with its remedy.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    scanned : Scan
        First pass over it.
    firings : sequence of (float, float)
        Opening and closing of those that would be told, [s].
    channel : int
        Channel that is listened to.

    Returns
    -------
    why : (str, str) or None
        Reason and remedy.
    """
    if scanned.silent_share > _GATED:
        return (
            "the sound is switched off between the noises: noise suppression, or an edited recording",
            "switch noise suppression and enhancement off, and record again",
        )
    busy = _busy_share(scanned.passages, recording, firings)
    if busy > _TOO_BUSY:
        return (
            f"something else is heard for {100 * busy:.0f} % of the time: a voice, a motor, work in the room",
            "take the winder off, wait for quiet, and record again",
        )
    drops = [noise_ratio_db(recording, firing, channel) for firing in firings]
    known = [drop for drop in drops if drop is not None]
    if known and float(np.median(known)) < _PUMPS_DB:
        return (
            "the room's own noise sinks after each loud sound: an automatic gain turns the level down",
            "switch automatic gain control off, set the level by hand, and record again",
        )
    return None


def _busy_share(
    passages: Sequence[Passage], recording: Recording, firings: Sequence[tuple[float, float]]
) -> float:
    """Share of the time outside of firings in which something stands out."""
    rate, busy, inside = recording.sample_rate_hz, 0.0, 0.0
    spans = np.array([(low - _AROUND_S, high + _AROUND_S) for low, high in firings]).reshape(-1, 2)
    for passage in passages:
        at = passage.start / rate + TILE_S * (np.arange(len(passage.busy)) + 0.5)
        within = ((at[:, None] >= spans[:, 0]) & (at[:, None] <= spans[:, 1])).any(axis=1)
        busy += TILE_S * float(np.asarray(passage.busy)[~within].sum())
    inside = float((spans[:, 1] - spans[:, 0]).sum())
    return busy / max(recording.duration_s - inside, 1.0)


def noise_ratio_db(recording: Recording, firing: tuple[float, float], channel: int) -> float | None:
    """
    The room's noise soon after a firing over that before it.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    firing : (float, float)
        Opening and closing, [s].
    channel : int
        Channel to listen to.

    Returns
    -------
    ratio : float or None
        [dB]; None at the ends of the recording.
    """
    rate = recording.sample_rate_hz
    before = _quiet(recording, firing[0] - 0.4, firing[0] - 0.08, channel, rate)
    after = _quiet(recording, firing[1] + 0.12, firing[1] + 0.44, channel, rate)
    if before is None or after is None or before <= 0 or after <= 0:
        return None
    return float(10 * np.log10(after / before))


def _quiet(recording: Recording, start_s: float, stop_s: float, channel: int, rate: float) -> float | None:
    """A low quantile of the energy of short pieces, hum left out."""
    start, stop = round(start_s * rate), round(stop_s * rate)
    if start < 0 or stop > recording.n_samples:
        return None
    y = np.diff(np.asarray(recording.read(start, stop)[:, channel], float))
    size = round(_QUIET_S * rate)
    pieces = y[: len(y) // size * size].reshape(-1, size)
    return float(np.quantile((pieces**2).sum(axis=1), 0.25))


def clipped_share(recording: Recording, at_s: float, channel: int) -> float:
    """
    Share of the first 3 ms of a sound that lies at full scale.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    at_s : float
        When the sound begins, [s].
    channel : int
        Channel to listen to.

    Returns
    -------
    share : float
        [-]; 0 where the format has no full scale.
    """
    full = 1.0 if recording.full_scale is None else recording.full_scale
    start = max(0, round(at_s * recording.sample_rate_hz))
    stop = min(recording.n_samples, start + round(0.003 * recording.sample_rate_hz))
    if stop <= start:
        return 0.0
    return float(np.mean(np.abs(recording.read(start, stop)[:, channel]) >= full * _CLIP))
