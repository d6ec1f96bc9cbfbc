"""
What can be said where signs hang together too widely to be gone through exactly: bounds that hold.

A few signs are taken out of the table, as many as it must lose. Each then stands in one of two ways:

- between two products of one factor for each cause, a higher and a lower one (the variational bounds of
  Jaakkola and Jordan, "Variational probabilistic inference and the QMR-DT network", 1999; memory), which like
  an answer "no" only scale the causes;
- as the sum over which cause shows it first, in some order of leak and causes: each term is such a product.

At first all stand between bounds; then, where bounds lie furthest apart, one sign more is told apart by its
first cause, until there is no time. All sums are of what is not negative. A fault's chance lies between its
lowest present over highest absent weight and the reverse.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from pegwood.causes.inference.folding import Lot, lots
from pegwood.causes.inference.looked import Looked
from pegwood.causes.inference.net import FaultNet
from pegwood.causes.inference.rows import Problem, Row, TooWide, problem, solved
from pegwood.causes.inference.sweep import Posterior, posterior
from pegwood.causes.inference.tables import Floats

#: The table that is gone through again and again, in entries, how many entries in all (a second or two),
#: and for how many a row counts besides.
NARROW = 1 << 15
IN_ALL = 1 << 25
OF_A_ROW = 1 << 15
#: So far off is close enough, [1].
CLOSE = 1e-4
#: How many signs are tried before one is taken out, and how many branches are told apart at a time.
TRIED = 8
WIDEST = 4
#: No cause counts more than e**30 times in an upper bound: of ten signs together a float still holds it.
STEEPEST = 30.0
#: No cause's share in a lower bound is less.
SHARE = 1e-9
#: A cause that shows a sign for certain counts as one that misses it once in e**50 times.
FARTHEST = 50.0


def posterior_or_near(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    known: Mapping[str, bool] | None = None,
) -> Posterior:
    """
    The chances of all faults after signs, exact, or near with how far off they may be.

    Where it is near, `approximate` is set, and each fault's true chance is within `off` of what is told: a
    bound, not an estimate. The evidence's logarithm lies in the middle of its own bounds.

    Raises
    ------
    ValueError
        As `posterior`.
    TooWide
        If soft answers to signs of three levels or more alone hang together too widely.
    """
    try:
        return posterior(net, evidence, known)
    except TooWide:
        return _near(problem(net, evidence, known, wide=True))


@dataclass(frozen=True)
class _Out:
    """
    A sign taken out: likelihood `most` x product of `all_of` x (1 - exp(-x)), x = leak + sum of `by`.

    The product and the sum go over the causes that are there.
    """

    id: str
    most: float
    all_of: Mapping[str, float]
    leak: float
    by: Mapping[str, float]


def _can_be_out(sign: Looked) -> bool:
    return len(sign.weights) == 2 and sign.weights[1] > sign.weights[0]


def _out(sign: Looked) -> _Out:
    below, at = sign.start
    low, high = sign.weights
    missed = (1 - low / high) * below / (below + at) if below + at > 0 else 1.0
    return _Out(
        sign.id,
        float(high * (below + at)),
        {fault: float(moves[1, 1]) for fault, moves in sign.shows.items()},
        _less_log(missed),
        {
            fault: _less_log(moves[0, 0] / moves[1, 1]) if moves[1, 1] > 0 else 0.0
            for fault, moves in sign.shows.items()
        },
    )


def _less_log(chance: float) -> float:
    return min(FARTHEST, -math.log(chance)) if chance > 0 else FARTHEST


def _without_some(this: Problem) -> tuple[Problem, list[_Out]]:
    """The problem without as many signs as it takes, and those signs."""
    left, narrow, out = list(this.lots), list[Lot](), list[_Out]()
    while left:
        lot = left.pop()
        if lot.order.entries <= NARROW:
            narrow.append(lot)
            continue
        several = sorted(
            filter(_can_be_out, lot.signs.values()), key=lambda sign: (-len(sign.shows), sign.id)
        )
        if not several:
            raise TooWide(lot.order.entries)
        tried = {sign.id: list(lots(_others(lot, sign))) for sign in several[:TRIED]}
        best = min(tried, key=lambda sign: sum(rest.order.work for rest in tried[sign]))
        out.append(_out(lot.signs[best]))
        left += tried[best]
    return Problem(this.priors, this.scaling, tuple(narrow)), out


def _others(lot: Lot, sign: Looked) -> list[Looked]:
    return [other for other in lot.signs.values() if other.id != sign.id]


@dataclass
class _Branch:
    """
    Some signs told apart by their first cause, the others between bounds.

    `scale`, `factor` and `known` are those of a row. `steep` and `shares` set the upper and the lower bound
    of each sign that is left. `high` and `low` bound how likely all that was seen is together with each fault
    absent, and present: (2, faults).
    """

    scale: Mapping[str, float]
    factor: float
    known: Mapping[str, bool]
    steep: dict[str, float]
    shares: dict[str, dict[str, float]]
    high: Floats
    low: Floats
    likely: Floats

    @property
    def gap(self) -> float:
        return float(self.high[:, 0].sum() - self.low[:, 0].sum())


class _Search:
    """Branches, from the one where every sign taken out stands between bounds to ever finer ones."""

    def __init__(self, this: Problem, out: Sequence[_Out]) -> None:
        self.this = this
        self.out = {sign.id: sign for sign in out}
        self.at = {fault: n for n, fault in enumerate(this.priors)}
        self.spent = 0
        self.each = sum(lot.order.work for lot in this.lots) + OF_A_ROW
        self.reference = 0.0
        nothing = np.zeros((2, len(self.at)))
        root = _Branch(
            {},
            1.0,
            {},
            {sign.id: 0.3 for sign in out},
            {sign.id: dict.fromkeys(sign.by, 1 / len(sign.by)) for sign in out},
            np.full_like(nothing, np.inf),
            nothing,
            np.array(list(this.priors.values())),
        )
        (log, *_), _ = solved(this, [self._upper(root)])
        self.reference = float(log) if log > -math.inf else 0.0
        self._bound([root], turns=5)
        self.branches = [root]

    @property
    def high(self) -> Floats:
        return np.asarray(sum(branch.high for branch in self.branches))

    @property
    def low(self) -> Floats:
        return np.asarray(sum(branch.low for branch in self.branches))

    def interval(self) -> tuple[Floats, Floats]:
        """Between what each fault's chance lies."""
        (high_absent, high), (low_absent, low) = self.high, self.low
        least = np.divide(low, low + high_absent, out=np.ones_like(low), where=low + high_absent > 0)
        most = np.divide(high, high + low_absent, out=np.zeros_like(low), where=high + low_absent > 0)
        return least, most

    def refine(self) -> bool:
        """Tell the branches with the widest bounds apart by one sign more; whether there were any."""
        open_now = sorted((one for one in self.branches if one.steep), key=lambda one: -one.gap)[:WIDEST]
        if not open_now:
            return False
        children = [child for branch in open_now for child in self._told_apart(branch)]
        self.branches = [branch for branch in self.branches if branch not in open_now] + children
        self._bound(children, turns=2)
        return True

    def _bound(self, branches: Sequence[_Branch], turns: int) -> None:
        for turn in range(turns):
            rows = [row for branch in branches for row in (self._upper(branch), self._lower(branch))]
            log, chances = solved(self.this, rows)
            faults = chances[1]
            self.spent += len(rows) * self.each
            both = np.exp(log - self.reference)[:, np.newaxis, np.newaxis] * chances.swapaxes(0, 1)
            for n, branch in enumerate(branches):
                branch.high = np.minimum(branch.high, both[2 * n])
                branch.low = np.maximum(branch.low, both[2 * n + 1])
                branch.likely = faults[2 * n]
                if turn < turns - 1:
                    for sign in branch.steep:
                        self._adapt(branch, self.out[sign], faults[2 * n], faults[2 * n + 1])

    def _adapt(self, branch: _Branch, sign: _Out, above: Floats, below: Floats) -> None:
        """The bounds of one sign that lie nearest where the faults are now thought to be."""
        mean = sign.leak + sum(by * above[self.at[fault]] for fault, by in sign.by.items())
        steepest = STEEPEST / max(*sign.by.values(), CLOSE)
        branch.steep[sign.id] = min(steepest, 1 / math.expm1(min(max(mean, CLOSE), FARTHEST)))
        if sign.leak > 0:
            there = np.array([below[self.at[fault]] for fault in sign.by])
            shares = np.array(list(branch.shares[sign.id].values()))
            by = np.array(list(sign.by.values()))
            for _ in range(15):
                x = sign.leak + by / shares
                slope = there * (
                    _log_of(x) - _log_of(sign.leak) - by / shares / np.expm1(np.minimum(x, FARTHEST))
                )
                shares = shares * np.exp(slope - slope.max())
                shares = np.maximum(shares / shares.sum(), SHARE)
            shares /= shares.sum()
            branch.shares[sign.id] = dict(zip(sign.by, shares.tolist(), strict=True))

    def _upper(self, branch: _Branch) -> Row:
        scale, factor = dict(branch.scale), branch.factor
        for name, steep in branch.steep.items():
            sign = self.out[name]
            conjugate = (steep + 1) * math.log(steep + 1) - steep * math.log(steep)
            factor *= sign.most * math.exp(steep * sign.leak - conjugate)
            for fault, by in sign.by.items():
                scale[fault] = scale.get(fault, 1.0) * sign.all_of[fault] * math.exp(steep * by)
        return Row(scale=scale, factor=factor, known=branch.known)

    def _lower(self, branch: _Branch) -> Row:
        scale, factor = dict(branch.scale), branch.factor
        for name in branch.steep:
            sign = self.out[name]
            if sign.leak == 0:  # nothing but nil is below it at once for every set of faults
                return Row(factor=0.0)
            least = _log_of(sign.leak)
            factor *= sign.most * math.exp(least)
            for fault, share in branch.shares[name].items():
                gain = share * (_log_of(sign.leak + sign.by[fault] / share) - least)
                scale[fault] = scale.get(fault, 1.0) * sign.all_of[fault] * math.exp(gain)
        return Row(scale=scale, factor=factor, known=branch.known)

    def _told_apart(self, branch: _Branch) -> Iterator[_Branch]:
        """The branch by which of leak and causes shows one sign first."""
        sign = self.out[max(branch.steep, key=lambda one: (self._apart(branch, self.out[one]), one))]
        steep = {one: value for one, value in branch.steep.items() if one != sign.id}
        shown = {f: branch.likely[self.at[f]] * -math.expm1(-by) for f, by in sign.by.items()}
        scale = dict(branch.scale)
        for fault, by in sign.all_of.items():
            scale[fault] = scale.get(fault, 1.0) * by

        def child(factor: float, scale: Mapping[str, float], known: Mapping[str, bool]) -> _Branch:
            shares = {one: dict(branch.shares[one]) for one in steep}
            unbounded = np.full_like(branch.high, np.inf)
            return _Branch(
                scale,
                branch.factor * sign.most * factor,
                known,
                dict(steep),
                shares,
                unbounded,
                np.zeros_like(branch.low),
                branch.likely,
            )

        yield child(-math.expm1(-sign.leak), dict(scale), branch.known)
        for fault in sorted(shown, key=lambda one: (-shown[one], one)):
            missed = math.exp(-sign.by[fault])
            if branch.known.get(fault, True) and missed < 1:
                shows = {**scale, fault: scale[fault] * (1 - missed)}
                yield child(math.exp(-sign.leak), shows, {**branch.known, fault: True})
            scale[fault] *= missed

    def _apart(self, branch: _Branch, sign: _Out) -> float:
        """About how far apart a sign's bounds lie, as logarithms, where the faults are thought to be."""
        if sign.leak == 0:
            return math.inf
        there = {fault: float(branch.likely[self.at[fault]]) for fault in sign.by}
        steep, shares = branch.steep[sign.id], branch.shares[sign.id]
        mean = sign.leak + sum(by * there[fault] for fault, by in sign.by.items())
        upper = steep * mean - (steep + 1) * math.log(steep + 1) + steep * math.log(steep)
        least = _log_of(sign.leak)
        lower = least + sum(
            there[fault] * share * (_log_of(sign.leak + sign.by[fault] / share) - least)
            for fault, share in shares.items()
        )
        return float(upper - lower)


def _log_of(x: Any) -> Any:
    """Logarithm of 1 - exp(-x)."""
    return np.log(-np.expm1(-x))


def _near(this: Problem) -> Posterior:
    search = _Search(*_without_some(this))
    while True:
        least, most = search.interval()
        off = float((most - least).max()) / 2
        if off <= CLOSE or search.spent > IN_ALL or not search.refine():
            break
    high, low = search.high[:, 0].sum(), search.low[:, 0].sum()
    if high == 0:
        return Posterior(dict(this.priors), -math.inf, this.entries, approximate=False, off=0.0)
    return Posterior(
        dict(zip(this.priors, ((least + most) / 2).tolist(), strict=True)),
        search.reference + math.log((high + low) / 2),
        this.entries,
        approximate=True,
        off=off,
    )
