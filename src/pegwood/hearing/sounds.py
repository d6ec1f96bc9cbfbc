"""How a word sounds, roughly, and how like two words are, by letters and by sound."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from rapidfuzz.distance import Levenshtein

#: Longer words are compared by nothing but being the same.
LONGEST = 24
#: What letters count beside sounds in a likeness [1].
LETTERS = 0.4


@dataclass(frozen=True)
class Sounds:
    """
    Rules from spelling to sound, as a language's file tells them.

    Attributes
    ----------
    spelled : tuple of (str, str)
        Replacements, in order.
    vowels : str
        Letters that count as one: recognisers confuse them most.
    classes : tuple of str
        Letters that count as one among consonants.
    """

    spelled: tuple[tuple[str, str], ...]
    vowels: str
    classes: tuple[str, ...]
    _table: dict[int, int] = field(init=False, repr=False, compare=False)
    _codes: dict[str, str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        table = {ord(vowel): ord("a") for vowel in self.vowels}
        for letters in self.classes:
            table |= {ord(letter): ord(letters[0]) for letter in letters}
        object.__setattr__(self, "_table", table)
        object.__setattr__(self, "_codes", {})

    def code(self, word: str) -> str:
        """How a word sounds: consonants by class, vowels as one letter, none doubled, none at the end."""
        known = self._codes.get(word)
        if known is None:
            known = self._code(word[:LONGEST])
            self._codes[word] = known
        return known

    def _code(self, word: str) -> str:
        for written, sound in self.spelled:
            if written in word:
                word = word.replace(written, sound)
        word = word.translate(self._table)
        once = "".join(letter for at, letter in enumerate(word) if not at or letter != word[at - 1])
        return once[:-1] if len(once) > 2 and once[-1] == "a" else once

    def likeness(self, one: str, other: str) -> float:
        """From 0 to 1: letters and sounds, each as a share of the longer that need not change [1]."""
        if one == other:
            return 1.0
        letters = Levenshtein.normalized_similarity(one, other)
        heard = Levenshtein.normalized_similarity(self.code(one), self.code(other))
        return LETTERS * letters + (1 - LETTERS) * heard


def _shorter(word: str) -> set[str]:
    """A word, and it with each letter left out."""
    return {word} | {word[:at] + word[at + 1 :] for at in range(len(word))}


class Alike:
    """
    Words among which the like of another are looked up without going through them all.

    Words one change apart share one of their shortened forms, so that a look-up costs the length of the word,
    however many words there are.
    """

    def __init__(self, words: Iterable[str], sounds: Sounds) -> None:
        self._sounds = sounds
        by: dict[str, list[str]] = {}
        for word in sorted(set(words)):
            for key in self._keys(word):
                by.setdefault(key, []).append(word)
        self._by = {key: tuple(near) for key, near in by.items()}  # which the garbage collector leaves alone

    def _keys(self, word: str) -> set[str]:
        return {"." + key for key in _shorter(self._sounds.code(word))} | _shorter(word)

    def near(self, word: str, at_least: float) -> list[tuple[str, float]]:
        """Words at least so much like this one [1], best first, four at most."""
        if len(word) > LONGEST:
            return []
        near = {other for key in self._keys(word) for other in self._by.get(key, ())}
        rated = [
            (other, degree) for other in near if (degree := self._sounds.likeness(word, other)) >= at_least
        ]
        return sorted(rated, key=lambda pair: (-pair[1], pair[0]))[:4]
