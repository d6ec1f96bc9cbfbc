"""
Cameras drawn from all that is known of one: what is wrong with each of them together, and its story.

First the story, from its posterior; then, given that, all faults of each lot that hangs together by the
signs; so the draws are exact and keep what goes with what. Something of the story that bears on nothing that
was seen is as common after as before; it is drawn too, since it makes several faults likelier at once. Of
what leaves no trace and nobody told, every fault has its chance by itself, as everywhere
(`causes.story_net`).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.inference.in_rows import sorted_rows
from pegwood.causes.inference.joint import Bools, drawn_together, log_seen
from pegwood.causes.inference.rows import TooWide
from pegwood.causes.story import COMMON, TRACED
from pegwood.causes.story_net import priors_in, rows_of, stories_of

Few = NDArray[np.float32]
#: A level no draw reaches: its logarithm, so that sums of it stay finite.
NEVER = -1e4
#: More draws than this are no better, and fill the memory.
MOST_DRAWS = 1_000_000


class CannotDraw(ValueError):
    """No camera can be drawn: one line that says why and what to do."""


@dataclass(frozen=True, eq=False)
class Cameras:
    """
    Cameras drawn from the posterior of one case.

    Attributes
    ----------
    faults : tuple of str
        In the family's order.
    there : array of bool, shape (n_draws, n_faults)
    items : tuple of str
        What of the story leaves traces.
    story : array of bool, shape (n_draws, n_items)
    seed : int
    """

    faults: tuple[str, ...]
    there: Bools
    items: tuple[str, ...]
    story: Bools
    seed: int

    def __len__(self) -> int:
        return len(self.there)

    def first(self, most: int) -> Cameras:
        """The first so many: draws like all the others."""
        return replace(self, there=self.there[:most], story=self.story[:most])


def cameras(causes: FamilyCauses, case: Case, draws: int, seed: int) -> Cameras:
    """
    Cameras drawn from the posterior of a case: the same for the same seed.

    Parameters
    ----------
    causes : FamilyCauses
    case : Case
    draws : int
        How many; 1 to `MOST_DRAWS`.
    seed : int
        Of numpy's default generator; 0 or more.

    Raises
    ------
    CannotDraw
        If what was seen is impossible together, or hangs together too widely to be drawn from exactly.
    ValueError
        If the number or the seed cannot be, or the case speaks of what is none of the family.
    """
    if not 1 <= draws <= MOST_DRAWS:
        raise ValueError(f"{draws} draws cannot be. Expected 1 to {MOST_DRAWS}.")
    if seed < 0:
        raise ValueError(f"the seed is {seed}. Expected 0 or more.")
    rng = np.random.default_rng(seed)
    stories = stories_of(
        causes, case.answers, case.rulings, told=case.told, denied=case.denied, odds=case.odds
    )
    try:
        net, priors, known = rows_of(causes, stories, case.rulings)
        here = sorted_rows(net, case.answers, priors, known)
    except TooWide as wide:
        raise CannotDraw(
            "What was answered hangs together too widely to draw from exactly. "
            "Rule on a fault that is plain to see, or take an answer back that says little."
        ) from wide
    logs = stories.logs + log_seen(here)
    if not np.isfinite(logs.max()):
        raise CannotDraw(
            "What was answered and found cannot all be, as the knowledge has it. "
            "Look again, or take one answer or ruling back."
        )
    weights = np.exp(logs - logs.max())
    row = rng.choice(len(weights), size=draws, p=weights / weights.sum())
    story = np.empty((draws, len(TRACED)), dtype=bool)
    for n, item in enumerate(TRACED):
        if item in stories.items:
            story[:, n] = stories.states[row, stories.items.index(item)]
        elif item in stories.story:
            story[:, n] = stories.story[item]
        else:
            story[:, n] = rng.random(draws) < COMMON[item]
    there = drawn_together(here, row, rng)[:, : len(causes.faults)]
    rest = [item for item in TRACED if item not in stories.items and item not in stories.story]
    if raised := _raised_by(causes, rest):
        # nothing is seen of these, or what raises them would be among `stories.items`
        items = (*stories.items, *rest)
        state = story[:, [TRACED.index(item) for item in items]] @ (1 << np.arange(len(items)))
        told = tuple(sorted(stories.story.items()))
        chance = priors_in(causes, items, told)[:, raised].astype(np.float32)[state]
        there[:, raised] = rng.random(chance.shape, dtype=np.float32) < chance
    return Cameras(tuple(causes.faults), there, TRACED, story, seed)


def _raised_by(causes: FamilyCauses, items: Iterable[str]) -> list[int]:
    """Where the faults stand that one of these raises or lowers."""
    these = frozenset(items)
    return [
        n
        for n, fault in enumerate(causes.faults.values())
        if not these.isdisjoint(one.by for one in fault.raised)
    ]


def answers_of(causes: FamilyCauses, drawn: Cameras, signs: Iterable[str]) -> dict[str, Few]:
    """
    How likely each answer to some signs is on each of the cameras drawn.

    What is seen is the highest level that a fault, the story or the leak shows, each by itself: so the chance
    of a level at most is the product of theirs.

    Parameters
    ----------
    causes : FamilyCauses
        The family the cameras were drawn from.
    drawn : Cameras
    signs : iterable of str
        None of them answered: given what is wrong, and the story, they speak each for itself.

    Returns
    -------
    chances : dict of str to array, shape (n_levels, n_draws)
    """
    columns, logs = _logs_upto(causes)
    asked = {sign: columns[sign] for sign in signs}
    rows = [n for of in asked.values() for n in range(of.start, of.stop)]
    what = np.ones((len(drawn.faults) + len(drawn.items) + 1, len(drawn)), dtype=np.float32)
    what[: len(drawn.faults)] = drawn.there.T
    what[len(drawn.faults) : -1] = drawn.story.T
    upto = np.exp(np.asarray(logs[rows] @ what))
    found: dict[str, Few] = {}
    first = 0
    for sign, of in asked.items():
        levels = of.stop - of.start
        chances = np.ones((levels + 1, len(drawn)), dtype=np.float32)
        chances[:-1] = upto[first : first + levels]
        chances[1:] -= upto[first : first + levels]
        found[sign], first = chances, first + levels
    return found


@lru_cache(maxsize=32)
def _logs_upto(causes: FamilyCauses) -> tuple[dict[str, slice], csr_array]:
    """
    For each level of each sign but its last: the logarithm of the chance that each fault, each item of the
    story and, last, the leak show that level at most. The rows of each sign, and the table.
    """
    at = {name: n for n, name in enumerate((*causes.faults, *TRACED))}
    columns: dict[str, slice] = {}
    rows: list[Few] = []
    for sign in causes.signs.values():
        mine = np.zeros((len(sign.answers) - 1, len(at) + 1), dtype=np.float32)
        mine[:, -1] = _log_upto(sign.leak)
        for shown in sign.shown_by:
            mine[:, at[shown.fault]] = _log_upto(shown.shows)
        for tells in sign.tells_of:
            mine[:, at[tells.by]] = _log_upto(tells.shows)
        columns[sign.id] = slice(len(rows), len(rows) + len(mine))
        rows.extend(mine)
    return columns, csr_array(np.array(rows, dtype=np.float32).reshape(len(rows), len(at) + 1))


def _log_upto(chances: tuple[float, ...]) -> list[float]:
    """Logarithm of the chance of each level at most, but the last."""
    return [math.log(upto) if upto > 0 else NEVER for upto in itertools.accumulate(chances[:-1])]
