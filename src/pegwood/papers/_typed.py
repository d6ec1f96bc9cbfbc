"""Frozen pieces that check their own types when built, and travel through JSON and back unchanged."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import math
import re
import types
import typing
from functools import cache
from typing import Any, Literal, TypeVar

from pegwood.pricing.money import Money, MoneyError

LONGEST_TEXT = 20_000  # characters in one text; about six full pages
LONGEST_LIST = 400

P = TypeVar("P")


class BadContent(ValueError):
    """What was to stand on a paper cannot be: one line with the place, the value and what would be right."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class Piece:
    """A part of a paper's content. Every field is checked against its annotation when the piece is built."""

    def __post_init__(self) -> None:
        piece: Any = type(self)
        for name, wanted in _hints(piece).items():
            value = getattr(self, name)
            _check(value, wanted, f"{type(self).__name__}.{name}")
            if isinstance(value, int) and float in (wanted, *typing.get_args(wanted)):
                object.__setattr__(self, name, float(value))  # one content, one JSON: 1.0 and never 1


@cache
def _hints(piece: Any) -> dict[str, Any]:
    hints = typing.get_type_hints(piece)
    return {field.name: hints[field.name] for field in dataclasses.fields(piece)}


def _check(value: object, wanted: Any, where: str) -> None:
    origin, options = typing.get_origin(wanted), typing.get_args(wanted)
    if origin is Literal:
        if not any(value == option and type(value) is type(option) for option in options):
            raise BadContent(f"{where}: {_short(value)}. Expected one of {', '.join(map(repr, options))}.")
    elif origin in (types.UnionType, typing.Union):
        if value is None and type(None) in options:
            return
        (other,) = [option for option in options if option is not type(None)]
        _check(value, other, where)
    elif origin is tuple:
        if not isinstance(value, tuple):
            raise BadContent(f"{where}: {_short(value)}. Expected a tuple.")
        if len(value) > LONGEST_LIST:
            raise BadContent(f"{where}: {len(value)} entries. Expected at most {LONGEST_LIST}.")
        for number, entry in enumerate(value, start=1):
            _check(entry, options[0], f"{where}, entry {number}")
    elif wanted is str:
        _check_text(value, where)
    elif wanted is float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise BadContent(f"{where}: {_short(value)}. Expected a finite number.")
    elif wanted is int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise BadContent(f"{where}: {_short(value)}. Expected a whole number.")
    elif not isinstance(value, wanted):
        raise BadContent(f"{where}: {_short(value)}. Expected {wanted.__name__}.")


def _check_text(value: object, where: str) -> None:
    if not isinstance(value, str):
        raise BadContent(f"{where}: {_short(value)}. Expected a text.")
    if len(value) > LONGEST_TEXT:
        raise BadContent(f"{where}: {len(value)} characters. Expected at most {LONGEST_TEXT}.")
    if "\0" in value:
        raise BadContent(f"{where}: holds a NUL, which no database keeps. Expected a text.")
    try:
        value.encode("utf-8")
    except UnicodeEncodeError as error:
        raise BadContent(
            f"{where}: half of a character pair at {error.start}. Expected a whole text."
        ) from error


def _short(value: object) -> str:
    shown = ascii(value)
    return shown if len(shown) <= 60 else shown[:59] + "…"


def check_filled(where: str, /, **texts: str) -> None:
    """Refuse an empty text where the paper would make no sense without it."""
    for name, text in texts.items():
        if not text.strip():
            raise BadContent(f"{where}.{name}: nothing given. Expected a text.")


def check_short(where: str, longest: int, /, **texts: str) -> None:
    """Refuse a text too long for its place, where breaking it would break the sheet."""
    for name, text in texts.items():
        if len(text) > longest:
            raise BadContent(f"{where}.{name}: {len(text)} characters. Expected at most {longest}.")


def check_date(where: str, date: str | None) -> None:
    """Refuse what is no ISO calendar date; None is a date not known."""
    if date is None:
        return
    if re.fullmatch(r"\d{4}-\d\d-\d\d", date, re.ASCII):
        try:
            dt.date.fromisoformat(date)
        except ValueError:
            pass
        else:
            return
    raise BadContent(f"{where}: {_short(date)}. Expected a date such as '2026-03-04'.")


def check_moment(where: str, moment: str) -> None:
    """Refuse what is no ISO date and time with its offset from UTC."""
    try:
        read = dt.datetime.fromisoformat(moment)
    except ValueError:
        read = None
    if read is None or read.utcoffset() is None or not 1970 <= read.year <= 9000:
        raise BadContent(f"{where}: {_short(moment)}. Expected such as '2026-03-04T14:05:00+01:00'.")


def check_positive(where: str, /, **values: float | None) -> None:
    """Refuse what is not above zero; None is a value not known."""
    for name, value in values.items():
        if value is not None and not value > 0:
            raise BadContent(f"{where}.{name}: {value!r}. Expected a number above zero.")


def dump(piece: Piece) -> dict[str, Any]:
    """The piece as what JSON can hold; every field stands there, also the empty ones."""
    kind: Any = type(piece)
    return {name: _dump_value(getattr(piece, name)) for name in _hints(kind)}


def _dump_value(value: object) -> Any:
    if isinstance(value, Piece):
        return dump(value)
    if isinstance(value, Money):
        return {"currency": value.currency, "minor": value.minor}
    if isinstance(value, tuple):
        return [_dump_value(entry) for entry in value]
    return value


def load(piece: type[P], data: object, where: str = "") -> P:
    """The piece back from what `dump` gave; anything missing, unknown or of the wrong type is refused."""
    where = where or piece.__name__
    if not isinstance(data, dict):
        raise BadContent(f"{where}: {_short(data)}. Expected an object.")
    hints = _hints(piece) if dataclasses.is_dataclass(piece) else {}
    if unknown := sorted(set(data) - set(hints)):
        raise BadContent(f"{where}: unknown field {_short(unknown[0])}. Expected only {', '.join(hints)}.")
    if missing := [name for name in hints if name not in data]:
        raise BadContent(f"{where}: field {missing[0]!r} is missing.")
    values = {name: _load_value(wanted, data[name], f"{where}.{name}") for name, wanted in hints.items()}
    return piece(**values)


def _load_value(wanted: Any, data: object, where: str) -> Any:
    origin, options = typing.get_origin(wanted), typing.get_args(wanted)
    if origin in (types.UnionType, typing.Union):
        (other,) = [option for option in options if option is not type(None)]
        return None if data is None else _load_value(other, data, where)
    if origin is tuple:
        if not isinstance(data, list):
            raise BadContent(f"{where}: {_short(data)}. Expected a list.")
        return tuple(_load_value(options[0], entry, f"{where}[{i}]") for i, entry in enumerate(data))
    if wanted is Money:
        if not isinstance(data, dict) or set(data) != {"currency", "minor"}:
            raise BadContent(f"{where}: {_short(data)}. Expected an amount with its currency.")
        try:
            return Money(data["minor"], data["currency"])
        except MoneyError as error:
            raise BadContent(f"{where}: {error}") from error
    if isinstance(wanted, type) and issubclass(wanted, Piece):
        return load(wanted, data, where)
    return data


def canonical(data: object) -> str:
    """One JSON text for one content: keys sorted, no spaces, no NaN, letters as they are."""
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
