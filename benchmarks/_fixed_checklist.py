"""
The best fixed checklist for a family: one order of looks and parts, the same for every camera.

It may use the same looks, and knows of the chances what the adaptive order knows: a fault is found at 0.95
too. It begins either with all looks from outside or with none, then goes through the parts by how many are
still to be found in them for each minute, those that share a way together; then items and whole stretches are
moved, and looks left out, as long as that lowers the mean on the sample.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks._simulated_cameras import Body, Camera
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.planning.beliefs import Beliefs

Floats = NDArray[np.float64]
NEVER = 1e9
MOVES = 6000


@dataclass(frozen=True)
class Item:
    """A look at a sign, or a part laid open and looked over."""

    kind: str
    id: str


class Checklist:
    """How a fixed list fares."""

    def __init__(
        self, causes: FamilyCauses, beliefs: Beliefs, body: Body, look_at_part: float, sure: float
    ) -> None:
        self.causes, self.beliefs, self.body = causes, beliefs, body
        self.look_at_part, self.sure = look_at_part, sure
        self.faults = list(beliefs.faults)
        self.part_of = [causes.faults[one].part for one in self.faults]
        self.parts = list(dict.fromkeys(self.part_of))

    def seen(self, sign: str, level: int) -> tuple[float, ...]:
        size = len(self.causes.signs[sign].answers)
        return tuple(float(one == level) for one in range(size))

    def times(self, order: Sequence[Item]) -> list[float]:
        """When each item is done, [min]."""
        off: set[str] = set()
        now, found = 0.0, []
        for item in order:
            if item.kind == "look":
                sign = self.causes.signs[item.id]
                now += sign.minutes
                reach: Sequence[str] = sign.off
            else:
                now += self.look_at_part
                reach = (item.id,)
            for part in reach:
                for one, cost in self.body.way_to.get(part, {}).items():
                    if one not in off:
                        off.add(one)
                        now += cost
            found.append(now)
        return found

    def found_at(self, order: Sequence[Item], camera: Camera) -> dict[str, float]:
        """When each fault is found, exactly as the adaptive order is timed."""
        found: dict[str, float] = {}
        seen: dict[str, tuple[float, ...]] = {}
        known: dict[str, bool] = {}
        for item, now in zip(order, self.times(order), strict=True):
            if item.kind == "look":
                seen[item.id] = self.seen(item.id, camera.says[item.id])
                lots = {self.beliefs.lot_of[item.id]}
            else:
                here = [
                    fault for fault, part in zip(self.faults, self.part_of, strict=True) if part == item.id
                ]
                known |= {fault: fault in camera.faults for fault in here}
                found |= {fault: now for fault in here if fault in camera.faults and fault not in found}
                lots = {self.beliefs.lot_of_fault[fault] for fault in here}
            for lot in lots:
                chances = self.beliefs.of_lot(lot, seen, known)
                for n in self.beliefs.lots[lot][chances > self.sure]:
                    if self.faults[n] in camera.faults:
                        found.setdefault(self.faults[n], now)
            if len(found) == len(camera.faults):
                break
        return found


class _Sample:
    """The sample's cameras, and at which of a lot's looks each fault is found."""

    def __init__(self, checklist: Checklist, cameras: Sequence[Camera], each: bool) -> None:
        self.checklist, self.cameras, self.each = checklist, cameras, each
        self.there = np.array([[fault in one.faults for fault in checklist.faults] for one in cameras])
        self.looks: dict[int, list[str]] = {}
        self.found_at: dict[int, NDArray[np.intp]] = {}

    def set_looks(self, lot: int, looks: list[str]) -> None:
        """The looks of a lot, in their order."""
        beliefs, checklist = self.checklist.beliefs, self.checklist
        self.looks[lot] = looks
        found = np.full((len(self.cameras), len(beliefs.lots[lot])), len(looks), dtype=np.intp)
        for row, camera in enumerate(self.cameras):
            seen: dict[str, tuple[float, ...]] = {}
            for n, sign in enumerate(looks):
                seen[sign] = checklist.seen(sign, camera.says[sign])
                sure = beliefs.of_lot(lot, seen, {}) > checklist.sure
                found[row, sure & (found[row] == len(looks))] = n
        self.found_at[lot] = found

    def mean(self, order: Sequence[Item]) -> float:
        """Minutes until a fault is found, or until all of a camera are: the mean of the sample."""
        checklist = self.checklist
        when = dict(zip(order, checklist.times(order), strict=True))
        by_part = np.array([when.get(Item("part", part), NEVER) for part in checklist.part_of])
        found = np.tile(by_part, (len(self.cameras), 1))
        for lot, at in self.found_at.items():
            times = np.array([*(when.get(Item("look", one), NEVER) for one in self.looks[lot]), NEVER])
            times = np.maximum.accumulate(times)
            columns = checklist.beliefs.lots[lot]
            found[:, columns] = np.minimum(found[:, columns], times[at])
        if self.each:
            return float(found[self.there].mean())
        return float(np.where(self.there, found, 0.0).max(axis=1).mean())

    def unfound(self) -> Floats:
        """How often each fault is there and no look finds it, [1]."""
        left = self.there.copy()
        for lot, at in self.found_at.items():
            left[:, self.checklist.beliefs.lots[lot]] &= at == len(self.looks[lot])
        return np.asarray(left.mean(axis=0))


def best_checklist(
    checklist: Checklist, cameras: Sequence[Camera], seed: str, *, each: bool, moves: int = MOVES
) -> list[Item]:
    """The best list that was found, for the mean over faults or over cameras."""
    found = []
    for name in ("no looks", "all looks first"):
        sample = _Sample(checklist, cameras, each)
        looks = _by_use(checklist, sample) if name != "no looks" else []
        order = [Item("look", sign) for sign in looks] + _parts(checklist, sample.unfound())
        order = _moved(checklist, sample, order, random.Random(f"{seed} {name}"), moves)
        found.append((sample.mean(order), order))
    return min(found, key=lambda one: one[0])[1]


def _by_use(checklist: Checklist, sample: _Sample) -> list[str]:
    """Looks from outside, by how often one alone makes sure of a fault for each minute."""
    use: dict[str, float] = {}
    outside: dict[int, list[str]] = {}
    for sign, lot in checklist.beliefs.lot_of.items():
        of = checklist.causes.signs[sign]
        if of.off:
            continue
        sample.set_looks(lot, [sign])
        found = (sample.found_at[lot] == 0) & sample.there[:, checklist.beliefs.lots[lot]]
        use[sign] = (found.sum() + 1e-3) / of.minutes
        outside.setdefault(lot, []).append(sign)
    for lot, signs in outside.items():
        sample.set_looks(lot, sorted(signs, key=lambda one: -use[one]))
    return sorted(use, key=lambda one: -use[one])


def _parts(checklist: Checklist, unfound: Floats) -> list[Item]:
    """Parts by the odds that something is still to be found there, for each minute; a way is paid once."""
    odds = dict.fromkeys(checklist.parts, 0.0)
    for part, chance in zip(checklist.part_of, unfound, strict=True):
        odds[part] += min(chance, 0.99) / (1 - min(chance, 0.99)) + 1e-6
    left, off, order = set(checklist.parts), set[str](), list[Item]()
    while left:
        rates = {}
        for part in sorted(left):
            way = checklist.body.way_to.get(part, {})
            here = [one for one in left if one == part or (one in way and one not in off)]
            cost = sum(cost for one, cost in way.items() if one not in off)
            rates[part] = sum(odds[one] for one in here) / (cost + checklist.look_at_part * len(here))
        part = max(rates, key=lambda one: rates[one])
        way = checklist.body.way_to.get(part, {})
        here = [*(one for one in way if one in left and one != part), part]
        order += [Item("part", one) for one in here]
        left -= set(here)
        off |= way.keys()
    return order


def _moved(
    checklist: Checklist, sample: _Sample, order: list[Item], rng: random.Random, moves: int
) -> list[Item]:
    mean = sample.mean(order)
    lot_of = checklist.beliefs.lot_of
    for _ in range(2):
        for _ in range(moves // 2):
            size = 1 if rng.random() < 0.5 else rng.randint(2, 15)
            start = rng.randrange(len(order))
            piece, rest = order[start : start + size], order[:start] + order[start + size :]
            if len(piece) == 1 and rng.random() < 0.2 and piece[0].kind == "look":
                then = rest
            else:
                to = rng.randint(0, len(rest))
                then = rest[:to] + piece + rest[to:]
            if (now := sample.mean(then)) < mean - 1e-9:
                order, mean = then, now
        # settle what was left out or reordered, and leave out looks that find nothing worth their time
        for lot in sample.looks:
            sample.set_looks(lot, [one.id for one in order if one.kind == "look" and lot_of[one.id] == lot])
        mean = sample.mean(order)
        for item in [one for one in order if one.kind == "look"]:
            lot = lot_of[item.id]
            before = sample.looks[lot], sample.found_at[lot]
            then = [one for one in order if one != item]
            sample.set_looks(lot, [one for one in before[0] if one != item.id])
            if (now := sample.mean(then)) < mean - 1e-9:
                order, mean = then, now
            else:
                sample.looks[lot], sample.found_at[lot] = before
    return order
