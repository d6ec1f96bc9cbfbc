"""
From signs to places: Bayes' rule over tables of stated chances, and what the pictures say.

Signs are taken as independent once the place is known, which they nearly are. The tables are eased by
judgement; how far so is set right by one exponent on their product (`temper`), so that the chances told come
true as often as they say on drawn strips.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

from pegwood.instruments.leaks.signs import Signs

__all__ = ["PLACES", "chances", "picture_weights", "prior_of", "source_of", "thresholds"]

PLACES = (
    "gate side",
    "back seal, top",
    "back seal, bottom",
    "cassette",
    "hinge side",
    "lens board or bellows",
    "none",
)


_GATE, _FRONT = "gate side", "lens board or bellows"


def picture_weights() -> dict[str, float]:
    """How much what all pictures share counts for."""
    return {k: float(v) for k, v in _table()["pictures"].items() if not isinstance(v, (str, dict))}


def thresholds() -> dict[str, float]:
    """Shares and factors by which signs are read."""
    return {k: float(v) for k, v in _table()["thresholds"].items() if not isinstance(v, str)}


def source_of() -> tuple[str, str]:
    """Source and mark of the chances."""
    return _table()["about"]["source"], _table()["about"]["mark"]


def prior_of(place: str) -> float:
    """How likely a place was taken to be before anything was seen, [1]."""
    return float(_table()["prior"][place])


def chances(signs: Signs) -> dict[str, float]:
    """
    How likely each place is.

    Parameters
    ----------
    signs : Signs

    Returns
    -------
    chances : dict of str to float
        By place, the likeliest first; they sum to 1.
    """
    table = _table()
    temper = float(table["signs"]["temper"])
    weight = {}
    for place in PLACES:
        told = sum(math.log(_chance(table, name, signs.as_words()[name], place)) for name in _TABLES)
        weight[place] = math.log(float(table["prior"][place])) + temper * told + _of_pictures(signs, place)
    highest = max(weight.values())
    shares = {place: math.exp(value - highest) for place, value in weight.items()}
    total = sum(shares.values())
    return dict(sorted(((p, s / total) for p, s in shares.items()), key=lambda one: -one[1]))


_TABLES = ("edge", "across", "course", "gate")


def _of_pictures(signs: Signs, place: str) -> float:
    """What pictures say for a place; fog from elsewhere may lie in them as if it came with the frame."""
    seen = signs.repeats
    if place in (_GATE, _FRONT):
        return seen.side if place == _GATE else seen.inside
    shared = float(_table()["pictures"]["shared"].get(place, 0.0))
    return math.log(1 - shared + shared * math.exp(max(seen.side, seen.inside)))


def _chance(table: Mapping[str, Any], name: str, word: str, place: str) -> float:
    return float(table["signs"][name][word][PLACES.index(place)])


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(resources.files(__package__).joinpath("places.toml").read_text("utf-8"))
