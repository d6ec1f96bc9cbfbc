"""Sound as a recogniser takes it: one channel at 16 kHz."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
LONGEST_S = 20.0
_SHORTEST_S = 0.15
_QUIETEST = 1e-4

Samples = NDArray[np.float64]


class NotSpeech(ValueError):
    """Sound in which nobody can have said anything; one line with the remedy."""


def samples_of(pcm: bytes) -> Samples:
    """Sixteen-bit little-endian samples as numbers from -1 to 1; half a sample at the end is dropped."""
    return np.frombuffer(pcm[: len(pcm) // 2 * 2], dtype="<i2").astype(np.float64) / 32768.0


def pcm_of(samples: Samples) -> bytes:
    """Samples from -1 to 1 as sixteen-bit little-endian ones; what is beyond is cut off."""
    return (np.clip(samples, -1.0, 1.0) * 32767.0).astype("<i2").tobytes()


def read_wav(content: bytes) -> Samples:
    """
    A WAV file's sound, its channels averaged, at 16 kHz.

    Raises
    ------
    NotSpeech
        If it is no WAV, is longer than 20 s, or holds nothing.
    """
    import soundfile

    try:
        with soundfile.SoundFile(io.BytesIO(content)) as file:
            if file.frames > LONGEST_S * file.samplerate:
                raise NotSpeech(f"That is longer than {LONGEST_S:g} s. Say one thing, then let go.")
            rate, sound = file.samplerate, file.read(dtype="float64", always_2d=True)
    except (soundfile.LibsndfileError, TypeError, ValueError, OSError) as trouble:
        if isinstance(trouble, NotSpeech):
            raise
        raise NotSpeech("That is no sound this machine can read. Send it as WAV.") from None
    return checked(at_16_khz(sound.mean(axis=1), rate))


def at_16_khz(samples: Samples, rate_hz: float) -> Samples:
    """
    The same sound at 16 kHz.

    Raises
    ------
    NotSpeech
        If the rate is beyond those of sound cards.
    """
    from scipy.signal import resample_poly

    if not 8_000 <= rate_hz <= 384_000:
        raise NotSpeech(f"{rate_hz:g} Hz is no sampling rate of speech. Record at 16000 Hz or more.")
    if round(rate_hz) == RATE_HZ:
        return samples
    shared = int(np.gcd(round(rate_hz), RATE_HZ))
    resampled: Any = resample_poly(samples, RATE_HZ // shared, round(rate_hz) // shared)
    return np.asarray(resampled, dtype=np.float64)


def checked(samples: Samples) -> Samples:
    """
    The samples, if somebody may have said something in them.

    Raises
    ------
    NotSpeech
        If they are too few, silent, or no numbers.
    """
    if len(samples) < _SHORTEST_S * RATE_HZ:
        raise NotSpeech("The key was let go too soon. Hold it, speak, then let go.")
    if not np.isfinite(samples).all():
        raise NotSpeech("That sound holds what are no numbers. Record it anew.")
    if np.abs(samples).max() < _QUIETEST:
        raise NotSpeech("Nothing came in at all. Choose another input, or look at its plug and its level.")
    if len(samples) > LONGEST_S * RATE_HZ:
        raise NotSpeech(f"That is longer than {LONGEST_S:g} s. Say one thing, then let go.")
    return samples


def speech_in(samples: Samples) -> tuple[int, float]:
    """
    Where somebody begins to speak, and for how long there is speech after it.

    What is four times as loud as the quietest tenth of all counts as speech, in steps of 20 ms: enough to
    leave
    out the time before somebody begins, not to tell speech from noise.

    Returns
    -------
    begins : int
        The first sample that is louder, less 0.3 s before it; 0 where none is.
    speech_s : float
        How much is louder [s].
    """
    step = RATE_HZ // 50
    whole = samples[: len(samples) // step * step].reshape(-1, step)
    if not len(whole):
        return 0, 0.0
    loud = np.sqrt(np.mean(whole**2, axis=1))
    louder = loud > 4 * max(float(np.quantile(loud, 0.1)), 1e-4)
    if not louder.any():
        return 0, 0.0
    first = int(np.flatnonzero(louder)[0])
    return max(0, (first - 15) * step), float(louder.sum() * step / RATE_HZ)
