"""
Jobs drawn from stories, faults and signs by plain loops: shares no code with what learns from them.

A world is plain numbers: how common each thing of a story is, chances of faults, odds of a story, what each
fault and each thing of the story shows, what comes of itself.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass


@dataclass
class World:
    """Numbers alone; `raised` by fault and thing of the story, `shows` by sign and what shows it."""

    common: dict[str, float]
    prior: dict[str, float]
    raised: dict[str, dict[str, float]]
    leak: dict[str, list[float]]
    shows: dict[str, dict[str, list[float]]]

    def __post_init__(self):
        self.bare = {fault: self._bare(fault) for fault in self.prior}

    def _bare(self, fault):
        """Odds with no story at all, so that over all stories the chance is the prior: by halving."""
        odds = self.raised[fault]
        stories = []
        for so in itertools.product((False, True), repeat=len(odds)):
            weight, by = 1.0, 1.0
            for (item, times), here in zip(odds.items(), so, strict=True):
                weight *= self.common[item] if here else 1 - self.common[item]
                by *= times if here else 1
            stories.append((weight, by))
        low, high = 1e-12, 1e12
        for _ in range(100):
            middle = (low * high) ** 0.5
            mixed = sum(weight * middle * by / (1 + middle * by) for weight, by in stories)
            low, high = (middle, high) if mixed < self.prior[fault] else (low, middle)
        return low


@dataclass
class Drawn:
    """One camera: what was told and denied of its story, its faults, and the answer of each sign."""

    told: set[str]
    denied: set[str]
    faults: dict[str, bool]
    answers: dict[str, int]


def world_of(causes, common) -> World:
    """The numbers of a family, copied out."""
    return World(
        common=dict(common),
        prior={f.id: f.prior for f in causes.faults.values()},
        raised={f.id: {one.by: one.odds for one in f.raised} for f in causes.faults.values()},
        leak={s.id: list(s.leak) for s in causes.signs.values()},
        shows={
            s.id: {
                **{one.fault: list(one.shows) for one in s.shown_by},
                **{one.by: list(one.shows) for one in s.tells_of},
            }
            for s in causes.signs.values()
        },
    )


def perturbed(world: World, rng, factor: float) -> World:
    """Odds of every fault times or over up to `factor`; of what faults show each chance but the first."""

    def odd(p):
        o = p / (1 - p) * factor ** rng.uniform(-1, 1)
        return o / (1 + o)

    def row(chances):
        raised = [chances[0]] + [p * factor ** rng.uniform(-1, 1) for p in chances[1:]]
        return [p / sum(raised) for p in raised]

    return World(
        common=world.common,
        prior={f: odd(p) for f, p in world.prior.items()},
        raised=world.raised,
        leak={s: row(p) for s, p in world.leak.items()},
        shows={
            s: {f: row(p) if f in world.prior else p for f, p in of.items()} for s, of in world.shows.items()
        },
    )


def drawn(world: World, rng, ask: float = 1.0, speaks: float = 0.5) -> Drawn:
    """A camera, of which the owner tells some of the story and the repairer asks some of the signs."""
    story = {one: rng.random() < p for one, p in world.common.items()}
    said = {one for one in world.common if rng.random() < speaks}
    there = dict(story)
    for fault, odds in world.bare.items():
        for one, by in world.raised[fault].items():
            odds *= by if story[one] else 1
        there[fault] = bool(rng.random() < odds / (1 + odds))
    answers = {}
    for sign, leak in world.leak.items():
        if rng.random() < ask:
            levels = [_level(leak, rng)]
            levels += [_level(shows, rng) for one, shows in world.shows[sign].items() if there[one]]
            answers[sign] = max(levels)
    return Drawn(
        told={one for one in said if story[one]},
        denied={one for one in said if not story[one]},
        faults={fault: there[fault] for fault in world.prior},
        answers=answers,
    )


def _level(chances, rng) -> int:
    at, u = 0.0, rng.random()
    for level, p in enumerate(chances):
        at += p
        if u < at:
            return level
    return len(chances) - 1
