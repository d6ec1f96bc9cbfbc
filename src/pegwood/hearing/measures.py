"""What is told beside a condition, as said: a measure, a place, a cause, an earlier repair."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.hearing.reading import Reading

#: Words of a measure before its unit, and of a place after its preposition.
LONGEST = 6


@dataclass
class Spoken:
    """Finds stretches of tokens that are kept as said."""

    reading: Reading

    def __post_init__(self) -> None:
        lexicon = self.reading.lexicon
        self._numbers, self._units = lexicon.numbers, lexicon.units
        self._within = lexicon.small("in_measures")
        self._directions, self._out, self._places = lexicon.directions, lexicon.out, lexicon.places

    def measures(self, first: int, end: int) -> list[tuple[int, int, bool]]:
        """Measures between two tokens: first and last token, and whether it tells that something is out."""
        plain = self.reading.plain
        found = []
        for at in range(first, end):
            if plain[at] not in self._units:
                continue
            begins = at
            while begins > first and at - begins < LONGEST and self._is_number(plain[begins - 1]):
                begins -= 1
            if begins == at:
                continue
            ends, out = at + 1, False
            while ends < end and (
                plain[ends] in self._directions or (plain[ends] in self._within and ends - at < 4)
            ):
                out = out or plain[ends] in self._out
                ends += 1
            found.append((begins, ends, out))
        return found

    def _is_number(self, word: str) -> bool:
        return word in self._numbers or word in self._units or word[:1].isdigit()

    def place(self, first: int, end: int) -> tuple[int, int] | None:
        """A place after a token: a preposition and a word of places within reach of it."""
        plain, lexicon = self.reading.plain, self.reading.lexicon
        for at in range(first, min(end, first + LONGEST)):
            if plain[at] not in lexicon.prepositions:
                continue
            last = next(
                (one for one in range(at + 1, min(end, at + LONGEST)) if plain[one] in self._places), None
            )
            if last is not None:
                return at, last + 1
        return None

    def text(self, first: int, end: int) -> str:
        """Tokens as they stand in the text."""
        if end <= first:
            return ""
        begins, ends = self.reading.where(first, end)
        return self.reading.text[begins:ends]
