"""
Cameras drawn from the knowledge and repaired one by one, in plain Python; no code of what prices them.

What it does is what the price says it reckons with: a story and the faults it raises; answers as the faults
that are there, the story and the leak show them; every fault mended, the cheapest mend first and then by
turns till one holds; what a mend breaks mended too; every step of the way in once, and once back; minutes
lognormal, three tenths of their spread common to all steps of a job.
"""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import dataclass
from functools import cache

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Minutes, Way
from pegwood.anatomy.planning import choose
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault, Mend
from pegwood.causes.story import COMMON

HAND = 0.3
#: From the middle of a normal distribution to its 90th percentile, in standard deviations.
TENTH = 1.2815515655446004


@dataclass(frozen=True)
class Rates:
    """In minor units, without tax: a minute, each job, each mend; what each part costs, low, likely, high."""

    minute: float
    job: float
    mend: float
    parts: dict[str, tuple[float, float, float]]
    every_job: Minutes


@dataclass(frozen=True)
class Camera:
    """One camera: its story, what is wrong with it, and what each sign would answer, as a level."""

    story: frozenset[str]
    faults: frozenset[str]
    says: dict[str, int]


class Bench:
    """A family's cameras, and repairing them."""

    def __init__(self, causes: FamilyCauses, built: Construction, rates: Rates) -> None:
        self.causes, self.built, self.rates = causes, built, rates
        self.mends = {one.id: sorted(one.mends, key=self._dear) for one in causes.faults.values()}
        strip_down = built.strip_down()
        self.ways: dict[str, dict[str, Way]] = {}
        for part in {one.part for one in causes.faults.values()} & strip_down.removable:
            self.ways[part] = {
                one: next(way for way in built.parts[one].ways if way.name == taken.name)
                for one, taken in choose(strip_down, [part]).ways.items()
            }

    def _dear(self, mend: Mend) -> float:
        """What a mend comes to until it holds, with what it breaks, as the planner reckons it."""
        breaks = 0.0
        for one in mend.breaks:
            others = self.causes.faults[one.fault].mends if one.fault in self.causes.faults else ()
            if others:
                breaks += one.chance * min(other.minutes.likely / other.success for other in others)
        parts = sum(self.rates.parts[part][1] for part in mend.parts)
        each = (mend.minutes.likely + breaks) * self.rates.minute + self.rates.mend
        return each / mend.success + parts

    def camera(self, rng: random.Random) -> Camera:
        """One more camera."""
        story = frozenset(item for item, share in COMMON.items() if rng.random() < share)
        faults = set()
        for fault in self.causes.faults.values():
            odds = _odds(fault) * math.prod(one.odds for one in fault.raised if one.by in story)
            if rng.random() < odds / (1 + odds):
                faults.add(fault.id)
        says = {}
        for sign in self.causes.signs.values():
            rows = [sign.leak, *(one.shows for one in sign.shown_by if one.fault in faults)]
            rows += [one.shows for one in sign.tells_of if one.by in story]
            says[sign.id] = max(rng.choices(range(len(row)), row)[0] for row in rows)
        return Camera(story, frozenset(faults), says)

    def repair(self, camera: Camera, rng: random.Random) -> float:
        """What the repair comes to, without tax, in minor units."""
        hand, rates = rng.gauss(0, 1), self.rates

        def took(of: Minutes) -> float:
            sigma = math.log(of.high / of.low) / (2 * TENTH)
            z = math.sqrt(HAND) * hand + math.sqrt(1 - HAND) * rng.gauss(0, 1)
            return of.likely * math.exp(sigma * z)

        minutes, money = took(rates.every_job), rates.job
        there, waiting, bought = set(camera.faults), sorted(camera.faults), set[str]()
        while waiting:
            fault = waiting.pop()
            for mend in itertools.cycle(self.mends[fault]):
                minutes += took(mend.minutes)
                money += rates.mend
                bought.update(mend.parts)
                for one in mend.breaks:
                    if one.fault in self.mends and one.fault not in there and rng.random() < one.chance:
                        there.add(one.fault)
                        waiting.append(one.fault)
                if rng.random() < mend.success:
                    break
        off: dict[str, Way] = {}
        for fault in sorted(there):
            for one, way in self.ways.get(self.causes.faults[fault].part, {}).items():
                off.setdefault(one, way)
        for way in off.values():
            once = took(way.minutes) + sum(one.minutes for one in way.risks if rng.random() < one.chance)
            minutes += 2 * once
        for part in sorted(bought):
            low, likely, high = rates.parts[part]
            a, b = 1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low)
            money += low + (high - low) * rng.betavariate(a, b)
        return money + minutes * rates.minute


@cache
def _odds(fault: Fault) -> float:
    """Odds of a fault where nothing in the story is true, such that over all stories it has its prior."""
    histories = []
    for so in itertools.product((False, True), repeat=len(fault.raised)):
        share, factor = 1.0, 1.0
        for one, is_so in zip(fault.raised, so, strict=True):
            share *= COMMON[one.by] if is_so else 1 - COMMON[one.by]
            factor *= one.odds if is_so else 1.0
        histories.append((share, factor))
    low, high = 1e-12, 1e12
    for _ in range(120):
        middle = math.sqrt(low * high)
        mean = sum(share * middle * factor / (1 + middle * factor) for share, factor in histories)
        low, high = (middle, high) if mean < fault.prior else (low, middle)
    return math.sqrt(low * high)
