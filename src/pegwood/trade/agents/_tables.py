"""The tables of agents, methods and materials together, checked against each other once."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from functools import cached_property
from typing import TypeVar

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
from pegwood.trade.reference import Named, Reference, Row, Table

N = TypeVar("N", bound=Named)
R = TypeVar("R", bound=Row)


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


class Tables:
    """
    All that is known of agents, methods and materials; each table read when first asked for, and checked
    against the others.

    Parameters
    ----------
    reference : Reference
        Where they are read from.

    Raises
    ------
    TableError
        When a table is read whose file is not as its schema says.
    ValueError
        When a table is read that speaks of an agent, a method or a material that no table holds: such a row
        would never be found.
    """

    def __init__(self, reference: Reference) -> None:
        self.reference = reference

    @cached_property
    def agents(self) -> Mapping[Hashable, Agent]:
        """Agents by key."""
        return self._checked(AGENTS, self._check_agents)

    @cached_property
    def methods(self) -> Mapping[Hashable, Method]:
        """Methods by key."""
        return self._checked(METHODS, self._check_methods)

    @cached_property
    def materials(self) -> Mapping[Hashable, Material]:
        """Materials by key."""
        return self.reference.rows(MATERIALS)

    @cached_property
    def matrix(self) -> Mapping[Hashable, AgentsOn]:
        """What is said of agents on materials, by their keys."""
        return self._checked(MATRIX, self._check_matrix)

    @cached_property
    def methods_on(self) -> Mapping[Hashable, MethodsOn]:
        """What is said of methods on materials, by their keys."""
        return self._checked(METHODS_ON, self._check_methods_on)

    @cached_property
    def unclear(self) -> Mapping[Hashable, Unclear]:
        """Words that are asked back, by where they are unclear and the word."""
        return self.reference.rows(UNCLEAR)

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
        if by_key := rows.get(plain(word).replace(" ", "-")):
            return by_key
        try:
            return find(rows, word, what)
        except UnknownWord:
            wanted = plain(word)
            for spelling in (wanted, wanted.removesuffix("s")):
                if row := self.unclear.get((what, spelling)):
                    raise UnclearWord(word, row) from None
            raise

    def _checked(
        self, table: Table[R], check: Callable[[Mapping[Hashable, R]], None]
    ) -> Mapping[Hashable, R]:
        rows = self.reference.rows(table)
        self.reference.once(("checked", table.stem), lambda: check(rows))
        return rows

    def _check_agents(self, agents: Mapping[Hashable, Agent]) -> None:
        methods = self.reference.rows(METHODS)
        for agent in agents.values():
            where = f"agents.toml, {agent.key!r}"
            _known((*agent.put_on, *agent.dry), methods, where, "method")
            _known((one for row in agent.rinse for one in row), agents, where, "agent")

    def _check_methods(self, methods: Mapping[Hashable, Method]) -> None:
        for method in methods.values():
            rinsed_by = [method.rinsed_by] if method.rinsed_by else []
            _known(rinsed_by, methods, f"methods.toml, {method.key!r}", "method")

    def _check_matrix(self, matrix: Mapping[Hashable, AgentsOn]) -> None:
        for row in _each_once(matrix):
            _known(row.agents, self.agents, "matrix.toml", "agent")
            _known(row.on, self.materials, "matrix.toml", "material")

    def _check_methods_on(self, methods_on: Mapping[Hashable, MethodsOn]) -> None:
        for row in _each_once(methods_on):
            _known(row.methods, self.methods, "methods-on.toml", "method")
            _known(row.on, self.materials, "methods-on.toml", "material")


def _each_once(rows: Mapping[Hashable, R]) -> Iterable[R]:
    """Rows that stand under many keys, without comparing what they say."""
    return {id(row): row for row in rows.values()}.values()


def _known(keys: Iterable[str], rows: Mapping[Hashable, Named], where: str, what: str) -> None:
    for key in keys:
        if key not in rows:
            near = ", ".join(nearest(key, [str(one) for one in rows]))
            raise ValueError(f"{where}: {key!r} is the key of no {what}. Nearest: {near or 'none'}.")
