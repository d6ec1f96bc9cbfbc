"""Interchange Format for Bayesian networks (BIF 0.15, 1998; memory)."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from pegwood.causes.inference import FaultNet
from pegwood.causes.interchange.general import GeneralNet, Variable, general


def to_bif(net: FaultNet, title: str) -> str:
    """A net's text as BIF; a comment above each variable says which fault or sign it stands for."""
    return written(general(net, title))


def written(net: GeneralNet) -> str:
    """A general net's text as BIF."""
    by_name = {one.name: one for one in net.variables}
    lines = [f"// {_one_line(net.title)}", "network pegwood {", "}"]
    for variable in net.variables:
        lines += [
            f"// {variable.name} = {_one_line(variable.of)}"
            if variable.of
            else "// a step on the way to a sign",
            f"variable {variable.name} {{",
            f"  type discrete [ {len(variable.states)} ] {{ {', '.join(variable.states)} }};",
            "}",
        ]
    for variable in net.variables:
        lines += _table(variable, [by_name[one] for one in variable.parents])
    return "\n".join(lines) + "\n"


def _table(variable: Variable, parents: list[Variable]) -> Iterator[str]:
    if not parents:
        yield f"probability ( {variable.name} ) {{"
        yield f"  table {_numbers(variable.table.tolist())};"
    else:
        yield f"probability ( {variable.name} | {', '.join(one.name for one in parents)} ) {{"
        rows = variable.table.reshape(-1, len(variable.states)).tolist()
        for states, row in zip(itertools.product(*(one.states for one in parents)), rows, strict=True):
            yield f"  ({', '.join(states)}) {_numbers(row)};"
    yield "}"


def _numbers(row: list[float]) -> str:
    return ", ".join(map(repr, row))


def _one_line(text: str) -> str:
    return " ".join(text.split())
