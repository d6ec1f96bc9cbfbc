"""
TOML into frozen dataclasses: what a table must hold is said once, as types, and a slip is shown with its
line.
"""

from __future__ import annotations

import difflib
import math
import re
import types
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from functools import cache, partial
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

import tomli

T = TypeVar("T")
Place = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)([\w.\-]+)\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([\w\-]+)\s*=")


class TableError(ValueError):
    """A file of data that does not say what it must; the message names file, line and place."""


class Source:
    """
    The text of a TOML file, to point into.

    Parameters
    ----------
    text : str
        The file's text.
    name : str
        What to call it in an error.
    """

    def __init__(self, text: str, name: str) -> None:
        self.text = text
        self.name = name
        self._table: dict[str, Any] | None = None

    def table(self) -> dict[str, Any]:
        """The parsed file, parsed once; text that is not TOML raises `TableError`."""
        if self._table is None:
            self._table = self._parsed()
        return self._table

    def _parsed(self) -> dict[str, Any]:
        try:
            return tomli.loads(self.text)
        except tomli.TOMLDecodeError as error:
            raise TableError(f"{self.name}: {error}") from error

    def error(self, place: Place, says: str) -> TableError:
        """An error at a place such as ("jobs", 3, "findings", 0, "grade")."""
        path = "".join(f" {part + 1}" if isinstance(part, int) else f", {part}" for part in place)
        where = f"{path.lstrip(', ')}: " if place else ""
        return TableError(f"{self.name}, line {self.line(place)}: {where}{says}")

    def line(self, place: Place) -> int:
        """The line of a place, or of the nearest thing around it that has one."""
        best, at = 0, 1
        for number, where in self._places():
            if len(where) > best and place[: len(where)] == where:
                best, at = len(where), number
        return at

    def _places(self) -> list[tuple[int, Place]]:
        """Every table header and key with its line; keys inside values that span lines may be missed."""
        found: list[tuple[int, Place]] = []
        latest: dict[tuple[str, ...], Place] = {}
        current: Place = ()
        for number, line in enumerate(self.text.splitlines(), 1):
            if header := _HEADER.match(line):
                names = tuple(header[2].split("."))
                around = latest.get(names[:-1], names[:-1])
                current = (*around, names[-1])
                if header[1] == "[[":
                    before = latest.get(names)
                    current = (*current, before[-1] + 1 if before and isinstance(before[-1], int) else 0)
                    # tables inside the one before start counting anew
                    latest = {k: v for k, v in latest.items() if k[: len(names)] != names}
                latest[names] = current
                found.append((number, current))
            elif key := _KEY.match(line):
                found.append((number, (*current, key[1])))
        return found


def built(kind: type[T], value: Any, source: Source, place: Place = ()) -> T:
    """
    A frozen dataclass from a parsed table.

    Parameters
    ----------
    kind : type
        The dataclass; its fields' types say what the table must hold.
    value : Any
        The table.
    source : Source
        For the errors.
    place : tuple
        Where the table stands.

    Raises
    ------
    TableError
        If a field is missing, unknown or of another type.
    """
    if not isinstance(value, dict):
        raise source.error(place, f"expected a table, found {value!r}.")
    readers = _readers(cast(Any, kind))
    for name in value:
        if name not in readers:
            near = difflib.get_close_matches(name, readers, 1)
            hint = f"Did you mean '{near[0]}'?" if near else f"Expected one of: {', '.join(readers)}."
            raise source.error((*place, name), f"there is no such field. {hint}")
    given: dict[str, Any] = {}
    for name, (read, is_needed) in readers.items():
        if name in value:
            given[name] = read(value[name], source, (*place, name))
        elif is_needed:
            raise source.error(place, f"'{name}' is missing.")
    try:
        return kind(**given)
    except ValueError as error:  # the dataclass's own checks
        raise source.error(place, str(error)) from error


Reader = Callable[[Any, Source, Place], Any]


@cache
def _readers(kind: Any) -> dict[str, tuple[Reader, bool]]:
    """For each field how it is read and whether it must be there; worked out once, rows come by hundreds."""
    hints = get_type_hints(kind)
    return {
        f.name: (_reader(hints[f.name]), f.default is MISSING and f.default_factory is MISSING)
        for f in fields(kind)
        if f.metadata.get("in_table", True)
    }


@cache
def _reader(hint: Any) -> Reader:
    """How a value is checked against a type hint."""
    origin, inside = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return _reader(next(one for one in inside if one is not type(None)))
    if origin is Literal:
        return _one_of(inside)
    if origin is tuple:
        return _several(_reader(inside[0]))
    if is_dataclass(hint) and isinstance(hint, type):
        return partial(built, hint)
    return _plain(hint)


def _one_of(choices: tuple[Any, ...]) -> Reader:
    def read(value: Any, source: Source, place: Place) -> Any:
        if value not in choices:
            raise source.error(place, f"{value!r}. Expected one of: {', '.join(map(repr, choices))}.")
        return value

    return read


def _several(each: Reader) -> Reader:
    def read(value: Any, source: Source, place: Place) -> Any:
        if not isinstance(value, list):
            raise source.error(place, f"expected a list, found {value!r}.")
        return tuple(each(one, source, (*place, i)) for i, one in enumerate(value))

    return read


def _plain(kind: type) -> Reader:
    def read(value: Any, source: Source, place: Place) -> Any:
        if kind is float and type(value) is int:
            return float(value)
        if type(value) is not kind or (isinstance(value, float) and not math.isfinite(value)):
            raise source.error(place, f"expected {_SAID[kind]}, found {value!r}.")
        return value.strip() if isinstance(value, str) else value

    return read


_SAID = {str: "text", int: "a whole number", float: "a number", bool: "true or false"}
