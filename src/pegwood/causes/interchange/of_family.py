"""
A family's faults and signs with the story behind them, as a general net: what `weigh` reckons with.

What of a story leaves traces is a cause of faults and of signs; each fault has a table over what of it bears
on that fault. What is told is certain. What leaves none is in the faults' own chances.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping

import numpy as np

from pegwood.causes.before_signs import chances
from pegwood.causes.family_net import FamilyCauses, story_of
from pegwood.causes.interchange.general import ABSENT, PRESENT, GeneralNet, Variable, general
from pegwood.causes.known import Fault
from pegwood.causes.story import COMMON, TRACED


def general_family(
    causes: FamilyCauses, told: Iterable[str] = (), denied: Iterable[str] = (), *, title: str = ""
) -> GeneralNet:
    """
    The family's net after a story, each variable after its parents.

    Raises
    ------
    ValueError
        As `story_of`.
    """
    story = story_of(told, denied)
    base = general(causes.net_with_story, title or causes.family)
    of_story = {one.of: one for one in base.variables if one.of in TRACED}
    variables = [_known(of_story[item], story) for item in TRACED]
    for one in base.variables:
        if one.of in causes.faults and not one.parents:
            variables.append(_fault(one, causes.faults[one.of], story, of_story))
        elif one.of not in of_story:
            variables.append(one)
    return GeneralNet(base.title, tuple(variables))


def _known(of: Variable, story: Mapping[str, bool]) -> Variable:
    so = float(story.get(of.of, COMMON[of.of]))
    return Variable(of.name, of.of, (ABSENT, PRESENT), (), np.array([1 - so, so]))


def _fault(
    of: Variable, fault: Fault, story: Mapping[str, bool], of_story: Mapping[str, Variable]
) -> Variable:
    raised = {one.by for one in fault.raised}
    items = tuple(item for item in TRACED if item in raised and item not in story)
    states = np.array(list(itertools.product((False, True), repeat=len(items))), dtype=bool)
    there = chances(fault, items, states.reshape(1 << len(items), len(items)), story)
    table = np.stack((1 - there, there), axis=1).reshape(*[2] * len(items), 2)
    return Variable(of.name, of.of, (ABSENT, PRESENT), tuple(of_story[item].name for item in items), table)
