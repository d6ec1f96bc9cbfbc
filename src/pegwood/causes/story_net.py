"""
The chances of all faults after signs, with what nobody told of the story as causes of many faults at once.

Foreign glue under a covering says that somebody was in there, and so raises every fault of an earlier repair
in the whole camera; rust in one place says that it was wet, and raises rust in all others. What leaves traces
(`TRACED`) and is neither told nor denied is gone through in all its combinations: in each story the faults
come independently, and each is weighed by how common it is and how well it explains what was seen. This is
exact. What leaves none (years and use) bears on each fault by itself, as in `FamilyCauses.net`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from pegwood.causes.before_signs import Floats, chances
from pegwood.causes.family_net import FamilyCauses, story_of
from pegwood.causes.inference import FaultNet
from pegwood.causes.inference.in_rows import in_rows
from pegwood.causes.story import COMMON, TRACED


@dataclass(frozen=True)
class StoryPosterior:
    """
    What the signs say.

    Attributes
    ----------
    faults : mapping of str to float
        Chance of each fault, [1].
    story : mapping of str to float
        Chance of each thing of the story that leaves traces, [1]; 1 and 0 where it was told or denied.
    log_evidence : float
        Natural logarithm of the chance of what was seen, given the story told and what was found; minus
        infinity where the knowledge holds it impossible: then all chances are those before the signs.
    before : mapping of str to float
        Chance of each fault as it would be before the signs, were each story as likely as it is now, [1].
    by_story : mapping of str to float
        Likewise, but before all that was found of the fault, too: only the story speaks, [1]. What a fault's
        chance differs from this by, its own signs and findings did. Empty where approximate.
    approximate : bool
    off : float
        By how much a chance may be off at most where it is approximate, [1].
    """

    faults: Mapping[str, float]
    story: Mapping[str, float]
    log_evidence: float
    before: Mapping[str, float]
    by_story: Mapping[str, float] = field(default_factory=dict)
    approximate: bool = False
    off: float = 0.0

    @property
    def is_possible(self) -> bool:
        """Whether what was seen could come about at all."""
        return self.log_evidence > -math.inf


@dataclass(frozen=True)
class Stories:
    """
    All stories that may be, as far as they bear on what is known.

    Attributes
    ----------
    items : tuple of str
        What is unknown.
    states : array of bool, shape (n_states, n_items)
        Whether it is so.
    logs : array, shape (n_states,)
        Natural logarithm of how common each story is together with what was found.
    priors : array, shape (n_states, n_faults)
        Chance of each fault before any sign, in the order of `FamilyCauses.faults`.
    by_story : array, shape (n_states, n_faults)
        Likewise, before all that was found, too.
    story : mapping of str to bool
        What was told and denied.
    """

    items: tuple[str, ...]
    states: npt.NDArray[np.bool_]
    logs: Floats
    priors: Floats
    by_story: Floats
    story: Mapping[str, bool]


def posterior_over_stories(
    causes: FamilyCauses,
    evidence: Mapping[str, Sequence[float]],
    known: Mapping[str, bool] | None = None,
    *,
    told: Iterable[str] = (),
    denied: Iterable[str] = (),
    odds: Mapping[str, float] | None = None,
) -> StoryPosterior:
    """
    The chances of all faults, and of what is unknown of the story, after signs.

    Parameters
    ----------
    causes : FamilyCauses
    evidence : mapping of str to sequence of float
        By sign: how likely what was seen is at each of its levels.
    known : mapping of str to bool, optional
        Faults that were found, or found not to be there.
    told, denied : iterable of str
        Of the story. The rest is unknown, and as common as `COMMON` has it.
    odds : mapping of str to float, optional
        By fault: how many times as likely something seen elsewhere is if it is there, [1].

    Raises
    ------
    ValueError
        As `posterior` and `story_of`.
    TooWide
        If it cannot be done exactly.
    """
    known, odds = known or {}, odds or {}
    stories = stories_of(causes, evidence, known, told=told, denied=denied, odds=odds)
    net, priors, known_in_rows = rows_of(causes, stories, known)
    seen, of_each = in_rows(net, evidence, priors, known_in_rows)
    of_each = of_each[:, : len(causes.faults)]
    before = _shares(stories.logs)
    log_evidence = _log_sum(stories.logs + seen) - _log_sum(stories.logs)
    shares = _shares(stories.logs + seen) if log_evidence > -math.inf else before
    if log_evidence == -math.inf:
        of_each = stories.priors
    return StoryPosterior(
        faults=dict(zip(causes.faults, map(float, _mixed(shares, of_each)), strict=True)),
        story={
            item: float(shares @ stories.states[:, stories.items.index(item)])
            if item in stories.items
            else float(stories.story.get(item, COMMON[item]))
            for item in TRACED
        },
        log_evidence=log_evidence,
        before=dict(zip(causes.faults, map(float, _mixed(shares, stories.priors)), strict=True)),
        by_story=dict(zip(causes.faults, map(float, _mixed(shares, stories.by_story)), strict=True)),
    )


def rows_of(
    causes: FamilyCauses, stories: Stories, known: Mapping[str, bool]
) -> tuple[FaultNet, Floats, dict[str, npt.NDArray[np.bool_]]]:
    """The net, the chances before signs and what is known, each story a row, as `in_rows` takes them."""
    priors = np.hstack([stories.priors, np.full((len(stories.states), len(TRACED)), 0.5)])
    items = {item: np.full(len(priors), so) for item, so in stories.story.items() if item in TRACED}
    items |= dict(zip(stories.items, stories.states.T, strict=True))
    there = {fault: np.full(len(priors), is_there) for fault, is_there in known.items()}
    return causes.net_with_story, priors, items | there


def stories_of(
    causes: FamilyCauses,
    evidence: Iterable[str],
    known: Mapping[str, bool],
    *,
    told: Iterable[str],
    denied: Iterable[str],
    odds: Mapping[str, float],
) -> Stories:
    """
    All stories that may be, told apart as far as they bear on a fault or a sign of which something is known.

    What bears on nothing of that is as common after as before: each fault has its chance over both.
    """
    if strange := known.keys() - causes.faults.keys():
        raise ValueError(f"{min(strange)!r} is no fault here.")
    story = story_of(told, denied)
    signs = [causes.signs[sign] for sign in evidence if sign in causes.signs]
    touched = {one.fault for sign in signs for one in sign.shown_by} | known.keys() | odds.keys()
    speaks = {one.by for sign in signs for one in sign.tells_of}
    speaks |= {one.by for fault in touched & causes.faults.keys() for one in causes.faults[fault].raised}
    items = tuple(item for item in TRACED if item in speaks and item not in story)
    states = _states(items)
    common = np.array([COMMON[item] for item in items])
    logs = np.log(np.where(states, common, 1 - common)).sum(axis=1)
    by_story = priors_in(causes, items, tuple(sorted(story.items())))
    priors = by_story.copy()
    for at, fault in enumerate(causes.faults):
        of = priors[:, at]
        factor = odds.get(fault, 1.0)
        logs += np.log(of * factor + (1 - of))
        of = of * factor / (of * factor + (1 - of))
        if fault in known:
            logs += np.log(of if known[fault] else 1 - of)
            of = np.full_like(of, float(known[fault]))
        priors[:, at] = of
    return Stories(items, states, logs, priors, by_story, story)


def _states(items: tuple[str, ...]) -> npt.NDArray[np.bool_]:
    """Every combination of what may be so or not, (states, items)."""
    return (np.arange(1 << len(items))[:, np.newaxis] >> np.arange(len(items)) & 1).astype(bool)


@lru_cache(maxsize=128)
def priors_in(causes: FamilyCauses, items: tuple[str, ...], story: tuple[tuple[str, bool], ...]) -> Floats:
    """
    Chance of each fault before any sign in each story, (states, faults): answers do not change it.

    The states count up in binary, the first item the lowest bit.
    """
    states = _states(items)
    of_each = [chances(fault, items, states, dict(story)) for fault in causes.faults.values()]
    return np.array(of_each).reshape(len(of_each), len(states)).T  # a family may have none


def _mixed(shares: Floats, chances: Floats) -> Floats:
    """Chances over all stories; rounding may not carry them beyond 0 and 1."""
    return np.clip(shares @ chances, 0.0, 1.0)


def _shares(logs: Floats) -> Floats:
    weights = np.exp(logs - logs.max())
    shares: Floats = weights / weights.sum()
    return shares


def _log_sum(logs: Floats) -> float:
    largest = float(logs.max())
    return largest + math.log(float(np.exp(logs - largest).sum())) if largest > -math.inf else -math.inf
