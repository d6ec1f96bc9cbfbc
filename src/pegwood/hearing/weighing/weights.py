"""Weights of the signs, as the language's file of weights tells them."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import cache, cached_property
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

FOLDER = "pegwood.hearing.languages"
#: Rows of a choice that are added up at once: more cost memory, fewer cost time.
AT_ONCE = 256
#: From here on [1] it is worth looking at how likely something is.
HARDLY = 0.01


class BadWeights(ValueError):
    """A file of weights that does not hold what it should."""


@dataclass(frozen=True)
class Scale:
    """
    A sum of weights that becomes a probability: logistic regression.

    Attributes
    ----------
    level : float
        The sum where no sign is there [log odds].
    signs : mapping of str to float
        What each sign adds [log odds].
    """

    level: float
    signs: Mapping[str, float]

    def sum(self, signs: Iterable[str]) -> float:
        """What signs add [log odds]."""
        return math.fsum(filter(None, map(self.signs.get, set(signs))))

    def probability(self, added: float) -> float:
        """Of what signs added, the level put to it [1]."""
        return 1 / (1 + math.exp(-max(-50.0, min(50.0, self.level + added))))


class Pair:
    """Two scales that weigh the same signs: looked up once for both."""

    def __init__(self, one: Scale, other: Scale) -> None:
        self._scales = one, other
        self._weights = {
            sign: (one.signs.get(sign, 0.0), other.signs.get(sign, 0.0))
            for sign in {**one.signs, **other.signs}
        }

    def probabilities(self, signs: Iterable[str]) -> tuple[float, float]:
        """Of each scale [1]."""
        found = list(filter(None, map(self._weights.get, set(signs))))
        firsts, seconds = zip(*found, strict=True) if found else ((), ())
        one, other = self._scales
        return one.probability(math.fsum(firsts)), other.probability(math.fsum(seconds))


def rivals(sums: Sequence[float]) -> list[float]:
    """
    Probabilities of which one or none holds [1], of their sums on a scale [log odds].

    Conditional logistic regression (D. McFadden, "Conditional logit analysis of qualitative choice
    behavior", 1974; `memory`) in which to choose none of them is worth 0.
    """
    most = max([0.0, *sums])
    raised = [math.exp(one - most) for one in sums]
    whole = math.exp(-most) + math.fsum(raised)
    return [one / whole for one in raised]


@dataclass(frozen=True)
class Choice:
    """
    Sums of weights of which the largest is chosen: multinomial logistic regression.

    Attributes
    ----------
    levels : mapping of str to float
        By what may be chosen, its sum where no sign is there [log odds].
    signs : mapping of str to mapping of str to float
        What each sign adds to each [log odds].
    """

    levels: Mapping[str, float]
    signs: Mapping[str, Mapping[str, float]]
    _level: NDArray[np.float64] = field(init=False, repr=False, compare=False)
    _row: Mapping[str, int] = field(init=False, repr=False, compare=False)
    _rows: NDArray[np.float64] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        places = {name: at for at, name in enumerate(self.levels)}
        rows = np.zeros((len(self.signs), len(places)))
        for row, weights in zip(rows, self.signs.values(), strict=True):
            for name, weight in weights.items():
                row[places[name]] = weight
        object.__setattr__(self, "_level", np.array(list(self.levels.values()), dtype=np.float64))
        object.__setattr__(self, "_row", {sign: at for at, sign in enumerate(self.signs)})
        object.__setattr__(self, "_rows", rows)

    def probabilities(self, signs: Iterable[str]) -> dict[str, float]:
        """Of each that may be chosen [1]; they add up to one."""
        if not self.levels:
            return {}
        shares: Sequence[float] = self.shares([signs])[0].tolist()
        return dict(zip(self.levels, shares, strict=True))

    def among(self, names: Sequence[str]) -> Choice:
        """The choice between some of what may be chosen, in their order, where nothing else may be."""
        places = {name: at for at, name in enumerate(self.levels)}
        mine = [places[name] for name in names]
        narrow = object.__new__(Choice)  # its rows are a part of these: to lay them out again takes long
        kept = {"_level": self._level[mine], "_row": self._row, "_rows": self._rows[:, mine]}
        for key, value in {
            "levels": {name: self.levels[name] for name in names},
            "signs": {},
            **kept,
        }.items():
            object.__setattr__(narrow, key, value)
        return narrow

    def shares(self, many: Sequence[Iterable[str]]) -> NDArray[np.float64]:
        """
        The same of many at once.

        Parameters
        ----------
        many : sequence of iterable of str
            The signs of each.

        Returns
        -------
        array, shape (n, k)
            Of each that may be chosen, in the order of `levels`; rows add up to one [1].
        """
        sums = np.tile(self._level, (len(many), 1))
        for first in range(0, len(many), AT_ONCE):
            self._add(many[first : first + AT_ONCE], sums[first : first + AT_ONCE])
        raised = np.exp(sums - sums.max(axis=1, keepdims=True, initial=-np.inf))
        shares: NDArray[np.float64] = raised / raised.sum(axis=1, keepdims=True)
        return shares

    def likely(self, many: Sequence[Iterable[str]]) -> list[dict[str, float]]:
        """Of many at once, by name, those that are not hardly likely [1]."""
        found: list[dict[str, float]] = [{} for _ in many]
        if not many or not self.levels:
            return found
        names, shares = list(self.levels), self.shares(many)
        rows, places = np.nonzero(shares >= HARDLY)
        for row, at, share in zip(rows.tolist(), places.tolist(), shares[rows, places].tolist(), strict=True):
            found[row][names[at]] = share
        return found

    def _add(self, many: Sequence[Iterable[str]], sums: NDArray[np.float64]) -> None:
        row_of = self._row.get
        shown: list[int] = []
        begins: list[int] = []
        where: list[int] = []
        for at, signs in enumerate(many):
            mine = {row for sign in signs if (row := row_of(sign)) is not None}
            if mine:
                begins.append(len(shown))
                where.append(at)
                shown += sorted(mine)  # always rounded the same way
        if shown:
            sums[where] += np.add.reduceat(self._rows[shown], begins, axis=0)


@dataclass(frozen=True)
class Weights:
    """
    The scales on which talk is weighed.

    Attributes
    ----------
    remark, nothing : Scale
        That a sentence is about such cameras in general; that it tells nothing of any.
    meant : Scale
        That a condition is told of a part.
    denied, unsure : Scale
        That it is denied; that it is a conjecture.
    words : Choice
        Which condition the words of a stretch tell, or "none".
    about : Choice
        Which part the words of a sentence tell of, by its id.
    works : Choice
        Which work the words of a stretch tell, or "none".
    worked : Scale
        That work is told of a part.
    done : Scale
        That it is done already.
    remark_from, meant_from, denied_from, unsure_from, worked_from : float
        Probabilities from which on each is taken to be so [1].
    learned_from : str
        The beginning of the SHA-256 of the labelled talk, so that weights that are older than it show.
    """

    remark: Scale
    nothing: Scale
    meant: Scale
    denied: Scale
    unsure: Scale
    words: Choice
    about: Choice
    works: Choice
    worked: Scale
    done: Scale
    remark_from: float
    meant_from: float
    denied_from: float
    unsure_from: float
    worked_from: float
    learned_from: str

    @cached_property
    def kinds(self) -> Pair:
        """`remark` and `nothing`."""
        return Pair(self.remark, self.nothing)

    @cached_property
    def manners(self) -> Pair:
        """`denied` and `unsure`."""
        return Pair(self.denied, self.unsure)


def read_weights(text: str, name: str) -> Weights:
    """
    Weights from the text of their file.

    Raises
    ------
    BadWeights
        With the file's name and what is wrong with it.
    """
    try:
        table = json.loads(text)
    except json.JSONDecodeError as error:
        raise BadWeights(f"{name}: {error}") from error
    wanted = [one.name for one in fields(Weights)]
    if not isinstance(table, dict) or sorted(table) != sorted(wanted):
        raise BadWeights(f"{name}: expected {', '.join(wanted)}.")
    return Weights(**{key: _value(key, table[key], name) for key in wanted})


def _value(key: str, value: Any, name: str) -> Any:
    if key == "learned_from":
        if not isinstance(value, str):
            raise BadWeights(f"{name}: {key}: expected a text.")
        return value
    if key.endswith("_from"):
        if not isinstance(value, float) or not 0 < value < 1:
            raise BadWeights(f"{name}: {key}: expected a number between 0 and 1.")
        return value
    shown = sorted(value) if isinstance(value, dict) else []
    if key in ("words", "about", "works") and shown == ["levels", "signs"]:
        return Choice(value["levels"], value["signs"])
    if shown != ["level", "signs"]:
        raise BadWeights(f"{name}: {key}: expected level and signs.")
    return Scale(float(value["level"]), value["signs"])


@cache
def weights_of(language: str) -> Weights | None:
    """The weights kept for a language; None where nothing was learned yet, and the rules stand alone."""
    file = resources.files(FOLDER) / f"{language}.weights.json"
    return read_weights(file.read_text("utf-8"), file.name) if file.is_file() else None
