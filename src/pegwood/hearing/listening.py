"""What has been heard so far, and who is spoken of."""

from __future__ import annotations

from dataclasses import dataclass, field

from pegwood.hearing.certainty import standing
from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.items import Sentence
from pegwood.hearing.meaning import Meaning
from pegwood.hearing.qualities import Qualities
from pegwood.hearing.reading import Reading
from pegwood.hearing.told import Told
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
    told : list of Told
        Every sentence, as it was listened to.
    """

    reading: Reading
    drafts: list[Draft] = field(default_factory=list)
    work: list[WorkDraft] = field(default_factory=list)
    remarks: list[tuple[int, int]] = field(default_factory=list)
    topic: tuple[int, ...] = ()
    may_be: tuple[int, ...] = ()
    recent: list[int] = field(default_factory=list)
    before: list[Draft] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.qualities = Qualities(self.reading)
        self._named_at, self._told_of = 0, False

    def hear(self, sentence: Sentence) -> None:
        """Take in the next sentence."""
        stands = standing(sentence, self.reading)
        self.remarks += stands.remarks
        began, work_began = len(self.drafts), len(self.work)
        told = Told(
            sentence, stands, self.topic, self.may_be, tuple(self.recent),
            age=len(self.told) - self._named_at, told_of=self._told_of,
        )  # fmt: skip
        turn = Turn(self, sentence, stands)
        turn.run()
        made = self.drafts[began:]
        told.drafts, told.works = (began, len(self.drafts)), (work_began, len(self.work))
        self._told_of = self._told_of or bool(made)
        meaning = Meaning(self)
        told.meant = {
            item.first: turn.meant.get(item.first) or meaning.of(item, sentence)
            for item in sentence.items
            if item.mention is not None
        }
        told.causes, told.corrected = turn.causes, turn.correcting.done
        self.told.append(told)
        if made or any(item.mention for item in sentence.items):
            self.before = made

    def lost(self, may_be: tuple[int, ...]) -> None:
        """Some part is spoken of now, and it cannot be told which."""
        if len(may_be) <= FEW:
            self.topic, self.may_be = (), may_be

    def spoken_of(self, parts: tuple[int, ...]) -> None:
        """Parts are spoken of now."""
        if parts != self.topic:
            self._told_of = False
        self._named_at = len(self.told)
        self.topic, self.may_be = parts, ()
        for part in parts:
            if part in self.recent:
                self.recent.remove(part)
            self.recent.append(part)
        del self.recent[:-REMEMBERED]
