"""
TOML into frozen dataclasses: what a table must hold is said once, as types, and a slip is shown with its
line.
"""

from __future__ import annotations

import difflib
import re
import tomllib
import types
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

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

    def table(self) -> dict[str, Any]:
        """The parsed file; text that is not TOML raises `TableError`."""
        try:
            return tomllib.loads(self.text)
        except tomllib.TOMLDecodeError as error:
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
    hints = _hints(cast(Any, kind))
    known = {f.name: f for f in fields(kind)}  # type: ignore[arg-type]
    for name in value:
        if name not in known:
            near = difflib.get_close_matches(name, known, 1)
            hint = f"Did you mean '{near[0]}'?" if near else f"Expected one of: {', '.join(known)}."
            raise source.error((*place, name), f"there is no such field. {hint}")
    given: dict[str, Any] = {}
    for name, f in known.items():
        if name in value:
            given[name] = _as(hints[name], value[name], source, (*place, name))
        elif f.default is MISSING and f.default_factory is MISSING:
            raise source.error(place, f"'{name}' is missing.")
    try:
        return kind(**given)
    except ValueError as error:  # the dataclass's own checks
        raise source.error(place, str(error)) from error


@cache
def _hints(kind: Any) -> dict[str, Any]:
    """The types of a dataclass's fields; worked out once, for a table has hundreds of rows."""
    return get_type_hints(kind)


def _as(hint: Any, value: Any, source: Source, place: Place) -> Any:
    """A value checked against a type hint."""
    origin, inside = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return _as(next(one for one in inside if one is not type(None)), value, source, place)
    if origin is Literal:
        if value not in inside:
            raise source.error(place, f"{value!r}. Expected one of: {', '.join(map(repr, inside))}.")
        return value
    if origin is tuple:
        if not isinstance(value, list):
            raise source.error(place, f"expected a list, found {value!r}.")
        return tuple(_as(inside[0], one, source, (*place, i)) for i, one in enumerate(value))
    if is_dataclass(hint) and isinstance(hint, type):
        return built(hint, value, source, place)
    if hint is float and type(value) is int:
        return float(value)
    if type(value) is not hint:
        raise source.error(place, f"expected {_SAID[hint]}, found {value!r}.")
    return value.strip() if isinstance(value, str) else value


_SAID = {str: "text", int: "a whole number", float: "a number", bool: "true or false"}
