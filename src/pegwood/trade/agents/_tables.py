"""The tables of agents, methods and materials together, checked against each other once."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar
from weakref import WeakKeyDictionary

from pegwood.trade.agents._kinds import (
    AGENTS,
    MATRIX,
    METHODS,
    METHODS_ON,
    UNCLEAR,
    Agent,
    AgentsOn,
    Method,
    MethodsOn,
    Unclear,
)
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.names import UnknownWord, find, nearest, plain
from pegwood.trade.reference import Named, Reference

N = TypeVar("N", bound=Named)


class UnclearWord(ValueError):
    """
    A word that may mean several things, or another thing than the one it looks like: it is not guessed at.

    Attributes
    ----------
    word : str
        As it was typed.
    may_mean : tuple of str
        Names that may be meant.
    """

    def __init__(self, word: str, row: Unclear) -> None:
        self.word = word
        self.may_mean = row.may_mean
        which = f" Say which: {', '.join(row.may_mean)}." if row.may_mean else ""
        super().__init__(f"{word!r}: {row.says}{which}")


@dataclass(frozen=True)
class Tables:
    """All that is known of agents, methods and materials."""

    agents: Mapping[Hashable, Agent]
    methods: Mapping[Hashable, Method]
    materials: Mapping[Hashable, Material]
    matrix: Mapping[Hashable, AgentsOn]
    methods_on: Mapping[Hashable, MethodsOn]
    unclear: Mapping[Hashable, Unclear]

    def agent(self, word: str) -> Agent:
        """The agent of that name; `UnclearWord` or `UnknownWord` if there is not just one."""
        return self._named(self.agents, word, "agent")

    def material(self, word: str) -> Material:
        """The material of that name; `UnclearWord` or `UnknownWord` if there is not just one."""
        return self._named(self.materials, word, "material")

    def method(self, word: str) -> Method:
        """The method of that name; `UnknownWord` if there is none."""
        return find(self.methods, word, "way of cleaning")

    def _named(self, rows: Mapping[Hashable, N], word: str, what: str) -> N:
        try:
            return find(rows, word, what)
        except UnknownWord:
            wanted = plain(word)
            for spelling in (wanted, wanted.removesuffix("s")):
                if row := self.unclear.get((what, spelling)):
                    raise UnclearWord(word, row) from None
            raise


_checked: WeakKeyDictionary[Reference, Tables] = WeakKeyDictionary()


def tables(reference: Reference) -> Tables:
    """
    The tables of a reference.

    Raises
    ------
    TableError
        If a file is not as its schema says.
    ValueError
        If a row speaks of an agent, a method or a material that no table holds: it would never be found.
    """
    if reference not in _checked:
        read = Tables(
            reference.rows(AGENTS),
            reference.rows(METHODS),
            reference.rows(MATERIALS),
            reference.rows(MATRIX),
            reference.rows(METHODS_ON),
            reference.rows(UNCLEAR),
        )
        _check(read)
        _checked[reference] = read
    return _checked[reference]


def _check(read: Tables) -> None:
    for row in set(read.matrix.values()):
        _known(row.agents, read.agents, "matrix.toml", "agent")
        _known(row.on, read.materials, "matrix.toml", "material")
    for spoken in set(read.methods_on.values()):
        _known(spoken.methods, read.methods, "methods-on.toml", "method")
        _known(spoken.on, read.materials, "methods-on.toml", "material")
    for agent in read.agents.values():
        _known((*agent.put_on, *agent.dry), read.methods, f"agents.toml, {agent.key!r}", "method")
        _known(
            (one for row in agent.rinse for one in row), read.agents, f"agents.toml, {agent.key!r}", "agent"
        )
    for method in read.methods.values():
        if method.rinsed_by:
            _known([method.rinsed_by], read.methods, f"methods.toml, {method.key!r}", "method")


def _known(keys: Iterable[str], rows: Mapping[Hashable, Named], where: str, what: str) -> None:
    for key in keys:
        if key not in rows:
            near = ", ".join(nearest(key, [str(one) for one in rows]))
            raise ValueError(f"{where}: {key!r} is the key of no {what}. Nearest: {near or 'none'}.")
