"""
Which look would narrow the price most.

The variance of the price is what is left after the answer, on average, and what the answer takes away (the
law of total variance). Every draw says how likely each answer is on it; so the price after an answer is the
mean of the draws, each weighted with that, and no answer need be drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pegwood.causes.drawn import Cameras, answers_of
from pegwood.causes.family_net import FamilyCauses
from pegwood.pricing.quote.work import Floats

#: So many draws are enough: chance alone then seems to narrow by 1 in 4,000 for each answer but one.
ENOUGH = 4_000


@dataclass(frozen=True, kw_only=True)
class Narrows:
    """
    A look.

    Attributes
    ----------
    sign, asks : str
        Its id, and the question.
    minutes : float
        To ask it, what must be off being off, [min].
    off : tuple of str
        Parts that must be off for it, by id.
    share : float
        Of the price's variance, what its answer takes away on average, [1].
    by_chance : float
        What a look that says nothing would seem to take away, [1].
    """

    sign: str
    asks: str
    minutes: float
    off: tuple[str, ...]
    share: float
    by_chance: float


def what_narrows(
    causes: FamilyCauses, cameras: Cameras, price: Floats, asked: Iterable[str], most: int
) -> tuple[Narrows, ...]:
    """
    The looks that would narrow a price most, the best first.

    Parameters
    ----------
    causes : FamilyCauses
    cameras : Cameras
    price : array, shape (n_draws,)
    asked : iterable of str
        Signs that need not be asked: answered, or nobody could.
    most : int
        How many are told; none that seems to narrow it no more than three times what chance would.
    """
    asked = frozenset(asked)
    signs = [sign for sign in causes.signs if sign not in asked]
    few = cameras.first(ENOUGH)
    price = price[: len(few)]
    off_mean = price - price.mean()
    variance = float(off_mean @ off_mean) / len(price)
    if not (variance > 0 and signs and most > 0):
        return ()
    found = []
    for sign, chances in answers_of(causes, few, signs).items():
        weight = chances.sum(axis=1, dtype=np.float64)
        moved = chances @ off_mean.astype(np.float32)
        comes = weight > 0
        share = float((moved[comes] ** 2 / weight[comes]).sum()) / len(price) / variance
        of, by_chance = causes.signs[sign], (int(comes.sum()) - 1) / len(price)
        if share > 3 * by_chance:
            found.append(
                Narrows(
                    sign=sign,
                    asks=of.asks,
                    minutes=of.minutes,
                    off=of.off,
                    share=min(1.0, share),
                    by_chance=by_chance,
                )
            )
    return tuple(sorted(found, key=lambda one: (-one.share, one.sign))[:most])
