"""A sentence laid out for weighing: its cues, its stretches, and what its words are about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from pegwood.hearing.drafts import WorkDraft
from pegwood.hearing.items import Item
from pegwood.hearing.reading import Reading
from pegwood.hearing.told import Told
from pegwood.hearing.weighing.about import NO_CHANCES, Chances
from pegwood.hearing.weighing.claims import Cue
from pegwood.hearing.weighing.kinds import PART, standing_signs, step

#: Parts spoken of of late of whose mechanism another may be.
KIN = 3


@dataclass(frozen=True, slots=True)
class Stretch:
    """
    From the name of a part to the next, or what is said before any is named.

    Attributes
    ----------
    parts : tuple of int
        Who is spoken of in it; none where that is open.
    first, end : int
        Tokens.
    mention : Item, optional
        Where they were named; None where the talk before is carried on.
    """

    parts: tuple[int, ...]
    first: int
    end: int
    mention: Item | None = None


@dataclass(slots=True)
class Scene:
    """
    A sentence laid out for weighing, read once for all its claims.

    Attributes
    ----------
    told : Told
    reading : Reading
    cues : sequence of Cue
    live : set of (int, str)
        (part, condition) of all that the rules told in it.
    works : sequence of WorkDraft
        Work that the rules told in it.
    laid : list of Stretch
        In order.
    about : Chances
        What it may be about by its words.
    shown : sequence of sequence of str
        The signs of each of its stretches.
    chances : sequence of mapping of str to float
        How likely each condition is told in each of its stretches [1].
    """

    told: Told
    reading: Reading
    cues: Sequence[Cue]
    live: set[tuple[int, str]]
    works: Sequence[WorkDraft] = ()
    laid: list[Stretch] = field(init=False)
    about: Chances = NO_CHANCES
    shown: Sequence[Sequence[str]] = ()
    chances: Sequence[Mapping[str, float]] = ()
    mentions: list[Item] = field(init=False)
    named: set[int] = field(init=False)
    shared: list[str] = field(init=False)
    rooms: tuple[set[str], set[str]] = field(init=False)

    def __post_init__(self) -> None:
        sentence = self.told.sentence
        self.mentions = [
            item for item in sentence.items if item.mention is not None and any(self.told.meant[item.first])
        ]
        self.named = {at for item in self.mentions for at in range(item.first, item.end)}
        topic, lately = self.told.topic, self.told.recent[-KIN:]
        self.rooms = {self._room(part) for part in topic}, {self._room(part) for part in lately}
        words = sum(self.reading.kinds[at] == "word" for at in range(sentence.first, sentence.end))
        self.laid = stretches(self)
        self.shared = [
            f"length {step(words)}",
            f"cues {min(len(self.cues), 4)}",
            f"parts {min(len(self.mentions), 4)}",
            f"starts {self.other_word(sentence.first)}",
            f"starts {self.other_word(sentence.first)} {self.other_word(sentence.first + 1)}",
            *standing_signs(self.told),
        ]

    def _room(self, part: int) -> str:
        return kin(self.reading, part)[0]

    def chance(self, at: int) -> Mapping[str, float]:
        """How likely each condition is told in the stretch in which a token stands [1]."""
        stretch = self.stretch_of(at)
        return self.chances[stretch] if stretch is not None else {}

    def stretch_of(self, at: int) -> int | None:
        """Which of its stretches a token stands in."""
        return next((number for number, one in enumerate(self.laid) if one.first <= at < one.end), None)

    def piece(self, at: int) -> int:
        """Which piece of the sentence a token stands in."""
        return sum(first <= at for first, _ in self.told.sentence.pieces)

    def word(self, at: int) -> str:
        """A word of the sentence; marks for beyond its ends."""
        if at < self.told.sentence.first:
            return "<s>"
        return self.reading.plain[at] if at < self.told.sentence.end else "</s>"

    def other_word(self, at: int) -> str:
        """The same, but all words of a part's name alike: it tells nothing of how a thing is told."""
        return PART if at in self.named else self.word(at)

    def stems(self, first: int, end: int) -> str:
        """The stems of some tokens."""
        return " ".join(self.reading.lexicon.stems.of(word) for word in self.reading.plain[first:end])


def stretches(scene: Scene) -> list[Stretch]:
    """A sentence's stretches, in order."""
    sentence, topic = scene.told.sentence, scene.told.topic
    named = [item for item in scene.mentions if scene.told.meant[item.first][0]]
    begins = [item.first for item in named] + [sentence.end]
    found = []
    if begins[0] > sentence.first and (topic or not named):
        found.append(Stretch(topic, sentence.first, begins[0]))
    for item, end in zip(named, begins[1:], strict=True):
        first = sentence.first if not topic and item is named[0] else item.first
        found.append(Stretch(scene.told.meant[item.first][0], first, end, item))
    return found


def kin(reading: Reading, part: int) -> tuple[str, str]:
    """The mechanism a part belongs to, and the last word of its name."""
    own = reading.finder.names.parts[part]
    return _kin(own.id, own.name)


@lru_cache(maxsize=4096)
def _kin(part_id: str, name: str) -> tuple[str, str]:
    words = name.split("(")[0].split(",")[0].split(" of ")[0].split()
    return part_id.partition(".")[0], words[-1].lower() if words else ""
