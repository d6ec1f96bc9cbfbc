"""
Jobs drawn from faults and signs by plain loops: shares no code with what learns from them.

A world is plain numbers: chances of faults, odds of a story, what each fault shows, what comes of itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class World:
    """Numbers alone; `shows` and `leak` by sign, `raised` by fault and story."""

    prior: dict[str, float]
    raised: dict[str, dict[str, float]]
    leak: dict[str, list[float]]
    shows: dict[str, dict[str, list[float]]]


@dataclass
class Drawn:
    """One camera: its story, its faults, and the answer of each sign."""

    story: set[str]
    faults: dict[str, bool]
    answers: dict[str, int]
    asked: list[str] = field(default_factory=list)


def world_of(causes) -> World:
    """The numbers of a family, copied out."""
    return World(
        prior={f.id: f.prior for f in causes.faults.values()},
        raised={f.id: {one.by: one.odds for one in f.raised} for f in causes.faults.values()},
        leak={s.id: list(s.leak) for s in causes.signs.values()},
        shows={s.id: {one.fault: list(one.shows) for one in s.shown_by} for s in causes.signs.values()},
    )


def perturbed(world: World, rng, factor: float) -> World:
    """Odds of every chance times or over up to `factor`; of a row of chances each but the first."""

    def odd(p):
        o = p / (1 - p) * factor ** rng.uniform(-1, 1)
        return o / (1 + o)

    def row(chances):
        raised = [chances[0]] + [p * factor ** rng.uniform(-1, 1) for p in chances[1:]]
        return [p / sum(raised) for p in raised]

    return World(
        prior={f: odd(p) for f, p in world.prior.items()},
        raised=world.raised,
        leak={s: row(p) for s, p in world.leak.items()},
        shows={s: {f: row(p) for f, p in of.items()} for s, of in world.shows.items()},
    )


def drawn(world: World, rng, stories=(), ask: float = 1.0) -> Drawn:
    """A camera: each story by its chance, each fault by its odds, each sign the most that anything shows."""
    story = {one for one, chance in stories if rng.random() < chance}
    faults = {}
    for fault, p in world.prior.items():
        odds = p / (1 - p)
        for one, by in world.raised[fault].items():
            odds *= by if one in story else 1
        faults[fault] = bool(rng.random() < odds / (1 + odds))
    answers = {}
    for sign, leak in world.leak.items():
        if rng.random() >= ask:
            continue
        levels = [_level(leak, rng)]
        levels += [_level(shows, rng) for f, shows in world.shows[sign].items() if faults[f]]
        answers[sign] = max(levels)
    return Drawn(story, faults, answers)


def _level(chances, rng) -> int:
    at, u = 0.0, rng.random()
    for level, p in enumerate(chances):
        at += p
        if u < at:
            return level
    return len(chances) - 1
