"""What a text is read into: sentences, and what was found in them."""

from __future__ import annotations

from dataclasses import dataclass, field

from pegwood.hearing.names import Mention


@dataclass(slots=True)
class Item:
    """
    Something found in a sentence: a mention of parts, or what a phrase tells, by kind.

    Attributes
    ----------
    first, end : int
        First token and the one after the last.
    kinds : dict
        Kind and key of all that the phrase tells: {"condition": "dry", "work": "clean"}.
    degree : float
        How sure the least sure word was read [1].
    mention : Mention, optional
    """

    first: int
    end: int
    kinds: dict[str, str]
    degree: float = 1.0
    mention: Mention | None = None

    def tells(self, *kinds: str) -> bool:
        """Whether it is of one of these kinds."""
        return kinds[0] in self.kinds if len(kinds) == 1 else not self.kinds.keys().isdisjoint(kinds)


@dataclass(slots=True)
class Sentence:
    """
    Tokens from `first` to before `end`, what was found in them, and where its pieces begin.

    Attributes
    ----------
    asked : bool
        Whether it ends with a question mark.
    items : list of Item
    pieces : list of (int, int)
        Stretches of tokens between commas, pauses and words such as "but".
    """

    first: int
    end: int
    asked: bool = False
    items: list[Item] = field(default_factory=list)
    pieces: list[tuple[int, int]] = field(default_factory=list)
