"""Logistic regression (scikit-learn) into the scales and choices that the hearing room weighs with."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize
from sklearn.exceptions import ConvergenceWarning
from sklearn.feature_extraction.text import CountVectorizer
from sklearn.linear_model import LogisticRegression

from pegwood.hearing.weighing.weights import Choice, Scale

#: Weights smaller than this are left out [log odds].
LEAST_WEIGHT = 0.05
#: Narrations that must show a sign, for it to be weighed.
LEAST_SOURCES = 2
#: Steps of the fit of a choice, and the smallest weight of it that is kept [log odds].
MOST_STEPS, LEAST_CHOSEN = 60, 0.15
MOST_RIVAL_STEPS = 150


def _itself(signs: Sequence[str]) -> Sequence[str]:
    return signs


@dataclass(frozen=True)
class Row:
    """An example of a scale: its signs, whether it is so, the narration it is of, and what it counts."""

    signs: Sequence[str]
    true: bool
    source: str
    weight: float


def fitted(rows: Sequence[Row], c: float) -> Scale:
    """Logistic regression with a ridge, on the signs that more than one narration shows."""
    return Laid.of(rows).scale([row.true for row in rows], c)


@dataclass(frozen=True)
class Laid:
    """Examples as a matrix: a row each, a column for every sign that more than one narration shows."""

    matrix: Any
    shown: list[str]
    weights: np.ndarray[Any, np.dtype[np.float64]]

    @classmethod
    def of(cls, rows: Sequence[Row]) -> Laid:
        """Lay rows out."""
        seen: dict[str, set[str]] = {}
        for row in rows:
            for sign in row.signs:
                seen.setdefault(sign, set()).add(row.source)
        shown = sorted(sign for sign, sources in seen.items() if len(sources) >= LEAST_SOURCES)
        counter = CountVectorizer(analyzer=_itself, binary=True, vocabulary=shown)
        matrix = counter.transform([row.signs for row in rows])
        matrix.indices, matrix.indptr = matrix.indices.astype(np.int32), matrix.indptr.astype(np.int32)
        return cls(matrix, shown, np.array([row.weight for row in rows]))

    def scale(self, true: Sequence[bool], c: float) -> Scale:
        """The scale that tells which rows are so."""
        model = LogisticRegression(C=c, solver="liblinear", max_iter=500)
        model.fit(self.matrix, np.array(true), sample_weight=self.weights)
        named = zip(self.shown, model.coef_[0], strict=True)
        kept = {name: round(float(w), 3) for name, w in named if abs(w) >= LEAST_WEIGHT}
        return Scale(round(float(model.intercept_[0]), 3), kept)

    def rivals(self, true: Sequence[bool], cues: Sequence[int], c: float) -> Scale:
        """
        The scale on which the right one of the rows with the same cue outweighs the others, and none of them
        where none is right: conditional logistic regression with a ridge.

        The sum over what is right is made likely; where more rows than one are right they share it.
        """
        fit = _Rivals(self.matrix, np.array(true), np.unique(cues, return_inverse=True)[1], self.weights, c)
        start = np.zeros(self.matrix.shape[1] + 1)
        found = minimize(fit, start, jac=True, method="L-BFGS-B", options={"maxiter": MOST_RIVAL_STEPS}).x
        named = zip(self.shown, found[:-1], strict=True)
        kept = {name: round(float(w), 3) for name, w in named if abs(w) >= LEAST_WEIGHT}
        return Scale(round(float(found[-1]), 3), kept)

    def choice(self, chosen: Sequence[str], c: float, least: float = LEAST_CHOSEN) -> Choice:
        """The choice that tells what each row is."""
        model = LogisticRegression(C=c, solver="lbfgs", max_iter=MOST_STEPS)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ConvergenceWarning)  # near enough after so many steps
            model.fit(self.matrix, np.array(chosen), sample_weight=self.weights)
        names = [str(name) for name in model.classes_]
        signs: dict[str, dict[str, float]] = {}
        for at, sign in enumerate(self.shown):
            column = model.coef_[:, at]
            kept = {names[k]: round(float(column[k]), 2) for k in np.flatnonzero(abs(column) >= least)}
            if kept:
                signs[sign] = kept
        levels = {name: round(float(one), 3) for name, one in zip(names, model.intercept_, strict=True)}
        return Choice(levels, signs)


class _Rivals:
    """What is lost by weights, and its slope: of a matrix of rows, the right ones, their cues from 0 on."""

    def __init__(self, matrix: Any, true: Any, cues: Any, weights: Any, c: float) -> None:
        self._matrix, self._turned = matrix.astype(np.float64), matrix.T.tocsr().astype(np.float64)
        self._true, self._cues, self._c = true, cues, c
        self._count = int(cues.max()) + 1
        self._weights = np.zeros(self._count)
        self._weights[cues] = weights
        self._told = np.bincount(cues, true, self._count) > 0

    def _summed(self, values: Any) -> Any:
        return np.bincount(self._cues, values, self._count)

    def __call__(self, found: Any) -> tuple[float, Any]:
        cues, weights = self._cues, self._weights
        sums = self._matrix @ found[:-1] + found[-1]
        most = np.zeros(self._count)
        np.maximum.at(most, cues, sums)
        raised = np.exp(sums - most[cues])
        none = np.exp(-most)
        whole = none + self._summed(raised)
        right = np.where(self._true, raised, 0.0)
        right_whole = self._summed(right)
        lost = weights @ (np.log(whole) - np.log(np.where(self._told, right_whole, none)))
        share = right / np.where(self._told, right_whole, 1.0)[cues]
        slope = weights[cues] * (raised / whole[cues] - share)
        kept = found[:-1]
        slopes = np.append(self._turned @ slope + kept / self._c, slope.sum())
        return float(lost + kept @ kept / (2 * self._c)), slopes
