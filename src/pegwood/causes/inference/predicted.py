"""
What each look would say, and what would be thought after each answer; what each answer given has done.

That a sign shows level j at most only scales each of its causes by the chance that it does, so no table
grows: all candidates go through one batch (the complement trick for two levels, level by level). What comes
of one level is the difference of two neighbours.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pegwood.causes.inference.net import FaultNet
from pegwood.causes.inference.rows import Row, TooWide, problem, solved
from pegwood.causes.inference.sweep import posterior
from pegwood.causes.inference.tables import Floats

#: An answer rarer than this is gone through by itself: a difference would have lost too many digits.
RARE = 1e-4


@dataclass(frozen=True)
class Predicted:
    """
    What a look would say.

    Attributes
    ----------
    chances : array, shape (levels,)
        Chance of each answer now.
    faults : array, shape (levels, faults)
        Chance of each fault after that answer, in the order of the net's priors; after an answer that cannot
        come, the present ones.
    """

    chances: Floats
    faults: Floats


@dataclass(frozen=True)
class LeftOut:
    """
    What would be thought without one answer.

    Attributes
    ----------
    faults : array, shape (faults,)
        Chance of each fault after all other answers, in the order of the net's priors.
    chance : float
        Chance of the answer given all the others, [1]; a soft answer's is its mean likelihood.
    is_possible : bool
        Whether the others are possible together. Where they are not, the chance is 0 and the faults are as
        before.
    """

    faults: Floats
    chance: float
    is_possible: bool


def predicted(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    known: Mapping[str, bool] | None,
    signs: Iterable[str],
) -> dict[str, Predicted]:
    """
    What each of several looks would say.

    Where what was seen is impossible, as it would be with nothing seen: as the posterior's chances then are.

    Raises
    ------
    ValueError
        As `posterior`; or if a sign was answered already.
    TooWide
        As `posterior`. An answer rarer than `RARE` that would itself be too wide is told as the difference.
    """
    signs = tuple(dict.fromkeys(signs))
    for sign in signs:
        if sign not in net.signs:
            raise ValueError(f"{sign!r} is no sign here.")
        if sign in evidence:
            raise ValueError(f"{sign!r} was answered already.")
    this = problem(net, evidence, known)
    rows, first = [Row()], dict[str, int]()
    for sign in signs:
        first[sign] = len(rows)
        leak = itertools.accumulate(net.signs[sign].leak[:-1])
        upto = {link.fault: tuple(itertools.accumulate(link.shows)) for link in net.of_sign[sign]}
        rows += [Row(scale={f: by[n] for f, by in upto.items()}, factor=one) for n, one in enumerate(leak)]
    log, (_, faults) = solved(this, rows)
    if log[0] == -math.inf:
        return predicted(net, {}, known, signs) if evidence else {}
    now = faults[0]
    found = {}
    for sign in signs:
        levels = len(net.signs[sign].leak)
        at = slice(first[sign], first[sign] + levels - 1)
        cumulated = np.concatenate(([0], np.exp(log[at] - log[0]), [1]))
        joint = np.vstack((0 * now, cumulated[1:-1, np.newaxis] * faults[at], now))
        chances = np.clip(np.diff(cumulated), 0, 1)
        after = np.tile(now, (levels, 1))
        for level, chance in enumerate(chances):
            if level and chance < RARE:
                chances[level], after[level] = _by_itself(net, evidence, known, sign, level, log[0]) or (
                    chance,
                    now,
                )
            elif chance > 0:
                after[level] = np.clip((joint[level + 1] - joint[level]) / chance, 0, 1)
        found[sign] = Predicted(chances, after)
    return found


def _by_itself(
    net: FaultNet,
    evidence: Mapping[str, Sequence[float]],
    known: Mapping[str, bool] | None,
    sign: str,
    level: int,
    log: float,
) -> tuple[float, Floats] | None:
    """Chance of one answer and of the faults after it; none where it cannot come, or is too wide."""
    answer = [float(n == level) for n in range(len(net.signs[sign].leak))]
    try:
        found = posterior(net, {**evidence, sign: answer}, known)
    except TooWide:
        return None
    if not found.is_possible:
        return None
    return math.exp(found.log_evidence - log), np.array(list(found.faults.values()))


def unexplained(
    net: FaultNet, evidence: Mapping[str, Sequence[float]], known: Mapping[str, bool] | None = None
) -> dict[str, float]:
    """
    For each positive answer the chance that no fault shows it.

    Positive is an answer whose likeliest level is above 0 (of equals the lowest). Told is the chance that no
    fault that is there reaches that level, so that the leak alone does, given all answers, and given that the
    sign does reach it: a soft answer may be wrong, which is not asked here. Where the answers are impossible
    together, each is looked at by itself; one that nothing can show is unexplained for certain.

    Raises
    ------
    ValueError, TooWide
        As `posterior`.
    """
    this = problem(net, evidence, known)
    rows, places = [Row()], dict[str, tuple[int, int]]()
    found: dict[str, float] = {}
    signs = {
        one.id: one for one in (*this.scaling, *(sign for lot in this.lots for sign in lot.signs.values()))
    }
    for sign, weights in evidence.items():
        level = int(np.argmax(weights))
        if level == 0:
            continue
        of = signs[sign]
        below = np.array(of.starts_at) < level
        by_leak = math.fsum(a * b for a, b in zip(net.signs[sign].leak[level:], weights[level:], strict=True))
        if not of.shows:
            reached = float(of.start @ np.where(below, 0, of.weights))
            found[sign] = min(1.0, float(of.sure @ below) * by_leak / reached) if reached else 1.0
            continue
        places[sign] = len(rows), len(rows) + 1
        rows += [
            Row(starts={sign: of.sure}, weights={sign: below.astype(float)}, factor=by_leak),
            Row(weights={sign: np.where(below, 0, of.weights)}),
        ]
    log, _ = solved(this, rows)
    if log[0] == -math.inf and len(evidence) > 1:
        return {sign: unexplained(net, {sign: evidence[sign]}, known)[sign] for sign in (*found, *places)}
    for sign, (without, reaching) in places.items():
        possible = log[reaching] > -math.inf
        found[sign] = min(1.0, math.exp(log[without] - log[reaching])) if possible else 1.0
    return {sign: found[sign] for sign in evidence if sign in found}


def leave_one_out(
    net: FaultNet, evidence: Mapping[str, Sequence[float]], known: Mapping[str, bool] | None = None
) -> dict[str, LeftOut]:
    """
    For each answer what would be thought without it, and how likely it was then.

    Raises
    ------
    ValueError, TooWide
        As `posterior`; a sign of three levels or more may have one more state here than there.
    """
    this = problem(net, evidence, known, whole=True)
    scaling = {sign.id for sign in this.scaling}
    states = {sign.id: len(sign.weights) for lot in this.lots for sign in lot.signs.values()}
    rows = [
        Row(without=sign) if sign in scaling else Row(weights={sign: np.ones(states[sign])})
        for sign in evidence
    ]
    log, (_, faults) = solved(this, [Row(), *rows])
    return {
        sign: LeftOut(
            faults[n], math.exp(log[0] - log[n]) if log[n] > -math.inf else 0.0, bool(log[n] > -math.inf)
        )
        for n, sign in enumerate(evidence, 1)
    }
