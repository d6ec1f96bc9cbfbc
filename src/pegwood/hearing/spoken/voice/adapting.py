"""
Bringing a model's means near to a voice, from a minute of it.

First all means of a stream move together by one affine map, the maximum-likelihood linear regression of
C. J. Leggetter and P. C. Woodland, "Maximum likelihood linear regression for speaker adaptation of continuous
density hidden Markov models", Computer Speech and Language 9 (1995) 171-185 (memory), solved row by row for
diagonal variances. Then those of each phone move by what is left for it, then each distribution by what is
left for it, both drawn back to where they were by so many frames' weight (J.-L. Gauvain and C.-H. Lee,
"Maximum a posteriori estimation for multivariate Gaussian mixture observations", IEEE Trans. Speech Audio
Process. 2 (1994) 291-298; memory). What was seldom heard so stays where it was.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.hearing.spoken.voice.acoustics import Acoustics, Array

#: So many frames a senone's and a phone's own place is worth against what was heard of it.
_NORMAL_FRAMES = 12.0
_PHONE_FRAMES = 12.0
#: How much the map is drawn to none at all, in frames for each coefficient.
_MAP_FRAMES = 20.0


@dataclass(frozen=True)
class Aligned:
    """
    A sentence, frame by frame.

    Attributes
    ----------
    features : ndarray, shape (frames, streams, dimensions)
    phones, senones : ndarray of int, shape (frames,)
        Which phone and senone a frame is part of.
    """

    features: Array
    phones: NDArray[np.intp]
    senones: NDArray[np.intp]


@dataclass(frozen=True)
class Heard:
    """
    How often each distribution was heard, and where.

    Attributes
    ----------
    frames : ndarray, shape (phones, streams, distributions)
    sums : ndarray, shape (phones, streams, distributions, dimensions)
        Of the features, each weighed by how surely it belongs there.
    """

    frames: Array
    sums: Array


def features_of(cepstra: Array, mean: Array | None = None) -> Array:
    """
    Cepstra with their slopes, as the model takes them (``1s_c_d_dd``).

    Parameters
    ----------
    cepstra : ndarray, shape (frames, dimensions)
    mean : ndarray, shape (dimensions,), optional
        What is taken off; their own if not given.

    Returns
    -------
    ndarray, shape (frames, 3, dimensions)
        The cepstrum; its change over two frames each way; the change of that over one frame each way.
    """
    level = cepstra - (cepstra.mean(axis=0) if mean is None else mean)
    wide = np.pad(level, ((3, 3), (0, 0)), mode="edge")
    n = len(level)

    def at(by: int) -> Array:
        return wide[3 + by : 3 + by + n]

    slope = at(2) - at(-2)
    bend = (at(3) - at(-1)) - (at(1) - at(-3))
    return np.stack([level, slope, bend], axis=1)


def heard(model: Acoustics, sentences: Iterable[Aligned]) -> Heard:
    """How often, and where, each of the model's distributions was heard."""
    frames = np.zeros(model.means.shape[:3])
    sums = np.zeros(model.means.shape)
    for one in sentences:
        for phone in np.unique(one.phones):
            here = one.phones == phone
            x = one.features[here]
            share = _shares(model, int(phone), x, one.senones[here])
            frames[phone] += share.sum(axis=0)
            sums[phone] += np.einsum("tsk,tsd->skd", share, x)
    return Heard(frames, sums)


def _shares(model: Acoustics, phone: int, x: Array, senones: NDArray[np.intp]) -> Array:
    """How surely a frame belongs to each of the phone's distributions; (frames, streams, distributions)."""
    mean, variance = model.means[phone], model.variances[phone]
    far = (x[:, :, None, :] - mean) ** 2 / variance + np.log(variance)
    log = -0.5 * far.sum(axis=-1) + model.log_weights[:, :, senones].transpose(2, 0, 1)
    log -= log.max(axis=-1, keepdims=True)
    share = np.exp(log)
    return np.asarray(share / share.sum(axis=-1, keepdims=True))


def map_of(frames: Array, sums: Array, means: Array, variances: Array, drawn: float = _MAP_FRAMES) -> Array:
    """
    The affine map of means that makes what was heard likeliest.

    Parameters
    ----------
    frames : ndarray, shape (n,)
    sums, means, variances : ndarray, shape (n, d)
        Of the n distributions of a stream.
    drawn : float
        So many frames hold each coefficient back; 0 gives the maximum likelihood itself.

    Returns
    -------
    ndarray, shape (d, 1 + d)
        Shift, then matrix: a mean m becomes ``W @ [1, m]``.
    """
    d = means.shape[1]
    still = np.hstack([np.zeros((d, 1)), np.eye(d)])
    extended = np.hstack([np.ones((len(means), 1)), means])
    spread = np.average(extended**2, axis=0, weights=np.maximum(frames, 1e-9))
    found = np.empty((d, 1 + d))
    for row in range(d):
        weight = frames / variances[:, row]
        # Held back by as much as `drawn` frames of a typical distribution would weigh.
        back = drawn * float(np.average(1 / variances[:, row], weights=np.maximum(frames, 1e-9))) * spread
        left = extended.T @ (extended * weight[:, None]) + np.diag(back)
        right = extended.T @ (sums[:, row] / variances[:, row]) + back * still[row]
        found[row] = np.linalg.solve(left, right)
    return found


def adapted(
    model: Acoustics,
    was: Heard,
    keep: NDArray[np.bool_] | None = None,
    phone_frames: float = _PHONE_FRAMES,
    normal_frames: float = _NORMAL_FRAMES,
    map_frames: float = _MAP_FRAMES,
) -> Array:
    """
    The means, near to the voice that was heard.

    Parameters
    ----------
    model : Acoustics
    was : Heard
        With that model.
    keep : ndarray of bool, shape (phones,), optional
        Phones that stay as they are: silence and noise.

    Returns
    -------
    ndarray
        As `Acoustics.means`.
    """
    moves = np.ones(len(model.phones), bool) if keep is None else ~keep
    means = model.means.copy()
    for stream in range(means.shape[1]):
        flat = (moves, stream)
        d = means.shape[-1]
        map_ = map_of(
            was.frames[flat].ravel(),
            was.sums[flat].reshape(-1, d),
            means[flat].reshape(-1, d),
            model.variances[flat].reshape(-1, d),
            map_frames,
        )
        means[flat] = means[flat] @ map_[:, 1:].T + map_[:, 0]
    sure = was.frames[..., None] / model.variances
    left = (was.sums - was.frames[..., None] * means) / model.variances
    usual = np.average(
        1 / model.variances, axis=2, weights=np.maximum(was.frames, 1e-9)[..., None] * np.ones(d)
    )
    shift = left.sum(axis=2) / (sure.sum(axis=2) + phone_frames * usual)
    means[moves] += shift[moves][:, :, None, :]
    left_over = (was.sums - was.frames[..., None] * means) / (was.frames[..., None] + normal_frames)
    means[moves] += left_over[moves]
    return means
