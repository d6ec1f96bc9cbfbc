"""
A net as a general one: variables with parents and a table each.

A table over all causes of a sign would have two to their number of rows. A sign is therefore written as what
each cause shows, and a chain over these and the leak: the higher of the first two, the higher of that and the
third, and so on; the last is the sign itself (parent divorcing: Olesen and others 1989; memory). All tables
together are as long as there are links. The higher of two does not ask which comes first: readers that
disagree on the order of parents read the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.causes.inference import FaultNet, Link

Floats = NDArray[np.float64]
ABSENT, PRESENT = "absent", "present"


@dataclass(frozen=True)
class Variable:
    """
    A variable.

    Attributes
    ----------
    name : str
        Letters, digits and underscores, a letter first: legal in every format.
    of : str
        What it stands for: the id of a fault or a sign, or empty for a step of a chain.
    states : tuple of str
    parents : tuple of str
        Names of variables before it.
    table : array, shape (states of each parent..., states)
        Chance of each state, [1].
    """

    name: str
    of: str
    states: tuple[str, ...]
    parents: tuple[str, ...]
    table: Floats


@dataclass(frozen=True)
class GeneralNet:
    """Variables, each after its parents."""

    title: str
    variables: tuple[Variable, ...]

    def named(self, of: str) -> Variable:
        """
        The variable that stands for a fault or a sign.

        Raises
        ------
        KeyError
            If none does.
        """
        for one in self.variables:
            if one.of == of:
                return one
        raise KeyError(of)


def general(net: FaultNet, title: str) -> GeneralNet:
    """The net as a general one. Where a fault and a sign have one id, the fault's is found by it."""
    names = _Names()
    variables = []
    of_fault = {}
    for fault, prior in net.priors.items():
        of_fault[fault] = names.legal(fault)
        table = np.array([1 - prior, prior])
        variables.append(Variable(of_fault[fault], fault, (ABSENT, PRESENT), (), table))
    for sign, node in net.signs.items():
        states = tuple(f"level{n}" for n in range(len(node.leak)))
        variables += _chain(sign, states, node.leak, net.of_sign[sign], of_fault, names)
    return GeneralNet(title, tuple(variables))


def _chain(
    sign: str,
    states: tuple[str, ...],
    leak: Sequence[float],
    links: Sequence[Link],
    of_fault: Mapping[str, str],
    names: _Names,
) -> Iterator[Variable]:
    last = names.legal(sign)
    if not links:
        yield Variable(last, sign, states, (), np.array(leak))
        return
    before = names.legal(f"{sign}_leak")
    yield Variable(before, "", states, (), np.array(leak))
    higher = np.eye(len(leak))[np.maximum.outer(range(len(leak)), range(len(leak)))]
    for n, link in enumerate(links, 1):
        shown = names.legal(f"{sign}_by_{link.fault}")
        nothing = np.eye(len(leak))[0]
        yield Variable(shown, "", states, (of_fault[link.fault],), np.stack((nothing, link.shows)))
        is_last = n == len(links)
        name = last if is_last else names.legal(f"{sign}_upto_{n}")
        yield Variable(name, sign if is_last else "", states, (before, shown), higher)
        before = name


class _Names:
    """Names that every format takes, each once."""

    def __init__(self) -> None:
        self.taken: set[str] = set()

    def legal(self, wanted: str) -> str:
        plain = re.sub(r"[^A-Za-z0-9]+", "_", wanted).strip("_") or "x"
        if not plain[0].isalpha():
            plain = f"x{plain}"
        name, n = plain, 1
        while name.lower() in self.taken:
            n += 1
            name = f"{plain}_{n}"
        self.taken.add(name.lower())
        return name
