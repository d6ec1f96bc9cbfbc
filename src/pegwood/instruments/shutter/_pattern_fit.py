"""
Which shapes fit: exact marginal likelihoods of straight-line models with normal priors.

For a model y = m + X a + noise, with a ~ N(mu, diag(sd^2)) and noise ~ N(0, C), the marginal likelihood is
the normal density of y about m + X mu with covariance C + X diag(sd^2) X'. With at most two amplitudes the
matrix determinant lemma and the Sherman-Morrison-Woodbury formula leave only inner products of whitened
columns (Kass and Raftery, Bayes factors, 1995; Bishop, Pattern Recognition and Machine Learning, 2006, 2.3.3
and 3.3: both from memory). How far speeds of one shutter differ anyway is summed over a table of standard
deviations.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import logsumexp

from pegwood.instruments.shutter._pattern_data import Practice
from pegwood.instruments.shutter._pattern_shapes import Hypotheses

__all__ = ["Fit", "Noise", "Weighed"]


@dataclass(frozen=True)
class Noise:
    """
    What the errors carry besides the pattern.

    Parameters
    ----------
    own_ev : array, shape (n,)
        Standard uncertainty of each error that no other shares, [EV].
    shared_ev : array, shape (f, n)
        Loadings of what several share (a recorder's clock, its coupling), [EV].
    same : array of bool, shape (n, n)
        Which are readings of the same marked speed.
    """

    own_ev: np.ndarray
    shared_ev: np.ndarray
    same: np.ndarray

    def covariance(self, between_ev: float) -> np.ndarray:
        """Covariance where speeds differ anyway by that standard deviation, shape (n, n), [EV^2]."""
        own = np.diag(self.own_ev**2 + 1e-8)
        return np.asarray(own + between_ev**2 * self.same + self.shared_ev.T @ self.shared_ev)


@dataclass(frozen=True)
class _Models:
    """Pairs of shapes (the number of shapes stands for none), and the logarithm of their prior odds."""

    first: np.ndarray
    second: np.ndarray
    log_odds: np.ndarray

    def where(self, chosen: np.ndarray) -> _Models:
        return _Models(self.first[chosen], self.second[chosen], self.log_odds[chosen])


@dataclass(frozen=True)
class _Whitened:
    """Everything about the models that does not depend on the errors, for one between-speed scatter."""

    whitening: np.ndarray
    log_scale: float
    log_prior: float
    z: np.ndarray
    w: np.ndarray
    first: np.ndarray
    second: np.ndarray
    log_odds: np.ndarray

    @classmethod
    def of(
        cls,
        covariance: np.ndarray,
        log_prior: float,
        shapes: Hypotheses,
        models: _Models,
    ) -> _Whitened:
        n = len(covariance)
        lower = np.linalg.cholesky(covariance)
        whitening = np.linalg.inv(lower)  # a dozen speeds: nothing is lost by it
        log_scale = float(np.log(np.diag(lower)).sum()) + 0.5 * n * math.log(2 * math.pi)
        columns = np.vstack([shapes.expected[:, :n], (shapes.slope * shapes.sd[:, None])[:, :n]])
        white = columns @ whitening.T
        none = np.zeros((1, n))  # the last row: no second shape
        k = len(shapes.sign)
        z, w = np.vstack([white[:k], none]), np.vstack([white[k:], none])
        return cls(whitening, log_scale, log_prior, z, w, models.first, models.second, models.log_odds)

    @cached_property
    def inner(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Inner products of the columns."""
        return self.z @ self.z.T, self.w @ self.z.T, self.w @ self.w.T

    def weigh(self, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Log weight, and mean and variance of both standardised amplitudes, for every model."""
        white = self.whitening @ y
        zz, wz, ww = self.inner
        yz, wy, i, j = self.z @ white, self.w @ white, self.first, self.second
        far = white @ white - 2 * (yz[i] + yz[j]) + zz[i, i] + zz[j, j] + 2 * zz[i, j]
        v1 = wy[i] - wz[i, i] - wz[i, j]
        v2 = wy[j] - wz[j, i] - wz[j, j]
        a, b, c = 1 + ww[i, i], 1 + ww[j, j], ww[i, j]
        det = a * b - c**2
        fit = (b * v1**2 - 2 * c * v1 * v2 + a * v2**2) / det
        weight = self.log_prior + self.log_odds - 0.5 * (far - fit) - 0.5 * np.log(det) - self.log_scale
        mean = np.stack([(b * v1 - c * v2) / det, (a * v2 - c * v1) / det])
        return weight, mean, np.stack([b / det, a / det])


@dataclass(frozen=True)
class Weighed:
    """
    All models against some errors, one row for each model and between-speed scatter.

    Parameters
    ----------
    first, second : array of int, shape (m,)
        The shapes in each; the number of shapes stands for none.
    between_ev : array, shape (m,)
        Between-speed scatter, [EV].
    weight : array, shape (m,)
        Posterior probability, [-]; they add up to 1.
    mean, variance : array, shape (2, m)
        Amplitudes of both shapes, [EV] and [EV^2].
    scattered : array of bool, shape (m,)
        True where every speed is off in its own way.
    log_evidence : float
        Logarithm of the marginal likelihood of the whole family of models.
    """

    first: np.ndarray
    second: np.ndarray
    between_ev: np.ndarray
    weight: np.ndarray
    mean: np.ndarray
    variance: np.ndarray
    scattered: np.ndarray
    log_evidence: float

    def heavy(self, least: float = 1e-8) -> Weighed:
        """
        The models that carry any weight.

        Parameters
        ----------
        least : float
            Posterior probability below which one is left out, [-].

        Returns
        -------
        weighed : Weighed
            Mostly some hundreds of models instead of many thousands.
        """
        kept = self.weight > least
        return Weighed(
            self.first[kept],
            self.second[kept],
            self.between_ev[kept],
            self.weight[kept],
            self.mean[:, kept],
            self.variance[:, kept],
            self.scattered[kept],
            self.log_evidence,
        )


class Fit:
    """
    All models for a set of speeds, ready to be weighed against errors.

    A model has at most two shapes. One that moves all speeds takes the place of the sound shutter's own
    offset, which is otherwise part of the covariance.

    Parameters
    ----------
    shapes : Hypotheses
        Shapes; the first one is the sound shutter's own offset.
    noise : Noise
        Of the measured speeds.
    log_odds : array, shape (s,)
        Logarithm of the prior odds of each of `shapes.names`; the first is not used.
    scattered_log_odds : float
        The same for "every speed is off in its own way".
    practice : Practice
        Scatter between speeds.
    most : 1 or 2
        Shapes in a model.
    """

    def __init__(
        self,
        shapes: Hypotheses,
        noise: Noise,
        log_odds: np.ndarray,
        scattered_log_odds: float,
        practice: Practice,
        *,
        most: int = 2,
    ) -> None:
        self.shapes = shapes
        moved, steady = _models(shapes, log_odds, most)
        sound = moved.where((moved.first == 0) & (moved.second == len(shapes.sign)))
        offset = practice.sound_offset_ev**2
        self._parts: list[tuple[float, bool, _Whitened]] = []
        for ev, share in zip(practice.between_ev, practice.between_weights, strict=True):
            covariance = noise.covariance(ev)
            for models, more in ((moved, 0.0), (steady, offset)):
                part = _Whitened.of(covariance + more, math.log(share), shapes, models)
                self._parts.append((ev, False, part))
        for ev, share in zip(practice.scattered_ev, practice.scattered_weights, strict=True):
            log_prior = scattered_log_odds + math.log(share)
            self._parts.append((ev, True, _Whitened.of(noise.covariance(ev), log_prior, shapes, sound)))
        every = [*moved.log_odds, *steady.log_odds, scattered_log_odds]
        self._log_total = float(logsumexp(every))
        self.prior = self._prior(moved, steady, scattered_log_odds)

    def _prior(self, moved: _Models, steady: _Models, scattered_log_odds: float) -> dict[str, float]:
        first, second = (
            np.concatenate([getattr(m, name) for m in (moved, steady)]) for name in ("first", "second")
        )
        weight = np.exp(np.concatenate([moved.log_odds, steady.log_odds]) - self._log_total)
        found = self._by_sign(first, second, weight)
        found["no-pattern"] = math.exp(scattered_log_odds - self._log_total)
        return found

    def _by_sign(self, first: np.ndarray, second: np.ndarray, weight: np.ndarray) -> dict[str, float]:
        sign = np.append(self.shapes.sign, 0)  # no shape belongs to the sound shutter
        n = len(self.shapes.names)
        total = np.bincount(sign[first], weight, n) + np.bincount(sign[second], weight, n)
        total[0] = weight[(sign[first] == 0) & (sign[second] == 0)].sum()
        return {name: float(p) for name, p in zip(self.shapes.names, total, strict=True)}

    def usual(self, name: str) -> np.ndarray:
        """
        Errors that a sign of its usual size gives, without noise, from the middle one of its shapes.

        Parameters
        ----------
        name : str
            The sign's id; "" is the sound shutter.

        Returns
        -------
        errors : array, shape (n,)
            [EV].
        """
        every = self.shapes
        own = np.flatnonzero(every.sign == every.names.index(name))
        likeliest = own[every.log_weight[own] > every.log_weight[own].max() - 1e-9]
        middle = likeliest[np.argsort(every.at[likeliest], kind="stable")][len(likeliest) // 2]
        return np.asarray(every.expected[middle])

    def weigh(self, y: np.ndarray) -> Weighed:
        """
        Weigh every model against errors.

        Parameters
        ----------
        y : array, shape (n,)
            Errors, [EV].

        Returns
        -------
        weighed : Weighed
            Posterior weights and amplitudes.
        """
        done = [part.weigh(y) for _, _, part in self._parts]
        sizes = [len(part.first) for _, _, part in self._parts]
        log_weight = np.concatenate([one[0] for one in done]) - self._log_total
        total = float(logsumexp(log_weight))
        both = np.stack(
            [
                np.concatenate([part.first for _, _, part in self._parts]),
                np.concatenate([part.second for _, _, part in self._parts]),
            ]
        )
        mean, sd = np.append(self.shapes.mean, 0.0)[both], np.append(self.shapes.sd, 0.0)[both]
        return Weighed(
            first=both[0],
            second=both[1],
            between_ev=np.repeat([ev for ev, _, _ in self._parts], sizes),
            weight=np.exp(log_weight - total),
            mean=mean + sd * np.concatenate([one[1] for one in done], axis=1),
            variance=sd**2 * np.concatenate([one[2] for one in done], axis=1),
            scattered=np.repeat([scattered for _, scattered, _ in self._parts], sizes),
            log_evidence=total,
        )

    def probabilities(self, weighed: Weighed) -> dict[str, float]:
        """
        Probability of each sign.

        Parameters
        ----------
        weighed : Weighed
            Of these speeds.

        Returns
        -------
        probability : dict of str to float
            By the sign's id; "" is the sound shutter, "no-pattern" every speed off in its own way.
        """
        chosen = ~weighed.scattered
        found = self._by_sign(weighed.first[chosen], weighed.second[chosen], weighed.weight[chosen])
        found["no-pattern"] = float(weighed.weight[weighed.scattered].sum())
        return found


def _models(shapes: Hypotheses, log_odds: np.ndarray, most: int) -> tuple[_Models, _Models]:
    """Models with a shape that moves all speeds, the sound one included, and those without."""
    k = len(shapes.sign)
    odds = np.append(shapes.log_weight + log_odds[shapes.sign], 0.0)
    odds[0] = 0.0
    group = np.append(shapes.group, -1)
    first, second = np.triu_indices(k + 1, 1)
    sound = (first == 0) & (second < k)  # its offset stands beside other signs in the covariance
    allowed = (group[first] != group[second]) & ~sound & ((most == 2) | (second == k))
    every = _Models(first[allowed], second[allowed], (odds[first] + odds[second])[allowed])
    moved = group[every.first] == 0
    return every.where(moved), every.where(~moved)
