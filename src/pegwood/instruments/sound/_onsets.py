"""
Beginnings of sounds: where energy rises in many bands at once against what was there just before.

Spectral flux on a logarithmic scale, held against the largest value of the milliseconds before, so that
neither a resonance that rings nor a steady whirr begins anew (after Bello et al. 2005 and Boeck and Widmer
2013; from memory). Loudness alone begins nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from pegwood.instruments.recordings import Recording
from pegwood.instruments.sound._scan import Passage

__all__ = ["Onset", "onsets_in"]

_WINDOW_S = 0.00267
_BAND_EDGES_HZ = (600.0, 1200.0, 2400.0, 4800.0, 9600.0, 16_000.0)
_BEFORE_FRAMES = (4, 12)  # 2.7 to 8 ms before: behind the window's own length
_RISE = 1.0  # mean rise over the bands, in nepers of energy
_APART_S = 0.002
_PEAK_S = 0.002
_LATER_S = (0.02, 0.045)
_NOISE_FRAMES = 60

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Onset:
    """
    The beginning of a sound, to about a millisecond.

    Parameters
    ----------
    at : float
        Sample at which the energy rises most steeply.
    peak_at : float
        Sample of most energy behind it.
    level_db : float
        Energy at the peak less that before, [dB], on a scale of the recording.
    rise : float
        Mean rise of the bands, in nepers of energy.
    fall_db : float
        Peak over what is left 20 to 45 ms later, [dB]: large for a knock, small for a voice or a motor.
    noise_db : float
        Peak over the room's noise, [dB].
    hum_db : float
        What is there over the room's noise in the second half of the pause until the next sound, [dB]: the
        slow-speed gear hums, a room is quiet.
    """

    at: float
    peak_at: float
    level_db: float
    rise: float
    fall_db: float
    noise_db: float
    hum_db: float


def onsets_in(recording: Recording, passage: Passage, channel: int) -> list[Onset]:
    """
    Beginnings of sounds in a passage.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    passage : Passage
        Where to look.
    channel : int
        Channel to listen to.

    Returns
    -------
    onsets : list of Onset
        In order of time.
    """
    y = np.asarray(recording.read(passage.start, passage.stop)[:, channel], np.float32)
    rate = recording.sample_rate_hz
    size = 1 << max(4, round(np.log2(rate * _WINDOW_S)))
    hop = size // 4
    if len(y) < 4 * size:
        return []
    bands = _band_energies(y, size, hop, rate)
    noise = np.quantile(bands[:, :_NOISE_FRAMES], 0.5, axis=1, keepdims=True) + 1e-14
    rises = _rises(bands, noise)
    total = bands.sum(axis=0)
    found = _peaks(rises, max(2, round(_APART_S * rate / hop)))
    middle = passage.start + size / 2
    return [_describe(total, float(noise.sum()), rises, k, found, hop, rate, middle) for k in found]


def _band_energies(y: NDArray[np.float32], size: int, hop: int, rate: float) -> Array:
    """Energy in each band, shape (bands, frames)."""
    frames = np.lib.stride_tricks.sliding_window_view(y, size)[::hop]
    power = np.abs(fft.rfft(frames * np.hanning(size).astype(np.float32), axis=1)) ** 2
    hz = np.arange(power.shape[1]) * rate / size
    edges = [e for e in _BAND_EDGES_HZ if e < 0.45 * rate]
    edges = edges if edges[-1] > 0.35 * rate or len(edges) == len(_BAND_EDGES_HZ) else [*edges, 0.45 * rate]
    places = np.searchsorted(hz, edges)
    return np.array([power[:, a:b].sum(axis=1) for a, b in pairwise(places)], float)


def _rises(bands: Array, noise: Array) -> Array:
    """Mean over the bands of how far each exceeds the largest of the frames before, in nepers."""
    near, far = _BEFORE_FRAMES
    level = np.log(bands + noise)
    n = level.shape[1]
    before = np.full_like(level, -np.inf)
    for k in range(near, far + 1):
        before[:, k:] = np.maximum(before[:, k:], level[:, : n - k])
    before[:, :near] = level[:, :near]
    return np.asarray(np.maximum(level - before, 0.0).mean(axis=0))


def _peaks(rises: Array, apart: int) -> list[int]:
    """Frames where the rise is largest around and large enough."""
    found: list[int] = []
    for k in np.flatnonzero(rises >= _RISE):
        if rises[k] < rises[max(0, k - apart) : k + apart + 1].max():
            continue
        if found and k - found[-1] <= apart:
            continue
        found.append(int(k))
    return found


def _describe(
    total: Array, noise: float, rises: Array, k: int, found: list[int], hop: int, rate: float, middle: float
) -> Onset:
    reach = max(1, round(_PEAK_S * rate / hop))
    peak_k = k + int(np.argmax(total[k : k + reach + 1]))
    peak = float(total[peak_k])
    before = float(total[max(0, k - _BEFORE_FRAMES[0])])
    low, high = (round(s * rate / hop) for s in _LATER_S)
    next_k = next((f for f in found if f > peak_k + low // 2), len(total))
    later = total[peak_k + low // 2 : min(peak_k + high, max(next_k - 3, peak_k + low // 2 + 1))]
    left = float(later.min()) if len(later) else noise
    return Onset(
        at=middle + k * hop,
        peak_at=middle + peak_k * hop,
        level_db=float(10 * np.log10(max(peak - before, 1e-3 * peak) + 1e-30)),
        rise=float(rises[k]),
        fall_db=float(10 * np.log10(peak / max(left, noise))),
        noise_db=float(10 * np.log10(peak / noise)),
        hum_db=_hum_db(total, noise, k, found),
    )


def _hum_db(total: Array, noise: float, k: int, found: list[int]) -> float:
    """Level of the second half of the pause behind a sound; 0 where the passage ends in quiet."""
    next_k = next((f for f in found if f > k), None)
    if next_k is None:
        return 0.0
    pause = total[(k + next_k) // 2 : max(next_k - 3, (k + next_k) // 2 + 1)]
    low = np.partition(pause, len(pause) // 4)[len(pause) // 4]
    return float(10 * np.log10(low / noise + 1e-3))
