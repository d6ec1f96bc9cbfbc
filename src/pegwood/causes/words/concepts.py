"""Which of the trade's words mean one thing, and which deny it: read from TOML."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Literal

from pegwood.trade.grounds import Ground, Mark
from pegwood.trade.typed_toml import Source, built

FILE = Path(__file__).parent / "concepts.toml"
Kind = Literal["concept", "good", "no", "doubt", "slight", "undecided", "neutral"]
Phrase = tuple[str, ...]
_TOKEN = re.compile(r"[a-z0-9]+(?:'[a-z]+)?")


@dataclass(frozen=True, kw_only=True)
class Concept:
    """
    Words that mean one thing.

    Attributes
    ----------
    id : str
    words : tuple of str
        Words and phrases, each in one form; a plural is known of itself.
    last : tuple of str
        Words that count only where nothing follows them.
    near : tuple of str
        What is often called so though it is another thing.
    """

    id: str
    words: tuple[str, ...]
    last: tuple[str, ...] = ()
    near: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Good:
    """What is said of a part with nothing wrong, and what it denies; nothing named: everything."""

    words: tuple[str, ...]
    last: tuple[str, ...] = ()
    of: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _File:
    source: str
    mark: Mark
    fillers: tuple[str, ...]
    neutral: tuple[str, ...]
    undecided: tuple[str, ...]
    doubt: tuple[str, ...]
    slight: tuple[str, ...]
    no: tuple[str, ...]
    concept: tuple[Concept, ...]
    good: tuple[Good, ...]

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)


@dataclass(frozen=True)
class Meaning:
    """
    What a word or phrase does in a sentence.

    Attributes
    ----------
    kind : str
    names : tuple of str
        Of a concept's word its ids; of a good word what it denies, empty for everything.
    only_last : bool
        Whether it counts only where nothing follows.
    """

    kind: Kind
    names: tuple[str, ...] = ()
    only_last: bool = False


@dataclass(frozen=True, eq=False)
class Vocabulary:
    """
    All words that mean something, by phrase.

    Attributes
    ----------
    near : mapping of str to tuple of str
        By concept: what is often called so.
    fillers : frozenset of str
    meanings : mapping of tuple of str to tuple of Meaning
        By the plain words of a phrase.
    """

    near: Mapping[str, tuple[str, ...]]
    fillers: frozenset[str]
    meanings: Mapping[Phrase, tuple[Meaning, ...]]
    longest: int = field(init=False)
    single: frozenset[str] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "longest", max(map(len, self.meanings)))
        object.__setattr__(self, "single", frozenset(word for phrase in self.meanings for word in phrase))

    def phrase(self, text: str) -> Phrase:
        """A text as its plain words, fillers left out."""
        return tuple(word for word in plain_words(text) if word not in self.fillers)


def plain_words(text: str) -> list[str]:
    """The words of a text as words are compared: lower case, each plural as its singular."""
    return [_singular(word) for word in _TOKEN.findall(text.casefold().replace("’", "'"))]


def _singular(word: str) -> str:
    if len(word) < 4 or word.endswith(("ss", "us", "is", "'s")):
        return word.removesuffix("'s")
    if word.endswith(("ches", "shes", "xes", "sses")):
        return word[:-2]
    return word[:-1] if word.endswith("s") else word


def read_vocabulary(text: str, where: str = FILE.name) -> Vocabulary:
    """
    A vocabulary from a file's text.

    Raises
    ------
    TableError
        With file, line and place, if it is none, or speaks of a concept that is nowhere.
    """
    source = Source(text, where)
    found = built(_File, source.table(), source)
    ids = {one.id for one in found.concept}
    for kind, rows in (("concept", ((c.id, c.near) for c in found.concept)), ("good", _named(found.good))):
        for n, (_, names) in enumerate(rows):
            for name in names:
                if name not in ids:
                    raise source.error((kind, n), f"{name!r} is no concept here.")
    fillers = frozenset(word for one in found.fillers for word in plain_words(one))
    meanings: dict[Phrase, list[Meaning]] = {}

    def put(words: Iterable[str], meaning: Meaning) -> None:
        for one in words:
            phrase = tuple(plain_words(one))
            if not phrase or not fillers.isdisjoint(phrase):
                raise source.error(
                    (), f"{one!r} holds a filler, and those are left out before it is looked for."
                )
            if meaning not in meanings.setdefault(phrase, []):
                meanings[phrase].append(meaning)

    for kind_of_word in ("neutral", "undecided", "doubt", "slight", "no"):
        put(getattr(found, kind_of_word), Meaning(kind_of_word))
    for concept in found.concept:
        put(concept.words, Meaning("concept", (concept.id,)))
        put(concept.last, Meaning("concept", (concept.id,), only_last=True))
    for good in found.good:
        put(good.words, Meaning("good", good.of))
        put(good.last, Meaning("good", good.of, only_last=True))
    near = {one.id: one.near for one in found.concept}
    return Vocabulary(near, fillers, {phrase: tuple(those) for phrase, those in meanings.items()})


def _named(rows: Iterable[Good]) -> Iterable[tuple[str, tuple[str, ...]]]:
    return ((one.words[0], one.of) for one in rows)


@cache
def vocabulary() -> Vocabulary:
    """What comes along."""
    return read_vocabulary(FILE.read_text("utf-8"))
