"""
How likely a fault is before any sign, after a story of which part is told, part denied and the rest unknown.

The files give a fault's chance in a camera of unknown history, and by what each thing in the story multiplies
its odds against the same camera without that. So the odds in a camera of which nothing in the story is true
are looked for, such that over all histories, each thing as common as `pegwood.causes.story.COMMON` has it,
the chance comes out as the file says. What nobody told is unknown, not absent.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import expit

from pegwood.causes.known import Fault
from pegwood.causes.story import COMMON

Floats = npt.NDArray[np.float64]
#: Natural logarithms of odds between which the odds of a fault with no story lie.
FURTHEST = 80.0
#: A chance before any sign stays this far from 0 and 1: what is ruled against all odds must be possible.
NEAREST = 1e-12


def chance(fault: Fault, story: Mapping[str, bool]) -> float:
    """
    The chance of a fault before any sign, [1].

    Parameters
    ----------
    fault : Fault
    story : mapping of str to bool
        What is told and what is denied; what is not in it is unknown.
    """
    return float(chances(fault, (), np.zeros((1, 0), dtype=bool), story)[0])


def chances(
    fault: Fault, items: tuple[str, ...], states: npt.NDArray[np.bool_], story: Mapping[str, bool]
) -> Floats:
    """
    The chance of a fault in each of several stories, [1].

    Parameters
    ----------
    fault : Fault
    items : tuple of str
    states : array of bool, shape (n_states, n_items)
        Whether each item is so.
    story : mapping of str to bool
        What is told and denied besides.

    Returns
    -------
    array, shape (n_states,)
    """
    raised = {one.by: math.log(one.odds) for one in fault.raised}
    start = no_story(fault.prior, tuple(sorted(raised.items())))
    start += sum(by for item, by in raised.items() if story.get(item, False) and item not in items)
    told = start + states @ np.array([raised.get(item, 0.0) for item in items])
    rest = tuple(sorted((item, by) for item, by in raised.items() if item not in items and item not in story))
    logs, weights = _histories(rest)
    mixed: Floats = expit(told[:, np.newaxis] + logs) @ weights
    return np.clip(mixed, NEAREST, 1 - NEAREST)


@lru_cache(maxsize=8192)
def no_story(prior: float, raised: tuple[tuple[str, float], ...]) -> float:
    """
    Natural logarithm of a fault's odds in a camera of which nothing in the story is true.

    Parameters
    ----------
    prior : float
        In a camera of unknown history, [1].
    raised : tuple of (str, float)
        What in the story multiplies its odds, and the logarithm of by what.
    """
    logs, weights = _histories(raised)
    if len(weights) == 1:
        return math.log(prior / (1 - prior))

    def off(start: float) -> float:
        return float(expit(start + logs) @ weights) - prior

    return float(brentq(off, -FURTHEST, FURTHEST, xtol=1e-14, rtol=1e-15))


@lru_cache(maxsize=8192)
def _histories(raised: Iterable[tuple[str, float]]) -> tuple[Floats, Floats]:
    """Over all that may be so or not: what it adds to the logarithm of the odds, and how common that is."""
    logs, weights = np.zeros(1), np.ones(1)
    for item, by in raised:
        common = COMMON[item]
        logs = np.concatenate((logs, logs + by))
        weights = np.concatenate((weights * (1 - common), weights * common))
    return logs, weights
