"""What is said and taken back: "the idler, sorry, the pawl I mean"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.items import Item

if TYPE_CHECKING:
    from pegwood.hearing.turn_parts import TurnParts

#: Tokens after "sorry" within which what comes instead must come.
REACH = 8


class Correcting:
    """
    Corrections within a sentence, and of what the sentence before told.

    Parameters
    ----------
    turn : TurnParts
        The sentence.
    """

    def __init__(self, turn: TurnParts) -> None:
        self.turn = turn
        self.cue: Item | None = None
        self.undoes = False
        self.replaced: Draft | None = None
        self.done = False  # whether anything was corrected

    def begins(self, item: Item) -> bool:
        """Whether an item begins a correction, which it then does."""
        turn = self.turn
        if item.tells("correct", "undo"):
            strong = True
        elif item.tells("weak"):
            strong = False
            if item.tells("deny") and not self._is_interjection(item):
                return False
        else:
            return False
        if not strong and not turn.made and not turn.subject:
            return item.tells("deny") and self._is_interjection(item)
        self.cue, self.undoes, self.replaced = item, item.tells("undo"), None
        turn.denying = -1
        return True

    def _is_interjection(self, item: Item) -> bool:
        """ "No, ..." and "no it's ...", not "no haze"."""
        reading = self.turn.reading
        if item.end >= self.turn.sentence.end:
            return True
        after = reading.plain[item.end]
        return reading.kinds[item.end] != "word" or after in reading.lexicon.small("after_no")

    def expire(self, item: Item) -> None:
        """What comes too long after a cue does not correct."""
        if self.cue is not None and item.first - self.cue.end > REACH:
            self.cue = self.replaced = None

    def rejects(self, item: Item) -> bool:
        """ "Not the idler": a part named to say that it is not meant."""
        turn = self.turn
        if turn.denying < 0:
            return False
        between = turn.reading.plain[turn.denying + 1 : item.first]
        straight = all(
            word in turn.reading.lexicon.articles or word in turn.reading.lexicon.fillers for word in between
        )
        if not straight or turn.reading.plain[turn.denying] not in turn.reading.lexicon.small("rejects"):
            return False
        turn.denying = -1
        return True

    def by_part(self, item: Item, parts: tuple[int, ...]) -> bool:
        """Put another part in the place of the one named before, if that is what is said."""
        turn = self.turn
        if self.cue is None or not parts:
            return False
        _, end = turn.span
        tells = any(
            one.tells("condition", "vague")
            for one in turn.items
            if one.first > item.first and one.first < end
        )
        if turn.subject and not turn.told and turn.subject_span[0] < self.cue.first:
            turn.subject = (*turn.subject[:-1], *parts) if len(turn.subject) > 1 else parts
            turn.subject_span = (item.first, item.end)
            turn.explicit, turn.pointed, turn.may_be = True, False, ()
            turn.ear.spoken_of(turn.subject)
            self.cue, self.done = None, True
            return True
        last = self._last()
        if last is None:
            return False
        if tells:
            self.replaced = last
            return False
        last.parts, last.may_be, last.carried = parts, (), False
        last.corrected = self.done = True
        last.first, last.end = min(last.told, item.first), max(last.told_end, item.end)
        turn.settle(last)
        turn.subject, turn.subject_span = parts, (item.first, item.end)
        turn.explicit, turn.pointed, turn.told, turn.may_be = True, False, True, ()
        turn.ear.spoken_of(parts)
        self.cue = None
        return True

    def _last(self) -> Draft | None:
        """What was told last: in this sentence, or in the one before if this one begins with the cue."""
        turn = self.turn
        made = [one for one in turn.made if not one.taken_back]
        if made:
            return made[-1]
        begins = self.cue is not None and self.cue.first - turn.sentence.first <= 2
        before = [one for one in turn.ear.before if not one.taken_back]
        return before[-1] if begins and before else None

    def by_condition(self, draft: Draft) -> bool:
        """Put a condition in the place of the one told before; True if nothing is then to be added."""
        if self.cue is None:
            return False
        turn = self.turn
        last = self.replaced or self._last()
        if last is None:
            return False
        other = not set(last.parts) & set(draft.parts) and last.condition != draft.condition
        if other and last not in turn.made:
            return False
        last.taken_back = self.done = True
        taken_back = draft.denied and draft.condition == last.condition
        self.replaced = None
        if not taken_back:
            self.cue = None
        return taken_back

    def by_work(self, work: WorkDraft) -> None:
        """Put work in the place of what was to be done before: "a clean, no, a polish"."""
        last = self._last_work()
        if last is None:
            return
        self.turn.ear.work.remove(last)
        work.parts = work.parts or last.parts
        self.cue, self.done = None, True

    def _last_work(self) -> WorkDraft | None:
        """Work told in this sentence before the cue, if nothing else was told since."""
        turn, cue = self.turn, self.cue
        told = [one for one in turn.ear.work[turn.work_began :] if cue is not None and one.end <= cue.first]
        if not told or any(one.told >= told[-1].end for one in turn.made):
            return None
        return told[-1]

    def end(self) -> None:
        """At the end of a sentence: "scratch that", and nothing instead."""
        if self.cue is None or not self.undoes:
            return
        if work := self._last_work():
            self.turn.ear.work.remove(work)
            self.done = True
        elif last := self._last():
            last.taken_back = self.done = True
