"""
The instant at which a sound begins, and how well it is known.

As seismologists pick the arrival of a wave (the autoregressive AIC picker of Sleeman and van Eck 1999,
after Maeda 1985; from memory): what went before is described by an autoregressive model, its prediction is
taken away, and the change of variance of the rest is found by likelihood. Here the change has two steps,
since an attack takes time, and the likelihood over all pairs of steps gives the instant its spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, signal

from pegwood.instruments.recordings import Recording
from pegwood.instruments.sound._onsets import Onset

__all__ = ["Pick", "pick"]

_ORDER = 12
_LEARN_S = (0.025, 0.003)
_LEARN_LEAST_S = 0.006
_FROM_S, _TO_S = 0.003, 0.0012
_STEP_S = 0.00008
_LONGEST_RISE_S = 0.004
# A knock's own samples are no independent noise. Tried on simulated knocks of all attacks and timbres:
_WEIGHT = 0.4  # per sample at 48,000 a second
_REFERENCE_HZ = 48_000.0
_STEP_UP = 4.0  # the first step must be one: else it would stand anywhere in the noise

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pick:
    """
    When a sound began.

    Parameters
    ----------
    at_s : float
        From the start of the recording, by its own clock, [s].
    u_s : float
        Standard uncertainty, [s].
    rise_s : float
        Time the attack takes, [s].
    onset : float
        Sample of the onset it belongs to.
    """

    at_s: float
    u_s: float
    rise_s: float
    onset: float


def pick(recording: Recording, onset: Onset, channel: int, earliest: float = 0.0) -> Pick:
    """
    Find the instant of one sound.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    onset : Onset
        Which sound.
    channel : int
        Channel to listen to.
    earliest : float
        Sample before which another sound is in the way.

    Returns
    -------
    pick : Pick
        The instant and its standard uncertainty.
    """
    rate = recording.sample_rate_hz
    step = max(1, round(_STEP_S * rate))
    lead = _LEARN_S[0] * rate
    begin = max(0, math.floor(max(earliest, onset.at - lead)))
    stop = min(recording.n_samples, math.ceil(onset.peak_at + _TO_S * rate))
    y = np.asarray(recording.read(begin, stop)[:, channel], np.float64)
    learn = y[: max(0, round(onset.at - begin - _LEARN_S[1] * rate))]
    rest = _unpredicted(y, learn, rate)
    first = max(_ORDER, round(onset.at - begin - _FROM_S * rate))
    n = (len(rest) - first) // step
    if n < 8:
        return Pick(onset.at / rate, 0.001, 0.001, onset.at)
    energy = np.sum(rest[len(rest) - n * step :].reshape(n, step) ** 2, axis=1)
    origin = begin + len(rest) - n * step
    weight = 0.5 * _WEIGHT * step * _REFERENCE_HZ / rate
    mean, u, rise = _steps(energy, weight, max(2, round(_LONGEST_RISE_S * rate / step)))
    dt = step / rate
    at = origin / rate + mean * dt
    doubt = math.hypot(u * dt, dt / math.sqrt(12))
    return Pick(float(at), float(doubt), float(rise * dt), onset.at)


def _unpredicted(y: Array, learn: Array, rate: float) -> Array:
    """What an autoregressive model of the sound before does not foretell."""
    if len(learn) < _LEARN_LEAST_S * rate or len(learn) < 8 * _ORDER:
        return np.diff(y, prepend=y[:1])
    learn = learn - learn.mean()
    r = np.array([learn[: len(learn) - k] @ learn[k:] for k in range(_ORDER + 1)])
    if r[0] <= 0:
        return np.diff(y, prepend=y[:1])
    r[0] *= 1 + 1e-4  # what the converter or a codec leaves out must not be blown up
    model = linalg.solve_toeplitz(r[:-1], r[1:])
    return np.asarray(signal.lfilter(np.concatenate([[1.0], -model]), [1.0], y - y[: len(learn)].mean()))


def _steps(energy: Array, weight: float, longest: int) -> tuple[float, float, float]:
    """
    First step of the variance: mean and spread of its place, and the way to the second, in steps.

    The likelihood of three stretches of constant variance, over all places of both changes, the variance
    never falling; a flat prior over both.
    """
    n = len(energy)
    sums = np.concatenate([[0.0], np.cumsum(energy)])
    one = np.arange(3, n - 1)[:, None]
    two = one + np.arange(1, longest + 1)[None, :]
    inside = two < n
    two = np.minimum(two, n - 1)
    tiny = 1e-12 * float(energy.max()) + 1e-30
    before = np.maximum(sums[one] / one, tiny)
    middle = np.maximum((sums[two] - sums[one]) / (two - one), tiny)
    after = np.maximum((sums[n] - sums[two]) / (n - two), tiny)
    middle = np.maximum(middle, _STEP_UP * before)
    after = np.maximum(after, middle)
    fit = one * np.log(before) + (two - one) * np.log(middle) + (n - two) * np.log(after)
    fit = fit + sums[one] / before + (sums[two] - sums[one]) / middle
    fit = fit + (sums[n] - sums[two]) / after
    log_p = -weight * np.where(inside, fit, np.inf)
    p = np.exp(log_p - log_p.max())
    p /= p.sum()
    places = p.sum(axis=1)
    mean = float(places @ one[:, 0])
    spread = math.sqrt(max(0.0, float(places @ (one[:, 0] - mean) ** 2)))
    rise = float((p * (two - one)).sum())
    return mean, spread, rise
