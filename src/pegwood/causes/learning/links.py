"""
How often causes show each answer of a sign, where several may have been there at once: EM for noisy-MAX.

Every cause that is there, and the leak, shows a level of its own; seen is the highest. Each answer credits a
cause with the levels it may have shown, by how likely they are (the E-step); the credits, with those of the
starting knowledge, are a Dirichlet's counts (the M-step; Dempster, Laird and Rubin 1977: memory). With two
levels and no starting knowledge this is EM for noisy-OR. Found are the log-odds of greatest posterior
density: for one cause alone the mean of its Dirichlet distribution. Causes that nobody ruled are there by a
chance, and are weighed with the sign. Two rounds throw the third ahead (SQUAREM, Varadhan and Roland 2008:
memory); a throw that lowers the density is taken back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.intervals import Interval, beta_interval

Floats = NDArray[np.float64]
#: It ends when no chance moves by more than this, or after so many rounds.
STILL, ROUNDS = 1e-6, 2000


@dataclass(frozen=True)
class Fitted:
    """
    What a sign's causes show.

    Attributes
    ----------
    shows : array, shape (n_causes, n_levels)
    credits : array, shape (n_causes, n_levels)
        How many of the jobs' answers were each cause's doing, level by level.
    known : array, shape (n_causes, n_levels)
        How many jobs with that cause alone each chance is known as well as.
    """

    shows: Floats
    credits: Floats
    known: Floats

    def intervals(self, cause: int) -> tuple[Interval, ...]:
        """90 % intervals of a cause's chances."""
        return tuple(
            beta_interval(p * n, (1 - p) * n) if 0 < p < 1 else (float(p), float(p))
            for p, n in zip(self.shows[cause], self.known[cause], strict=True)
        )


def fitted(
    present: Floats,
    likely: Floats,
    start: Floats,
    counts: Floats,
    fixed: NDArray[np.bool_] | None = None,
    still: float = STILL,
) -> Fitted:
    """
    Chances of greatest posterior density.

    Parameters
    ----------
    present : array, shape (n_causes, n_jobs)
        Chance of each cause before this sign was looked at: 0 and 1 for what is known. The leak is a cause
        that is always there.
    likely : array, shape (n_levels, n_jobs)
        How likely what was seen is at each level.
    start : array, shape (n_causes, n_levels)
        To begin from where there are no counts.
    counts : array, shape (n_causes, n_levels)
        Of what is known beforehand; zeros for nothing. A level without any is never shown.
    fixed : array of bool, shape (n_causes,), optional
        Causes of which what they show is not to be learned.
    """
    fixed = np.zeros(len(start), dtype=bool) if fixed is None else fixed
    sums = counts.sum(axis=1, keepdims=True)
    shows = np.divide(counts, sums, out=start.copy(), where=sums > 0)
    if not present.shape[1]:
        return Fitted(shows, np.zeros_like(shows), np.tile(sums, shows.shape[1]))

    def moved(shows: Floats) -> tuple[Floats, float]:
        """After one round, and the log posterior before it."""
        credit, log = _credits(present, likely, shows)
        total = credit.sum(axis=2) + counts
        sums = total.sum(axis=1, keepdims=True)
        log += float((counts * np.log(np.where(counts > 0, shows, 1))).sum())
        learned = (sums > 0) & ~fixed[:, np.newaxis]
        return np.divide(total, sums, out=shows.copy(), where=learned), log

    after, best = shows, -np.inf
    for _ in range(ROUNDS):
        one, log = moved(shows)
        if log < best:  # it was thrown too far
            shows, best = after, -np.inf
            continue
        after, best = moved(one)
        step, bend = one - shows, after - 2 * one + shows
        if float(np.abs(after - one).max()) < still:
            break
        far = max(1.0, float(np.linalg.norm(step)) / max(float(np.linalg.norm(bend)), 1e-300))
        thrown = shows + 2 * far * step + far**2 * bend
        shows = thrown if (thrown[after > 0] > 0).all() else after
    credit, _ = _credits(present, likely, after)
    return Fitted(after, credit.sum(axis=2), _known(credit, after, counts, fixed))


def before_sign(
    after: Floats, likely: Floats, shows: Floats, free: NDArray[np.bool_], rounds: int = 30
) -> Floats:
    """
    The chances of causes before a sign was looked at, from those after it: `posterior` backwards.

    Each cause's odds are divided by how many times likelier the answer is if it is there, the others being as
    they were before; gone through until nothing moves.

    Parameters
    ----------
    after : array, shape (n_causes, n_jobs)
    likely, shows : array
        As `fitted`.
    free : array of bool, shape (n_causes, n_jobs)
        Which chances the sign had moved; the others stay, and so do 0 and 1.
    """
    free = free & (after > 0) & (after < 1)
    which = free.any(axis=0)
    if not which.any():
        return after
    found = after.copy()
    after, likely, free = after[:, which], likely[:, which], free[:, which]
    odds = np.divide(after, 1 - after, out=np.ones_like(after), where=free)
    before = after
    for _ in range(rounds):
        bears = _shown(before, likely, shows)
        there = np.einsum("kzj,kz->kj", bears, shows)
        absent = bears[:, 0]
        factor = np.divide(there, absent, out=np.ones_like(there), where=(there > 0) & (absent > 0))
        then = np.where(free, odds / (odds + factor), after)
        moved, before = float(np.abs(then - before).max()), then
        if moved < STILL:
            break
    found[:, which] = before
    return found


def _shown(present: Floats, likely: Floats, shows: Floats) -> Floats:
    """
    Shape (n_causes, n_levels, n_jobs): how likely what was seen is if that cause showed that level.

    The product over the others of their chance to show at most y, summed over y from that level up, each
    weighted by likely(y) - likely(y + 1).
    """
    above = 1 - np.minimum(1, np.cumsum(shows, axis=1))
    most: Floats = 1 - present[:, None, :] * above[:, :, None]
    found = np.empty_like(most)
    found[0] = 1
    for n in range(1, len(most)):
        np.multiply(found[n - 1], most[n - 1], out=found[n])
    after = likely.copy()
    after[:-1] -= likely[1:]
    for n in range(len(most) - 1, -1, -1):
        found[n] *= after
        after *= most[n]
    for y in range(most.shape[1] - 2, -1, -1):
        found[:, y] += found[:, y + 1]
    np.maximum(found, 0, out=found)
    return found


def _credits(present: Floats, likely: Floats, shows: Floats) -> tuple[Floats, float]:
    """
    Shape (n_causes, n_levels, n_jobs): chance that the cause was there and showed that level; and the
    logarithm of how likely all that was seen is.
    """
    found = _shown(present, likely, shows)
    absent: Floats = (1 - present) * found[:, 0]
    found *= shows[:, :, None]
    found *= present[:, None, :]
    whole = found.sum(axis=1) + absent
    whole = np.where(whole > 0, whole, 1)
    found /= whole[:, None, :]
    return found, float(np.log(whole[0]).sum())


def _known(credit: Floats, shows: Floats, counts: Floats, fixed: NDArray[np.bool_]) -> Floats:
    """
    How many jobs each chance is known as well as.

    The curvature of the log posterior over the log-odds of each level against level 0: of the starting
    counts exact, of the jobs by the sum of squares of their slopes (Berndt, Hall, Hall and Hausman 1974;
    memory), which counts what several causes leave open between them as not known.
    """
    causes, levels = shows.shape
    slopes = (credit - credit.sum(axis=1, keepdims=True) * shows[:, :, None]).reshape(causes * levels, -1)
    curved = slopes @ slopes.T
    spread = np.zeros((causes * levels, causes * levels))
    for n in range(causes):
        at = slice(n * levels, (n + 1) * levels)
        spread[at, at] = np.diag(shows[n]) - np.outer(shows[n], shows[n])
        curved[at, at] += counts[n].sum() * spread[at, at]
    learned = [(n, z) for n in np.flatnonzero(~fixed) for z in range(1, levels) if 0 < shows[n, z] < 1]
    free = [int(n) * levels + z for n, z in learned]
    variance = np.zeros(causes * levels)
    if free:
        inside = np.linalg.pinv(curved[np.ix_(free, free)], hermitian=True)
        lever = spread[:, free]
        variance = np.einsum("ij,jk,ik->i", lever, inside, lever)
    flat = (shows * (1 - shows)).ravel()
    least = np.repeat(counts.sum(axis=1), levels)
    known: Floats = np.divide(flat, variance, out=np.full_like(flat, np.inf), where=variance > 0)
    return np.asarray(np.maximum(known, least).reshape(causes, levels))
