"""The words that a command is made of: data, one file for a language."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

LANGUAGES = Path(__file__).parents[1] / "languages"
_GROUPS = ("conditions", "works", "places", "control")


@dataclass(frozen=True, kw_only=True)
class Sayings:
    """
    What can be said, by what it means.

    Attributes
    ----------
    conditions, works, places, control : mapping of str to tuple of str
        A key, and the ways to say it; the first is the one that is read back.
    grades, numbers : mapping of str to int
    fractions, lengths : mapping of str to float
        "and a half" of a turn; a word for a part of a millimetre [mm].
    needs : tuple of str
        What stands between a part and its work.
    """

    conditions: Mapping[str, tuple[str, ...]]
    works: Mapping[str, tuple[str, ...]]
    places: Mapping[str, tuple[str, ...]]
    control: Mapping[str, tuple[str, ...]]
    grades: Mapping[str, int]
    numbers: Mapping[str, int]
    fractions: Mapping[str, float]
    lengths: Mapping[str, float]
    needs: tuple[str, ...]


class NotSayings(ValueError):
    """A file of sayings that cannot be used; one line with its name and the reason."""


@cache
def sayings(language: str = "en") -> Sayings:
    """
    The sayings of a language.

    Raises
    ------
    NotSayings
        If there is no such file, or it holds something else.
    """
    file = LANGUAGES / f"{language}.spoken.toml"
    if not re.fullmatch(r"[a-z]{2,3}", language) or not file.is_file():
        raise NotSayings(f"No sayings for {language!r}: there is no {language}.spoken.toml.")
    return sayings_in(tomllib.loads(file.read_text("utf-8")), file.name)


def sayings_in(table: Mapping[str, Any], name: str) -> Sayings:
    """Sayings from a table as TOML gives it; `name` is what a refusal calls it."""
    groups = {group: _forms(table, group, name) for group in _GROUPS}
    figures = {group: _figures(table, group, name) for group in ("grades", "numbers", "fractions", "lengths")}
    needs = table.get("needs")
    if not isinstance(needs, list) or not needs or not all(isinstance(one, str) for one in needs):
        raise NotSayings(f"{name}: 'needs' is a list of words.")
    return Sayings(
        **groups,
        grades={word: int(value) for word, value in figures["grades"].items()},
        numbers={word: int(value) for word, value in figures["numbers"].items()},
        fractions=figures["fractions"],
        lengths=figures["lengths"],
        needs=tuple(needs),
    )


def _forms(table: Mapping[str, Any], group: str, name: str) -> dict[str, tuple[str, ...]]:
    held = table.get(group)
    if not isinstance(held, dict) or not held:
        raise NotSayings(f"{name}: [{group}] is missing.")
    for key, forms in held.items():
        if not isinstance(forms, list) or not forms or not all(isinstance(f, str) and f for f in forms):
            raise NotSayings(f"{name}: [{group}] {key!r} is a list of ways to say it.")
    return {key: tuple(forms) for key, forms in held.items()}


def _figures(table: Mapping[str, Any], group: str, name: str) -> dict[str, float]:
    held = table.get(group)
    if not isinstance(held, dict) or not held:
        raise NotSayings(f"{name}: [{group}] is missing.")
    for word, value in held.items():
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not value > 0:
            raise NotSayings(f"{name}: [{group}] {word!r} is a number above zero.")
    return dict(held)


def spoken_words(name: str) -> tuple[str, ...]:
    """
    A name as it is spoken, word by word: "X contact (old)" is "x", "contact".

    What stands in brackets is not spoken; a number is left out, for nobody agrees on how to say it.
    """
    bare = re.sub(r"\([^)]*\)", " ", name.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"))
    return tuple(re.findall(r"[a-z]+(?:'[a-z]*)?", bare))
