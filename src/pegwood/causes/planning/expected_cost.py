"""
What a whole job is expected to cost, and what every look and every opening takes off that.

All faults that are there must be put right. A fault whose part is laid open is found and mended; one that is
not laid open for comes back: the strip-down once more, the mend, and what that costs in an owner's trust. So

    expected cost = least, over all sets of parts to lay open, of
        access to them, shared steps paid once
        + for each of them: looking at it
        + for each fault of a part that stays closed: its chance x (strip-down again + comeback)
        + for each fault: its chance x its mend

The last line stays the same whatever is opened. An answer changes the chances, so the best set, so the
cost: the expected saving is what the look is worth (the value of information of Heckerman, Breese and
Rommelse 1995, there for one fault at a time).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pegwood.anatomy.construction import Construction
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.inference import FaultNet
from pegwood.causes.inference.predicted import Predicted
from pegwood.causes.known import Fault, Mend
from pegwood.causes.planning.access import access
from pegwood.causes.planning.beliefs import Beliefs
from pegwood.causes.planning.best_opening import best_opening, best_openings

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
#: What pays even if leaving a fault were only so dear, as a share of what it is, comes before what pays only
#: if it is dearer: so what finds most for each minute comes first, as far as stopping allows. Pegwood's own:
#: the shares that found faults soonest on simulated cameras (`benchmarks/bench_check.py`), from no source.
OVERSIGHTS = (0.25, 0.5, 1.0)
#: States of the bench whose ways are kept.
MOST_KEPT = 1000


@dataclass(frozen=True, kw_only=True)
class Prices:
    """
    What the workshop reckons with, in minutes (practice: nobody has measured them; each may be changed).

    Attributes
    ----------
    look_at_part : float
        To look a part over once it lies open, [min].
    comeback : float
        What a camera that comes back costs besides the work: the post, the talk, the trust, [min].
    again : float
        How much of the strip-down is paid once more for a fault that was left, [1]. After an estimate
        nothing: what that overlooked is found while mending, and costs the talk with the owner.
    sure : float
        A fault likelier than this counts as found without laying its part open, [1]. At 1 none does: what is
        there has to be mended, and for that its part lies open. Below it the question is only what is wrong,
        as for an estimate: then a look that makes a fault sure spares the way to it.
    """

    look_at_part: float = 1.5
    comeback: float = 60.0
    again: float = 1.0
    sure: float = 1.0

    def __post_init__(self) -> None:
        for name, minutes in (("look_at_part", self.look_at_part), ("comeback", self.comeback)):
            if not 0 <= minutes <= 10_000:
                raise ValueError(f"{name} is {minutes:g} minutes. Expected 0 to 10000.")
        if not 0.5 <= self.sure <= 1:
            raise ValueError(f"sure is {self.sure:g}. Expected 0.5 to 1.")
        if not 0 <= self.again <= 1:
            raise ValueError(f"again is {self.again:g}. Expected 0 to 1.")


#: For an estimate: what is wrong is to be known, and nothing is mended yet (practice, as all prices).
FOR_ESTIMATE = Prices(comeback=90.0, again=0.0, sure=0.95)


@dataclass(frozen=True, kw_only=True)
class Bench:
    """
    One camera on the bench.

    Attributes
    ----------
    seen : mapping of str to sequence of float
        By sign: how likely what was seen is at each of its levels.
    unanswered : frozenset of str
        Asked, and nobody could say: not proposed again.
    known : mapping of str to bool
        Faults found, or found not to be there.
    off : frozenset of str
        Parts that are off.
    mended : frozenset of str
        Faults that were put right.
    """

    seen: Mapping[str, Sequence[float]] = field(default_factory=dict)
    unanswered: frozenset[str] = frozenset()
    known: Mapping[str, bool] = field(default_factory=dict)
    off: frozenset[str] = frozenset()
    mended: frozenset[str] = frozenset()


@dataclass(frozen=True, kw_only=True)
class LookWorth:
    """
    A look.

    Attributes
    ----------
    sign : str
    minutes, access_minutes : float
        To ask it, and to take off what must be off for it and is not, [min].
    saving : float
        Expected saving of the rest of the job once it is answered and the way lies open, [min].
    then_off : frozenset of str
        What comes off for it.
    """

    sign: str
    minutes: float
    access_minutes: float
    saving: float
    then_off: frozenset[str] = frozenset()

    @property
    def worth(self) -> float:
        """What it saves beyond what it costs, [min]."""
        return self.saving - self.minutes - self.access_minutes

    @property
    def rate(self) -> float:
        """What it saves beyond its cost for each minute that it takes, [1]."""
        return self.worth / (self.minutes + self.access_minutes)


@dataclass(frozen=True, kw_only=True)
class Opening:
    """
    Parts laid open together, since they share their way.

    Attributes
    ----------
    targets : tuple of str
        Parts that are looked over, what is worth most first.
    taken_off : tuple of str
        All that comes off.
    access_minutes, minutes : float
        To take it off, and to look the targets over, [min].
    saving : float
        Expected cost of leaving it closed, [min].
    """

    targets: tuple[str, ...]
    taken_off: tuple[str, ...]
    access_minutes: float
    minutes: float
    saving: float

    @property
    def worth(self) -> float:
        """What it saves beyond what it costs, [min]."""
        return self.saving - self.minutes - self.access_minutes

    @property
    def rate(self) -> float:
        """What it saves beyond its cost for each minute that it takes, [1]."""
        return self.worth / (self.minutes + self.access_minutes)


class ExpectedCost:
    """
    The costs of a family, and the chances after a story: what does not change while one camera is weighed.

    Parameters
    ----------
    causes : FamilyCauses
    construction : Construction
        Of the same family.
    net : FaultNet, optional
        The family's after the story; without it, of a camera of which nothing is told.
    prices : Prices
    """

    def __init__(
        self,
        causes: FamilyCauses,
        construction: Construction,
        net: FaultNet | None = None,
        prices: Prices | None = None,
    ) -> None:
        self.causes, self.prices = causes, prices or Prices()
        self.beliefs = Beliefs(net or causes.net())
        self.strip_down = construction.strip_down()
        self.faults = tuple(causes.faults[fault] for fault in self.beliefs.faults)
        self._reach: dict[frozenset[str], tuple[Floats, Bools, Bools]] = {}
        whole = access(self.strip_down)
        alone = whole.alone()
        again = [alone[whole.at[fault.part]] if fault.part in whole.at else 0.0 for fault in self.faults]
        self.comes_back = self.prices.again * np.array(again) + self.prices.comeback
        """What each fault costs if it is there and its part stays closed, without its mend, [min]."""
        self.mends = np.array([mend_minutes(fault, causes.faults) for fault in self.faults])
        self.parts = tuple(dict.fromkeys((*whole.parts, *(fault.part for fault in self.faults))))
        self.at = {part: n for n, part in enumerate(self.parts)}
        self.of_part = np.zeros((len(self.faults), len(self.parts)))
        for n, fault in enumerate(self.faults):
            self.of_part[n, self.at[fault.part]] = 1.0

    def reach(self, off: frozenset[str]) -> tuple[Floats, Bools, Bools]:
        """Over all parts: what each step costs now, what each brings along, and which are closed; kept."""
        if off not in self._reach:
            if len(self._reach) >= MOST_KEPT:
                self._reach.clear()
            now = access(self.strip_down, off)
            place = np.array([self.at[part] for part in now.parts], dtype=np.intp)
            step, closed = np.zeros(len(self.parts)), np.zeros(len(self.parts), dtype=bool)
            step[place], closed[place] = now.costs, True
            brings = np.eye(len(self.parts), dtype=bool)
            brings[np.ix_(place, place)] = now.brings
            self._reach[off] = step, brings, closed
        return self._reach[off]

    def on(self, bench: Bench, oversight: float = 1.0) -> Weighing:
        """
        The camera as it lies there.

        Parameters
        ----------
        bench : Bench
        oversight : float
            What leaving a fault closed is reckoned at, as a share of what the prices say, [1].

        Raises
        ------
        Contradiction
            If what was seen cannot be all together.
        """
        return Weighing(self, bench, oversight)


class Weighing:
    """
    What everything costs and is worth now.

    Attributes
    ----------
    chances : array, shape (n_faults,)
    gain : float
        What opening the best set saves against opening nothing, [min].
    opened : array of bool, shape (n_parts,)
        That set, with all it brings.
    """

    def __init__(self, costs: ExpectedCost, bench: Bench, oversight: float = 1.0) -> None:
        self.costs, self.bench, self.oversight = costs, bench, oversight
        self.chances = costs.beliefs.chances(bench.seen, bench.known)
        self.step, self.brings, self.closed = costs.reach(bench.off)
        settled = [fault.id in bench.mended for fault in costs.faults]
        self.comes_back = np.where(settled, 0.0, oversight * costs.comes_back)
        self._by_part = self.comes_back[:, np.newaxis] * costs.of_part
        # a part on the bench of which all is known needs no second look
        lies_open = [
            fault.id in bench.known and not self.closed[costs.at[fault.part]] for fault in costs.faults
        ]
        self._by_part[lies_open] = 0.0
        self.worth = self.part_worth(self.chances[np.newaxis])[0]
        self.gain, self.opened = best_opening(self.worth - self.step, self.brings)

    def unsure(self, chances: Floats) -> Floats:
        """The chances of what still has to be laid open; nothing for what counts as found without that."""
        return np.where(chances > self.costs.prices.sure, 0.0, chances)

    def part_worth(self, chances: Floats) -> Floats:
        """What each part is worth once open, less looking at it, [min]; shape (n_cases, n_parts)."""
        found = self.unsure(chances) @ self._by_part - self.costs.prices.look_at_part
        return np.asarray(np.maximum(found, 0.0))

    def by_part(self, of_faults: Floats) -> Floats:
        """What is given for each fault, added up over each part."""
        return np.asarray(of_faults @ self.costs.of_part)

    def if_closed(self, chances: Floats) -> Floats:
        """What comes back if nothing is laid open, [min]; shape (n_cases,)."""
        return np.asarray(self.unsure(chances) @ self.comes_back)

    @property
    def expected_minutes(self) -> float:
        """Expected cost of the rest of the job, mends and comebacks with it, [min]."""
        left = np.array([fault.id not in self.bench.mended for fault in self.costs.faults])
        comes_back = self.if_closed(self.chances[np.newaxis])[0]
        return float(comes_back + self.chances @ (left * self.costs.mends)) - self.gain

    def off_for(self, sign: str) -> Bools:
        """What comes off for a look; shape (n_parts,)."""
        rows = [self.costs.at[one] for one in self.costs.causes.signs[sign].off]
        rows = [one for one in rows if self.closed[one]]
        return np.any(self.brings[rows], axis=0) if rows else np.zeros(len(self.closed), dtype=bool)

    def looks(self, only: Iterable[str] | None = None, *, from_outside: bool = False) -> list[LookWorth]:
        """
        Every look that can still be taken, what it costs and what it saves.

        Parameters
        ----------
        only : iterable of str, optional
            Weigh these alone.
        from_outside : bool
            Only those for which nothing more must come off.
        """
        beliefs, bench = self.costs.beliefs, self.bench
        asked = beliefs.lot_of if only is None else only
        taken = []
        for sign in asked:
            if sign not in beliefs.lot_of or sign in bench.seen or sign in bench.unanswered:
                continue
            off = self.off_for(sign)
            if any(self._never(one) for one in self.costs.causes.signs[sign].off):
                continue
            if not (from_outside and off.any()):
                taken.append((sign, off))
        rows, weights, owner, steps = [], [], [], []
        said_by: dict[int, dict[str, Predicted]] = {}
        for n, (sign, off) in enumerate(taken):
            lot = beliefs.lot_of[sign]
            if lot not in said_by:
                said_by[lot] = beliefs.predicted(lot, bench.seen, bench.known)
            if (said := said_by[lot].get(sign)) is None:
                continue  # its faults hang together too widely to say
            for chance, faults in zip(said.chances, said.faults, strict=True):
                if chance > 0:
                    then = self.chances.copy()
                    then[beliefs.lots[lot]] = faults
                    rows.append(then)
                    weights.append(chance)
                    owner.append(n)
                    steps.append(np.where(off, 0.0, self.step))
        if not rows:
            return []
        chances, step = np.array(rows), np.array(steps)
        worth = self.part_worth(chances)
        raised = (worth > self.worth + 1e-9) | (step < self.step) & (worth > 0)
        gains = best_openings(worth - step, self.brings, self.opened, raised)
        before = self.if_closed(self.chances[np.newaxis])[0] - self.gain
        saved = np.zeros(len(taken))
        np.add.at(saved, owner, np.array(weights) * (before - self.if_closed(chances) + gains))
        return [
            LookWorth(
                sign=sign,
                minutes=self.costs.causes.signs[sign].minutes,
                access_minutes=float(self.step[off].sum()),
                saving=float(saved[n]),
                then_off=frozenset(self.costs.parts[one] for one in np.flatnonzero(off)),
            )
            for n, (sign, off) in enumerate(taken)
        ]

    def _never(self, part: str) -> bool:
        return part not in self.bench.off and not self.closed[self.costs.at[part]]

    def openings(self, most: int = 3) -> list[Opening]:
        """
        What is worth laying open, in the order in which it pays best: each time the parts that share a way
        and save most for each minute (the best prefix of a cluster).
        """
        found: list[Opening] = []
        if not self.opened.any():
            return found
        step, worth = self.step.copy(), self.worth.copy()
        while len(found) < most:
            chosen = densest(worth, step, self.brings)
            if chosen is None or worth[chosen].sum() <= step[chosen].sum() + 1e-9:
                break
            chosen = self._first_step(chosen, step, worth)
            found.append(self._opening(chosen, step, worth))
            step, worth = np.where(chosen, 0.0, step), np.where(chosen, 0.0, worth)
        return found

    def next_opening(self, worth: Floats) -> Opening | None:
        """The parts to lay open next for a worth of one's own, paying or not; None: nothing is left."""
        chosen = densest(worth, self.step, self.brings)
        if chosen is None:
            return None
        return self._opening(self._first_step(chosen, self.step, worth), self.step, worth)

    def _first_step(self, chosen: Bools, step: Floats, worth: Floats) -> Bools:
        """
        Of parts that pay together, those to begin with: after each it is weighed anew.

        What all of them need comes off in any case, so it does not speak for one more than for another
        (within a cluster it is ordered as if it were open: Ottosen and Jensen 2010).
        """
        step, way = step.copy(), np.zeros(len(chosen), dtype=bool)
        while True:
            pays = np.flatnonzero(chosen & (worth > 0))
            shared = np.all(self.brings[pays], axis=0) & (step > 0)
            free = [n for n in pays if step[self.brings[n]].sum() <= 0]
            if free or len(pays) == 1 or not shared.any():
                break
            step[shared], way = 0.0, way | shared
            inner = densest(np.where(chosen, worth, 0.0), step, self.brings)
            chosen = chosen if inner is None else inner
        cost = self.brings[pays] @ step
        if free:
            return np.asarray(way | np.any(self.brings[free], axis=0))
        rate = (self.brings[pays] @ worth) / cost
        return np.asarray(way | self.brings[pays[rate.argmax()]])

    def _opening(self, chosen: Bools, step: Floats, worth: Floats) -> Opening:
        targets = [n for n in np.flatnonzero(chosen) if worth[n] > 0]
        targets.sort(key=lambda n: (-worth[n], self.costs.parts[n]))
        look = self.costs.prices.look_at_part * len(targets)
        taken = np.flatnonzero(chosen & self.closed & (step > 0))
        return Opening(
            targets=tuple(self.costs.parts[n] for n in targets),
            taken_off=tuple(self.costs.parts[n] for n in taken),
            access_minutes=float(step[chosen].sum()),
            minutes=look,
            saving=float(worth[chosen].sum()) + look,
        )


def densest(worth: Floats, step: Floats, brings: Bools) -> Bools | None:
    """
    The parts that share a way and are worth most for each minute (Dinkelbach 1967: each time the best set at
    the rate reached so far; memory); None where nothing is worth anything.

    What costs nothing more comes first.
    """
    if not np.any(worth > 0):
        return None
    total = brings @ step
    free = (total <= 0) & (worth > 0)
    if np.any(free):
        return np.asarray(free)
    alone = np.where(total > 0, brings @ worth / np.where(total > 0, total, 1.0), 0.0)
    chosen = brings[int(alone.argmax())]
    while True:
        rate = worth[chosen].sum() / step[chosen].sum()
        gain, opened = best_opening(worth - rate * step, brings)
        if gain <= 1e-3 * worth[chosen].sum():
            return np.asarray(chosen)
        chosen = opened


def mend_minutes(fault: Fault, faults: Mapping[str, Fault]) -> float:
    """What the cheapest mend costs until it holds, with what it may break on the way, [min]."""
    return min((until_it_holds(mend, faults) for mend in fault.mends), default=0.0)


def until_it_holds(mend: Mend, faults: Mapping[str, Fault]) -> float:
    """What a mend costs until it holds, with what it may break on the way, [min]."""
    breaks = sum(
        one.chance * min(mend.minutes.likely / mend.success for mend in faults[one.fault].mends)
        for one in mend.breaks
        if one.fault in faults and faults[one.fault].mends
    )
    return (mend.minutes.likely + breaks) / mend.success
