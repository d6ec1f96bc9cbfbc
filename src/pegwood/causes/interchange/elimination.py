"""
The chances in a general net, exact: variables summed out one after the other (Zhang and Poole 1994; memory).

For nets that are no faults and signs, and to check an export on what it says rather than on how it looks. No
engine for the bench: it is meant for small tables.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from pegwood.causes.interchange.general import Floats, GeneralNet

Factor = tuple[tuple[str, ...], Floats]


def chances(net: GeneralNet, seen: Mapping[str, str], of: str) -> tuple[float, Floats]:
    """
    Chance of what was seen, and of each state of one variable after it.

    Parameters
    ----------
    net : GeneralNet
    seen : mapping of str to str
        State of each variable that was seen, both by name.
    of : str
        A variable's name.

    Returns
    -------
    chance : float
    states : array, shape (states,)
        Even where what was seen cannot be: then nan.

    Raises
    ------
    KeyError, ValueError
        If a variable, or a state of one that was seen, is none of the net's.
    """
    by_name = {one.name: one for one in net.variables}
    for name, state in seen.items():
        by_name[name].states.index(state)
    factors: list[Factor] = []
    for one in net.variables:
        names, table = [*one.parents, one.name], one.table
        for name in [name for name in names if name in seen and name != of]:
            table = np.take(table, by_name[name].states.index(seen[name]), axis=names.index(name))
            names.remove(name)
        factors.append((tuple(names), table))
    if of in seen:
        here = np.array([float(state == seen[of]) for state in by_name[of].states])
        factors.append(((of,), here))
    left = by_name.keys() - seen.keys() - {of}
    while left:
        name = min(left, key=lambda one: (_size(factors, one), one))
        left.discard(name)
        mine = [factor for factor in factors if name in factor[0]]
        factors = [factor for factor in factors if name not in factor[0]]
        factors.append(_product(mine, without=name))
    _, states = _product(factors, without="")
    chance = float(states.sum())
    with np.errstate(invalid="ignore"):
        return chance, states / chance


def _size(factors: list[Factor], name: str) -> int:
    sizes = {
        one: n for names, table in factors if name in names for one, n in zip(names, table.shape, strict=True)
    }
    return math.prod(sizes.values())


def _product(factors: list[Factor], without: str) -> Factor:
    """The product of several factors, summed over one variable."""
    names = sorted({name for of, _ in factors for name in of})
    at = {name: n for n, name in enumerate(names)}
    to = [name for name in names if name != without]
    operands: list[Any] = []
    for of, table in factors:
        operands += [table, [at[name] for name in of]]
    return tuple(to), np.asarray(np.einsum(*operands, [at[name] for name in to]))
