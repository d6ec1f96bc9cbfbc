"""Logistic regression (scikit-learn) into the scales and choices that the hearing room weighs with."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
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
