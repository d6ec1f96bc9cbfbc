"""A sentence taken in, item by item: what is told goes to whom it is told of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegwood.hearing.certainty import Standing
from pegwood.hearing.correcting import Correcting
from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.items import Item, Sentence
from pegwood.hearing.turn_conditions import TurnConditions
from pegwood.hearing.working import REACH

if TYPE_CHECKING:
    from pegwood.hearing.listening import Listener


class Turn(TurnConditions):
    """One sentence; see `TurnState`."""

    def __init__(self, ear: Listener, sentence: Sentence, stands: Standing) -> None:
        super().__init__(ear, sentence, stands)
        self.correcting = Correcting(self)

    def run(self) -> None:
        """Take in all of it."""
        for number, item in enumerate(self.items):
            if not self.stands.is_nothing(item.first):
                self.number = number
                self._new_piece(item)
                self._take(item)
        self.correcting.end()
        if self.same is not None:
            self._copy()
        self._elliptical()
        self._finish()

    def _new_piece(self, item: Item) -> None:
        piece = max((n for n, one in enumerate(self.sentence.pieces) if one[0] <= item.first), default=0)
        if piece == self.piece:
            return
        if self.same is not None:
            self._copy()
        self._elliptical()
        self.piece = piece
        first = self.sentence.pieces[piece][0]
        if self.reading.plain[first] not in self.reading.lexicon.small("goes_on"):
            self.denying = -1
        self.explicit = self.pointed = False

    def _take(self, item: Item) -> None:
        self.correcting.expire(item)
        if item.mention is not None:
            self._part(item)
            return
        if self.correcting.begins(item):
            return
        if item.tells("deny not"):
            self._unsure(item)
            return
        if item.tells("other"):
            self._other(item)
        if item.tells("both"):
            self._both(item)
        if item.tells("same", "again"):
            self.same = item
            if self.reading.plain[item.first] in self.reading.lexicon.denials:
                self.denying = item.first
        if item.tells("anew"):
            self.explicit = self.pointed = False
        if item.tells("cause") and self._is_cause(item):
            self.cause_until = self.span[1]
            self.causes.append((item.first, self.span[1]))
            self.made[-1].cause = self.spoken.text(item.first, self.span[1])
        if item.tells("it"):
            self._point(item)
        if item.tells("work") and self.working.is_work(self.sentence, self.number):
            self._work(item)
        elif item.tells("condition", "vague"):
            self._condition(item)
        elif item.tells("deny"):
            self.denying = item.first
        else:
            self._unsure(item)

    def _work(self, item: Item) -> None:
        if self.working.is_refused(self.sentence, self.number) or self.stands.is_reported(item.first):
            return
        parts = self.subject if self.explicit else self.ear.topic
        after = self.items[self.number + 1] if self.number + 1 < len(self.items) else None
        if after is not None and after.tells("it", "both", "grade") and self.number + 2 < len(self.items):
            beyond = self.items[self.number + 2]
            after = beyond if beyond.mention is not None else after
        if after is not None and after.mention is not None and self._is_object(item, after):
            parts, _ = self.meaning.of(after, self.sentence)
        done = self.working.is_done(self.sentence, self.number)
        work = WorkDraft(parts, item.kinds["work"], done, item.first, item.end)
        self.correcting.by_work(work)
        self.ear.work.append(work)

    def _is_object(self, item: Item, after: Item) -> bool:
        between = self.reading.plain[item.end : after.first]
        lexicon = self.reading.lexicon
        small = lexicon.articles | lexicon.fillers | lexicon.prepositions | lexicon.small("beside_work")
        return len(between) <= REACH and all(word in small for word in between)

    def _copy(self) -> None:
        """ "Same on the other one": what was told last is told of this part too."""
        same, self.same = self.same, None
        first, end = self.span
        if same is None or any(
            one.tells("condition", "vague") for one in self.items if first <= one.first < end
        ):
            return
        last = self.made[-1] if self.made else (self.ear.before[-1] if self.ear.before else None)
        if last is None or not self.explicit or not self.subject or set(self.subject) & set(last.parts):
            return
        told = [one for one in (self.made or self.ear.before) if one.parts == last.parts]
        for one in told:
            self.ear.drafts.append(
                Draft(
                    self.subject, one.condition, min(same.first, self.subject_span[0]),
                    max(same.end, self.subject_span[1]), same.first, same.end, self.piece,
                    grade=one.grade, certainty=one.certainty, denied=one.denied,
                )
            )  # fmt: skip

    def _elliptical(self) -> None:
        """ "... and the right one isn't": what was told last is denied of this part."""
        if self.denying < 0 or self.piece < 0 or self.told or not self.explicit or not self.subject:
            return
        first, end = self.span
        denial = next((one for one in self.items if one.first == self.denying), None)
        if (
            denial is None
            or denial.first < first
            or end - denial.end > 1
            or denial.first < self.subject_span[1]
        ):
            return
        last = self.made[-1] if self.made else (self.ear.before[-1] if self.ear.before else None)
        if not self.made and self.piece + 1 < len(self.sentence.pieces):
            return
        self.denying = -1
        if last is None or last.condition == "fine":
            return
        if set(last.parts) & set(self.subject):
            if last in self.made:
                last.denied, last.certainty = True, "plain"
                last.rests_on(denial.first, denial.end)
            return
        self.ear.drafts.append(
            Draft(
                self.subject, last.condition, self.subject_span[0], denial.end, denial.first, denial.end,
                self.piece, denied=True,
            )
        )  # fmt: skip

    def _finish(self) -> None:
        """Measures, places, earlier repairs and work, beside what was told."""
        first, end = self.sentence.first, self.sentence.end
        for begins, ends, out in self.spoken.measures(first, end):
            if self.stands.is_nothing(begins):
                continue
            near = [one for one in self.made if abs(one.told - begins) <= 8]
            if near:
                min(near, key=lambda one: abs(one.told - begins)).measured = self.spoken.text(begins, ends)
            elif out and self.subject:
                draft = Draft(
                    self.subject,
                    "out of adjustment",
                    min(self.subject_span[0], begins),
                    ends,
                    begins,
                    ends,
                    self.piece,
                )
                draft.measured = self.spoken.text(begins, ends)
                if begins >= self.stands.asked_from or self.stands.is_reported(begins):
                    draft.certainty = "possible"
                self.ear.drafts.append(draft)
        earlier = any(item.tells("earlier") for item in self.items)
        for draft in self.made:
            draft.earlier_repair = earlier or draft.condition in self.reading.lexicon.repaired
            if not draft.place:
                until = self.sentence.pieces[min(draft.piece, len(self.sentence.pieces) - 1)][1]
                begins = draft.told_end
                if self.reading.plain[begins - 1] in self.reading.lexicon.prepositions:
                    begins -= 1  # "lifting at": what tells it took the preposition along
                if place := self.spoken.place(begins, until):
                    draft.place = self.spoken.text(*place)
        for work in self.ear.work[self.work_began :]:
            for draft in self.made or self.ear.before:
                if set(draft.parts) & set(work.parts) and not draft.denied:
                    draft.work += (work,)
