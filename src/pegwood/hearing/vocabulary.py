"""The words and rules of a language, read from its file and checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from functools import lru_cache
from importlib import resources
from typing import Any, get_type_hints

import tomli

from pegwood.hearing.vocabulary_kinds import BadVocabulary, Pairs, Taught, Vague, Vocabulary, Words

__all__ = [
    "GRADES",
    "NOTHING",
    "BadVocabulary",
    "Taught",
    "Vague",
    "Vocabulary",
    "read_vocabulary",
    "vocabulary",
]

#: In place of a condition: the words tell none of such a part.
NOTHING = "nothing"
GRADES = ("slight", "some", "marked", "heavy", "past_use")


@lru_cache(maxsize=8)
def vocabulary(language: str = "en") -> Vocabulary:
    """
    The vocabulary of a language.

    Parameters
    ----------
    language : str
        A file's name in `languages/` without its ending.

    Raises
    ------
    BadVocabulary
        If there is no such file, or it does not hold what it must.
    """
    there = sorted(one.name.removesuffix(".toml") for one in _folder().iterdir() if one.name.count(".") == 1)
    if language not in there:
        raise BadVocabulary(f"No vocabulary for {language!r}; there is {', '.join(there)}.")
    name = f"{language}.toml"
    read = read_vocabulary((_folder() / name).read_text("utf-8"), name, language)
    called = _folder() / f"{language}.parts.toml"
    return (
        replace(read, called=read_called(called.read_text("utf-8"), called.name))
        if called.is_file()
        else read
    )


def read_called(text: str, name: str) -> Mapping[str, Words]:
    """
    What parts are called in talk, from the text of its file.

    Raises
    ------
    BadVocabulary
        With the file's name and what is expected there.
    """
    try:
        table = tomli.loads(text)
    except tomli.TOMLDecodeError as error:
        raise BadVocabulary(f"{name}: {error}") from error
    if set(table) != {"source", "mark", "called"} or not isinstance(table["called"], dict):
        raise BadVocabulary(f"{name}: expected source, mark and [called].")
    return {part: _words(said, f"{name}: {part}") for part, said in table["called"].items()}


def _folder() -> Any:
    return resources.files("pegwood.hearing") / "languages"


def read_vocabulary(text: str, name: str, language: str) -> Vocabulary:
    """
    A vocabulary from the text of its file.

    Raises
    ------
    BadVocabulary
        With the file's name, the place and what is expected there.
    """
    try:
        table = tomli.loads(text)
    except tomli.TOMLDecodeError as error:
        raise BadVocabulary(f"{name}: {error}") from error
    kinds = get_type_hints(Vocabulary)
    wanted = [one.name for one in fields(Vocabulary) if one.name not in ("language", "taught", "called")]
    _none_unknown(table, wanted, name)
    held = {key: _typed(kinds[key], table[key], f"{name}: {key}") for key in wanted if key in table}
    if missing := [key for key in wanted if key not in held]:
        raise BadVocabulary(f"{name}: {', '.join(missing)} missing.")
    _checked(held, name)
    return Vocabulary(language=language, **held)


def _checked(held: dict[str, Any], name: str) -> None:
    if sorted(held["grades"]) != sorted(GRADES):
        raise BadVocabulary(f"{name}: grades: expected {', '.join(GRADES)}.")
    known = held["conditions"]
    for vague in held["vague"]:
        for condition in (vague.otherwise, *(condition for _, condition in vague.of)):
            if condition not in known and condition != NOTHING:
                raise BadVocabulary(f"{name}: vague: {condition!r} is no condition of this file.")
    said: dict[str, str] = {}
    for key, words in known.items():
        for one in words.said:
            if said.setdefault(one, key) != key:
                raise BadVocabulary(f"{name}: {one!r} is said to tell both {said[one]!r} and {key!r}.")


def _none_unknown(table: Mapping[str, Any], wanted: list[str], place: str) -> None:
    if unknown := sorted(set(table) - set(wanted)):
        raise BadVocabulary(
            f"{place}: {', '.join(unknown)} is not known here. Expected: {', '.join(wanted)}."
        )


def _typed(kind: Any, value: Any, place: str) -> Any:
    """A value of the file as the kind that belongs in its place."""
    if kind is str:
        if not isinstance(value, str) or not value:
            raise BadVocabulary(f"{place}: expected a word.")
        return value
    if kind == Words:
        return _words(value, place)
    if kind == Pairs:
        pairs = list(value.items()) if isinstance(value, dict) else value
        if not isinstance(pairs, list) or not all(_is_pair(one) for one in pairs):
            raise BadVocabulary(f"{place}: expected pairs of words.")
        return tuple((one[0], one[1]) for one in pairs)
    if kind == tuple[Vague, ...]:
        if not isinstance(value, list):
            raise BadVocabulary(f"{place}: expected [[vague]].")
        return tuple(_typed(Vague, one, place) for one in value)
    if not isinstance(value, dict):
        raise BadVocabulary(f"{place}: expected a table.")
    if hasattr(kind, "__dataclass_fields__"):
        kinds, wanted = get_type_hints(kind), fields(kind)
        _none_unknown(value, [one.name for one in wanted], place)
        held = {key: _typed(kinds[key], one, f"{place}.{key}") for key, one in value.items()}
        missing = [one.name for one in wanted if one.name not in held and one.name != "not_done"]
        if missing:
            raise BadVocabulary(f"{place}: {', '.join(missing)} missing.")
        return kind(**held)
    inner = kind.__args__[1]  # a mapping from keys
    return {key: _typed(inner, one, f"{place}.{key}") for key, one in value.items()}


def _is_pair(value: Any) -> bool:
    """Two words, of which the second may be empty: a sound that is silent."""
    return (
        isinstance(value, list | tuple)
        and len(value) == 2
        and all(isinstance(one, str) for one in value)
        and bool(value[0])
    )


def _words(value: Any, place: str) -> Words:
    if not isinstance(value, list) or any(not isinstance(one, str) or not one.strip() for one in value):
        raise BadVocabulary(f"{place}: expected a list of words.")
    return tuple(value)
