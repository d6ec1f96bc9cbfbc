"""The work that a family may need, as arrays: steps in, mends in the order they are tried, parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Minutes, Risk
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Mend
from pegwood.causes.planning.access import Access, access
from pegwood.causes.planning.expected_cost import until_it_holds
from pegwood.pricing.quote.terms import Done, PartPrice, Terms
from pegwood.pricing.spread import Many, Spread, spread, spread_of

Floats = NDArray[np.float64]
Few = NDArray[np.float32]
Ints = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Work:
    """
    What one job on a family may need, in places rather than names.

    Attributes
    ----------
    faults : tuple of str
    targets, target : tuple of str and array of int, shape (n_faults,)
        Parts that must be open for some fault; which of them for each, -1 where none must.
    steps : tuple of str
        Parts that come off for some target.
    brings : sparse array, shape (n_targets, n_steps)
        1 where the step is taken for the target.
    step_minutes, mend_minutes, always_minutes : Many
        Of each step off; of each mend; of what every job takes, and of parts that are off and go back.
    risk_step, risk_chance, risk_minutes : arrays, shape (n_risks,)
    first, count : array of int, shape (n_faults,)
        Where a fault's mends stand, in the order they are tried, and how many there are.
    success : array, shape (n_mends,)
    breaks, breaks_chance : array, shape (n_mends, most)
        Faults a mend may break, -1 for none.
    needs : array of int, shape (n_mends, most)
        Parts a mend uses up, -1 for none.
    parts : tuple of str
    costs : Many
        Of each part, in minor units; 0 where nobody gave a price.
    wait_for, waits : tuple of int and Many
        Parts that do not lie on the shelf, and for how long each is waited for, [day].
    unpriced : frozenset of str
    """

    terms: Terms
    done: Done
    faults: tuple[str, ...]
    targets: tuple[str, ...]
    target: Ints
    steps: tuple[str, ...]
    brings: csr_array
    step_minutes: Many
    mend_minutes: Many
    always_minutes: Many
    always_back: NDArray[np.bool_]
    risk_step: Ints
    risk_chance: Few
    risk_minutes: Few
    first: Ints
    count: Ints
    success: Few
    breaks: Ints
    breaks_chance: Few
    needs: Ints
    parts: tuple[str, ...]
    costs: Many
    wait_for: tuple[int, ...]
    waits: Many
    unpriced: frozenset[str]


def work_of(
    causes: FamilyCauses,
    construction: Construction,
    terms: Terms,
    parts: Mapping[str, PartPrice] | None = None,
    done: Done | None = None,
) -> Work:
    """
    The work that a family may need.

    Parameters
    ----------
    causes : FamilyCauses
    construction : Construction
        Of the same family.
    terms : Terms
    parts : mapping of str to PartPrice, optional
        By the part's id in the family. What a mend needs and is not in it counts as nothing, and is told.
    done : Done, optional

    Raises
    ------
    ValueError
        If a part is off that the family has not, or an amount is of another currency.
    """
    parts, done = parts or {}, done or Done()
    if strange := done.off - construction.parts.keys():
        raise ValueError(f"{min(strange)!r} is no part of this family.")
    for amount in (*(one.low for one in parts.values()), *([done.parts] if done.parts else [])):
        if amount.currency != terms.currency:
            raise ValueError(f"a part costs {amount.currency}, the rates are in {terms.currency}.")
    strip_down = construction.strip_down()
    way_in = access(strip_down, done.off)
    faults = tuple(causes.faults.values())
    open_for = [one.part if one.part in way_in.at and one.mends else "" for one in faults]
    targets = tuple(dict.fromkeys(filter(None, open_for)))
    rows = way_in.brings[[way_in.at[one] for one in targets]].reshape(len(targets), len(way_in.parts))
    taken = np.flatnonzero(rows.any(axis=0))
    steps, risks = _steps(construction, way_in, taken)
    mends = [_in_order(one.mends, causes, terms, parts) for one in faults]
    every = [mend for of in mends for mend in of]
    named = tuple(dict.fromkeys(part for mend in every for part in mend.parts))
    place = {part: n for n, part in enumerate(named)}
    at = {one.id: n for n, one in enumerate(faults)}
    count = np.array([len(of) for of in mends], dtype=np.intp)
    shape = terms.shape
    always = [terms.every_job] if terms.every_job else []
    waits = {part: days for part in named if part in parts and (days := parts[part].wait_days) is not None}
    whole = access(strip_down) if done.off else way_in
    back = [_minutes(construction, one, whole) for one in sorted(done.goes_back) if one in whole.at]
    return Work(
        terms=terms,
        done=done,
        faults=tuple(at),
        targets=targets,
        target=np.array([targets.index(one) if one else -1 for one in open_for], dtype=np.intp),
        steps=tuple(way_in.parts[n] for n in taken),
        brings=csr_array(rows[:, taken].astype(np.float32)),
        step_minutes=Many([spread_of(one, shape) for one in steps]),
        mend_minutes=Many([spread_of(mend.minutes, shape) for mend in every]),
        always_minutes=Many([spread_of(one, shape) for one in (*always, *back)]),
        always_back=np.array([False] * len(always) + [True] * len(back), dtype=bool),
        risk_step=np.array([n for n, _ in risks], dtype=np.intp),
        risk_chance=np.array([risk.chance for _, risk in risks], dtype=np.float32),
        risk_minutes=np.array([risk.minutes for _, risk in risks], dtype=np.float32),
        first=np.cumsum(count) - count,
        count=count,
        success=np.array([mend.success for mend in every], dtype=np.float32),
        breaks=_padded(
            [[at[one.fault] for one in mend.breaks if one.fault in at] for mend in every], -1
        ).astype(np.intp),
        breaks_chance=_padded(
            [[one.chance for one in mend.breaks if one.fault in at] for mend in every], 0.0
        ).astype(np.float32),
        needs=_padded([[place[part] for part in mend.parts] for mend in every], -1).astype(np.intp),
        parts=named,
        costs=Many([_cost(parts.get(part)) for part in named]),
        wait_for=tuple(place[part] for part in waits),
        waits=Many([spread(*days, "pert") for days in waits.values()]),
        unpriced=frozenset(named) - parts.keys(),
    )


def _steps(
    construction: Construction, way_in: Access, taken: Ints
) -> tuple[list[Minutes], list[tuple[int, Risk]]]:
    """Minutes of each step taken, and what may go wrong at which."""
    minutes, risks = [], []
    for n, at in enumerate(taken):
        part = construction.parts[way_in.parts[at]]
        way = next(one for one in part.ways if one.name == way_in.ways[at])
        minutes.append(way.minutes)
        risks += [(n, risk) for risk in way.risks]
    return minutes, risks


def _minutes(construction: Construction, part: str, way_in: Access) -> Minutes:
    named = way_in.ways[way_in.at[part]]
    return next(way.minutes for way in construction.parts[part].ways if way.name == named)


def _in_order(
    mends: tuple[Mend, ...], causes: FamilyCauses, terms: Terms, parts: Mapping[str, PartPrice]
) -> list[Mend]:
    """The mends of a fault, what is cheapest until it holds first."""

    def cost(mend: Mend) -> float:
        used = sum(parts[part].likely.minor for part in mend.parts if part in parts)
        tries = terms.minor(terms.per_mend) / mend.success
        return until_it_holds(mend, causes.faults) * terms.per_minute + used + tries

    return sorted(mends, key=cost)


def _cost(price: PartPrice | None) -> Spread:
    if price is None:
        return spread(0, 0, 0)
    return spread(price.low.minor, price.likely.minor, price.high.minor, "pert")


def _padded(rows: Sequence[Sequence[float]], empty: float) -> Floats:
    most = max(map(len, rows), default=0)
    padded = [[*row, *[empty] * (most - len(row))] for row in rows]
    return np.array(padded, dtype=np.float64).reshape(len(rows), most)
