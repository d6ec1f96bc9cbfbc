"""The words and rules of a language, read from its file and checked, with what the bench taught beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from importlib import resources
from typing import Any, get_type_hints

import tomli

Words = tuple[str, ...]
Pairs = tuple[tuple[str, str], ...]


class BadVocabulary(ValueError):
    """A language's file that does not hold what it must; the message names the file and the place."""


@dataclass(frozen=True, kw_only=True)
class Taught:
    """
    What a bench taught by mending and dropping what was proposed.

    Attributes
    ----------
    part_names : tuple of (said, part's id)
    conditions : tuple of (said, condition)
    mishearings : tuple of (heard, meant)
    """

    part_names: Pairs = ()
    conditions: Pairs = ()
    mishearings: Pairs = ()


@dataclass(frozen=True, kw_only=True)
class SoundRules:
    """From spelling to sound: replacements in order, vowels that count as one, classes of consonants."""

    spelled: Pairs
    vowels: str
    classes: Words


@dataclass(frozen=True, kw_only=True)
class ConditionWords:
    """What tells a condition, and what a part with it does not do ("turn", after "won't")."""

    said: Words
    not_done: Words = ()


@dataclass(frozen=True, kw_only=True)
class Vague:
    """Words that tell a condition by what they are said of: (word in the part's name, condition)."""

    said: Words
    of: Pairs
    otherwise: str


@dataclass(frozen=True, kw_only=True)
class WorkRules:
    """What stands before work to do, work done, and work that is not to be done."""

    to_do: Words
    done: Words
    not_to_do: Words
    past_endings: Words
    past: Words
    also_states: Words


@dataclass(frozen=True, kw_only=True)
class CertaintyWords:
    """How sure the speaker is, and whose word it is."""

    probable: Words
    possible: Words
    reported: Words
    hypothetical: Words
    whether: Words
    question_starts: Words
    questioned: Words
    asking_before: Words
    sure: Words


@dataclass(frozen=True, kw_only=True)
class DenialWords:
    """What denies, what only looks so, and what stands before a thing that is not done."""

    said: Words
    unless: Words
    of_function: Words
    only: Words
    softened: Words


@dataclass(frozen=True, kw_only=True)
class CorrectionWords:
    """What takes back: all of them, those that put nothing instead, and those that do so only nearby."""

    said: Words
    undo: Words
    weak: Words


@dataclass(frozen=True, kw_only=True)
class GeneralityWords:
    """What speaks of such cameras in general, and what turns back to this one."""

    said: Words
    many: Words
    but_here: Words
    although: Words


@dataclass(frozen=True, kw_only=True)
class PointingWords:
    """What points back at a thing spoken of."""

    it: Words
    other: Words
    same: Words
    again: Words
    both: Words
    one: Words
    opposites: Pairs


@dataclass(frozen=True, kw_only=True)
class Grammar:
    """How a sentence hangs together."""

    articles: Words
    prepositions: Words
    near: Words
    joins: Words
    breaks: Words
    contrasts: Words
    anew: Words
    being: Words
    causes: Words
    off_from: Words
    missing_from: Words
    carriers: Words
    generic_heads: Words
    own: Words
    plural: Words
    places: Words
    earlier_repair: Words
    shy_names: Words
    name_links: Words
    possessives: Words


@dataclass(frozen=True, kw_only=True)
class MeasureWords:
    """How a measure is said, and which directions say that a thing is out of adjustment."""

    numbers: Words
    units: Words
    directions: Words
    out_of_adjustment: Words


@dataclass(frozen=True, kw_only=True)
class Vocabulary:
    """
    A language's words of the trade and its rules.

    Attributes
    ----------
    language : str
    stemmer : str
        The language as the stemming library names it.
    conditions, works : mapping
        By key, what tells it.
    grades : mapping of str to tuple of str
        From "slight" to "past_use", grades 1 to 5.
    common : tuple of str
        Everyday words, which are never taken for a misheard word of the trade by their looks alone.
    mishearings : tuple of (heard, meant)
    taught : Taught
    """

    language: str
    stemmer: str
    sounds: SoundRules
    conditions: Mapping[str, ConditionWords]
    vague: tuple[Vague, ...]
    works: Mapping[str, Words]
    work_rules: WorkRules
    grades: Mapping[str, Words]
    certainty: CertaintyWords
    denial: DenialWords
    corrections: CorrectionWords
    generality: GeneralityWords
    hesitations: Words
    weak_fine: Words
    repaired: Words
    asides: Words
    fillers: Words
    common: Words
    pointing: PointingWords
    grammar: Grammar
    measures: MeasureWords
    mishearings: Pairs
    taught: Taught = Taught()

    def with_taught(self, taught: Taught) -> Vocabulary:
        """
        The same, with what the bench taught beside it.

        Raises
        ------
        BadVocabulary
            If it teaches a condition that there is not.
        """
        for said, condition in taught.conditions:
            if condition not in self.conditions:
                raise BadVocabulary(f"{said!r} is taught as {condition!r}, which is no condition.")
        return replace(self, taught=taught)


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
    there = sorted(
        one.name.removesuffix(".toml") for one in _folder().iterdir() if one.name.endswith(".toml")
    )
    if language not in there:
        raise BadVocabulary(f"No vocabulary for {language!r}; there is {', '.join(there)}.")
    name = f"{language}.toml"
    return read_vocabulary((_folder() / name).read_text("utf-8"), name, language)


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
    wanted = [one.name for one in fields(Vocabulary) if one.name not in ("language", "taught")]
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
