"""How a fault or a sign is known in a finding: of which parts, and by which words."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.causes.words.concepts import plain_words, vocabulary
from pegwood.causes.words.statements import Statement


@dataclass(frozen=True)
class Told:
    """
    A concept, and words that must stand by it: "screw missing" is not said by "cover missing".

    Attributes
    ----------
    concept : str
    beside : frozenset of str
        Plain words, all of which stand in the same clause or in the finding's place.
    """

    concept: str
    beside: frozenset[str] = frozenset()

    @classmethod
    def parse(cls, text: str) -> Told:
        """
        As it stands in a file: one concept, by its id, and perhaps other words.

        Raises
        ------
        ValueError
            If there is not exactly one concept in it.
        """
        words = text.split()
        concepts = [word for word in words if word in vocabulary().near]
        if len(concepts) != 1:
            raise ValueError(
                f"{text!r} holds {len(concepts)} of the concepts of concepts.toml. Expected exactly one, by "
                "its id, such as 'rust' or 'screw missing'."
            )
        return cls(concepts[0], frozenset(plain_words(" ".join(w for w in words if w != concepts[0]))))

    def fits(self, said: Statement, place: frozenset[str]) -> bool:
        """Whether a statement says it; `place` are the words of the finding's place."""
        return said.concept == self.concept and self.beside <= said.around | place


@dataclass(frozen=True, kw_only=True)
class Answered:
    """
    How a finding answers a sign.

    Attributes
    ----------
    parts : tuple of str
        Of which parts, by id in the mechanism.
    by : tuple of tuple of str
        For each answer what tells it, as `Told.parse` reads it; a word may tell several.
    """

    parts: tuple[str, ...]
    by: tuple[tuple[str, ...], ...]

    def __post_init__(self) -> None:
        if not self.parts or not any(self.by):
            raise ValueError("a finding answers of a part, by some word.")
        for one in self.by:
            for text in one:
                Told.parse(text)
