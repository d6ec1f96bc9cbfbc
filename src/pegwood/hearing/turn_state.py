"""Where a sentence stands while it is taken in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegwood.hearing.certainty import Standing
from pegwood.hearing.drafts import Draft
from pegwood.hearing.items import Item, Sentence
from pegwood.hearing.meaning import Meaning
from pegwood.hearing.measures import Spoken
from pegwood.hearing.results import Certainty
from pegwood.hearing.told import Meant
from pegwood.hearing.working import Working

if TYPE_CHECKING:
    from pegwood.hearing.listening import Listener


class TurnState:
    """
    One sentence, and who is spoken of in it.

    Parameters
    ----------
    ear : Listener
        What was heard before.
    sentence : Sentence
    stands : Standing
        What its stretches are worth.
    """

    def __init__(self, ear: Listener, sentence: Sentence, stands: Standing) -> None:
        self.ear, self.sentence, self.stands = ear, sentence, stands
        self.reading = ear.reading
        self.items = sentence.items
        self.began, self.work_began = len(ear.drafts), len(ear.work)
        self.piece = -1
        self.subject: tuple[int, ...] = ()
        self.may_be: tuple[int, ...] = ()
        self.subject_span = (sentence.first, sentence.first)
        self.explicit = False  # named, or pointed at, in this piece
        self.pointed = False  # the latter
        self.told = False  # something was told of the subject already
        self.denying = -1
        self._alternative = self.reading.plain[sentence.first] in self.reading.lexicon.small("either")
        self.forward: Certainty = "possible" if self._alternative else "plain"
        self.same: Item | None = None
        self.cause_until = -1
        self.causes: list[tuple[int, int]] = []
        self.working = Working(self.reading)
        self.spoken = Spoken(self.reading)
        self.meaning = Meaning(ear)
        self.number = 0
        self.meant: dict[int, Meant] = {}  # by the first token of a mention

    @property
    def made(self) -> list[Draft]:
        """What this sentence told so far."""
        return [one for one in self.ear.drafts[self.began :] if not one.taken_back]

    @property
    def span(self) -> tuple[int, int]:
        """Tokens of the piece."""
        return self.sentence.pieces[self.piece]

    def settle(self, draft: Draft) -> None:
        """What a vague word tells hangs on the part it is said of."""
        if draft.vague:
            draft.condition = self.meaning.vague(draft.vague, draft.parts)
