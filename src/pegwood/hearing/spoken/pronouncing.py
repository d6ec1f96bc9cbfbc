"""
How a word sounds, in the phones of the recogniser's dictionary.

The dictionary knows; where it does not, a small table of the trade's words does; then endings are taken off;
then a word is cut in two that are known ("mainspring"); at the very last its letters are spoken. Libraries
that
do this want downloaded data or a neural network, for some forty words that a table holds.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from pegwood.hearing.spoken.sayings import LANGUAGES

_VOWELS = frozenset(
    ["AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"]
)
_HISSING = frozenset(["S", "Z", "SH", "ZH", "CH", "JH"])
_VOICELESS = frozenset(["P", "T", "K", "F", "TH"])
_MOST = 12
_SHORTEST_HALF = 3


@dataclass(frozen=True)
class Moved:
    """One way in which phones move from one way of speaking to another."""

    name: str
    phones: Mapping[str, str]
    #: Whether it is for a bench that knows the voice; else for one that does not.
    taught: bool = False

    def __call__(self, phones: str) -> str:
        """The same word, spoken so."""
        old = phones.split()
        if "ING" in self.phones and old[-2:] == ["IH", "NG"]:
            ending = self.phones["ING"].split()
            return " ".join([*self._each(old[:-2]), *(self.phones.get(one, one) for one in ending)])
        return " ".join(self._each(old))

    def _each(self, old: list[str]) -> list[str]:
        new: list[str] = []
        for one, after in zip(old, [*old[1:], ""], strict=True):
            vowel_follows = after in _VOWELS
            if one == "R" and "R" in self.phones and not vowel_follows:
                new += self.phones["R"].split()
            elif one == "R":
                new.append(one)
            else:
                new += self.phones.get(one, one).split()
                if one == "ER" and "ER" in self.phones and vowel_follows:
                    new.append("R")  # linking
        return new


@dataclass(frozen=True)
class Pronouncing:
    """
    Says how words sound.

    Attributes
    ----------
    known : mapping of str to tuple of str
        The recogniser's dictionary.
    own : mapping of str to tuple of str
        The trade's words, which go before it.
    """

    known: Mapping[str, tuple[str, ...]]
    own: Mapping[str, tuple[str, ...]]
    endings: tuple[tuple[str, str, str], ...]
    letters: Mapping[str, str]
    moved: tuple[Moved, ...] = ()
    _said: dict[str, tuple[str, ...]] = field(default_factory=dict, compare=False)

    def __call__(self, word: str) -> tuple[str, ...]:
        """Ways to say a word, the usual one first; never none for one of letters a to z."""
        if word not in self._said:
            self._said[word] = self._looked_up(word) or self._spelled(word)
        return self._said[word]

    def in_every_way(self, word: str, *, taught: bool = False) -> tuple[str, ...]:
        """The same with those of the other ways of speaking, for a bench that knows the voice or does not."""
        plain = self(word)
        ways = (move for move in self.moved if move.taught == taught)
        return tuple(dict.fromkeys([*plain, *(move(one) for move in ways for one in plain)]))

    def _looked_up(self, word: str, depth: int = 0) -> tuple[str, ...]:
        found = self.own.get(word) or self.known.get(word)
        if found:
            return found
        if depth < 2 and (found := self._without_ending(word, depth)):
            return found
        return self._of_two(word) if depth == 0 else ()

    def _without_ending(self, word: str, depth: int) -> tuple[str, ...]:
        for ends, instead, phones in self.endings:
            if word.endswith(ends) and len(word) > len(ends) + 1:
                stem = word[: len(word) - len(ends)] + instead
                for one in (stem, stem + "s") if ends == "s'" else (stem,):
                    if found := self._looked_up(one, depth + 1):
                        return tuple(_joined(said, phones) for said in found)
        return ()

    def _of_two(self, word: str) -> tuple[str, ...]:
        """Two known words in one, cut where both are longest."""
        if len(word) > 40:
            return ()
        cuts = sorted(
            range(_SHORTEST_HALF, len(word) - _SHORTEST_HALF + 1), key=lambda at: abs(2 * at - len(word))
        )
        for at in cuts:
            first, second = self._looked_up(word[:at], 2), self._looked_up(word[at:], 1)
            if first and second:
                return (f"{first[0]} {second[0]}",)
        return ()

    def _spelled(self, word: str) -> tuple[str, ...]:
        phones: list[str] = []
        at = 0
        while at < len(word):
            for length in range(4, 0, -1):
                if said := self.letters.get(word[at : at + length]):
                    phones += said.split()
                    at += length
                    break
            else:
                at += 1
        return (" ".join(phones[: _MOST * 4]),) if phones else ()


def _joined(said: str, ending: str) -> str:
    """A word and its ending: an s hisses, buzzes or takes a vowel as English does; -ed likewise."""
    last = said.split()[-1]
    if ending == "Z":
        ending = "AH Z" if last in _HISSING else "S" if last in _VOICELESS else "Z"
    elif ending == "D":
        ending = "AH D" if last in {"T", "D"} else "T" if last in _VOICELESS | {"S", "SH", "CH"} else "D"
    return f"{said} {ending}"


def dictionary(lines: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """A dictionary as the recogniser's model carries it: "word phones", "word(2) phones"."""
    found: dict[str, list[str]] = {}
    for line in lines:
        word, _, phones = line.strip().partition(" ")
        if phones and not word.startswith(("<", "[", "#")):
            found.setdefault(word.partition("(")[0], []).append(phones.strip())
    return {word: tuple(said) for word, said in found.items()}


def pronouncing(known: Mapping[str, tuple[str, ...]], language: str = "en") -> Pronouncing:
    """With a recogniser's dictionary, the language's own table, endings, letters and ways of speaking."""
    table = _table(language)
    return Pronouncing(
        known=known,
        own={word: tuple(said) for word, said in table["pronounced"].items()},
        endings=tuple((one["ends"], one.get("instead", ""), one["phones"]) for one in table["ending"]),
        letters=table["letters"],
        moved=tuple(Moved(one["name"], one["phones"], one.get("taught", False)) for one in table["moved"]),
    )


@cache
def _table(language: str) -> dict[str, Any]:
    return tomllib.loads((LANGUAGES / f"{language}.pronounced.toml").read_text("utf-8"))
