"""What has been heard so far, and who is spoken of."""

from __future__ import annotations

from dataclasses import dataclass, field

from pegwood.hearing.certainty import standing
from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.items import Sentence
from pegwood.hearing.qualities import Qualities
from pegwood.hearing.reading import Reading
from pegwood.hearing.turn import Turn

#: Parts last spoken of that are remembered.
REMEMBERED = 8
#: Where a word may mean more parts than so many ("the spring"), what was spoken of before still is.
FEW = 6


@dataclass
class Listener:
    """
    What has been heard so far.

    Attributes
    ----------
    reading : Reading
    drafts, work : list
        In the order told.
    remarks : list of (int, int)
        Stretches of tokens.
    topic : tuple of int
        The parts last spoken of.
    may_be : tuple of int
        Where it could not be told which was spoken of last: those of which it may be one.
    recent : list of int
        Parts spoken of of late, the last one last.
    before : list of Draft
        What the sentence before told.
    """

    reading: Reading
    drafts: list[Draft] = field(default_factory=list)
    work: list[WorkDraft] = field(default_factory=list)
    remarks: list[tuple[int, int]] = field(default_factory=list)
    topic: tuple[int, ...] = ()
    may_be: tuple[int, ...] = ()
    recent: list[int] = field(default_factory=list)
    before: list[Draft] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.qualities = Qualities(self.reading)

    def hear(self, sentence: Sentence) -> None:
        """Take in the next sentence."""
        stands = standing(sentence, self.reading)
        self.remarks += stands.remarks
        began = len(self.drafts)
        Turn(self, sentence, stands).run()
        made = self.drafts[began:]
        if made or any(item.mention for item in sentence.items):
            self.before = made

    def lost(self, may_be: tuple[int, ...]) -> None:
        """Some part is spoken of now, and it cannot be told which."""
        if len(may_be) <= FEW:
            self.topic, self.may_be = (), may_be

    def spoken_of(self, parts: tuple[int, ...]) -> None:
        """Parts are spoken of now."""
        self.topic, self.may_be = parts, ()
        for part in parts:
            if part in self.recent:
                self.recent.remove(part)
            self.recent.append(part)
        del self.recent[:-REMEMBERED]
