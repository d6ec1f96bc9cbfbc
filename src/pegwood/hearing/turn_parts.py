"""Who is spoken of: parts named, pointed at, listed, put after what is told of them."""

from __future__ import annotations

from pegwood.hearing.correcting import Correcting
from pegwood.hearing.drafts import Draft
from pegwood.hearing.items import Item
from pegwood.hearing.turn_state import TurnState
from pegwood.hearing.working import REACH


class TurnParts(TurnState):
    """The part of taking in a sentence that settles who is spoken of."""

    correcting: Correcting

    def _part(self, item: Item) -> None:
        if item.first < self.cause_until:
            return
        parts, may_be = self.meaning.of(item, self.sentence)
        before_it = self.items[self.number - 1] if self.number else None
        if before_it is not None and before_it.mention and before_it.end == item.first and self.subject:
            parts, may_be = self.meaning.of_another(item, before_it) or (parts, may_be)
        self.meant[item.first] = parts, may_be
        if not parts and not may_be:
            return
        if self.correcting.rejects(item):
            return
        if self.correcting.by_part(item, parts):
            return
        before_at, before = self._before(item.first)
        last = self.made[-1] if self.made else None
        preposition = before in self.reading.lexicon.prepositions
        if last is not None and last.told < item.first:
            if self._is_attribute(last, item):
                self._relink(item, parts, may_be)
                return
            if preposition and last.piece == self.piece:
                asked = self.pointed and item.first >= self.stands.asked_from
                if (last.carried or asked) and self._tells_where(last, before):
                    self._relink(item, parts, may_be)
                else:
                    last.place = last.place or self.spoken.text(before_at, item.end)
                    last.rests_on(item.first, item.end)
                return
            dislocated = self.pointed and self.sentence.end - item.end <= 1 and last.piece == self.piece
            if (last.carried or dislocated) and not preposition and self._is_afterthought(last, item):
                self._relink(item, parts, may_be)
                return
        elif preposition and self.explicit and not self.told and not self.pointed:
            return  # "the spring on the release lever": the spring is spoken of
        self._new_subject(item, parts, may_be)

    def _new_subject(self, item: Item, parts: tuple[int, ...], may_be: tuple[int, ...]) -> None:
        listed = self._is_listed(item)
        if listed:
            parts = tuple(dict.fromkeys((*self.subject, *parts)))
        elif self.told:
            self.denying = -1
        self.subject, self.may_be = parts, (() if parts else may_be)
        self.subject_span = (self.subject_span[0] if listed else item.first, item.end)
        self.explicit, self.pointed, self.told = True, False, False
        if parts:
            self.ear.spoken_of(parts)
        else:
            self.ear.lost(may_be)

    def _before(self, at: int) -> tuple[int, str]:
        """The word before a part, articles and small words left out."""
        lexicon = self.reading.lexicon
        at -= 1
        while at >= self.sentence.first and (
            self.reading.plain[at] in lexicon.articles or self.reading.plain[at] in lexicon.fillers
        ):
            at -= 1
        return (at, self.reading.plain[at]) if at >= self.sentence.first else (at, "")

    def _is_attribute(self, last: Draft, item: Item) -> bool:
        """ "A bent strut"."""
        if last.told_end != item.first:
            return False
        if last.carried:
            return True
        _, before = self._before(last.told)
        return (
            last.told > 0
            and self.reading.plain[last.told - 1] in self.reading.lexicon.articles
            and before != ""
        )

    def _tells_where(self, last: Draft, before: str) -> bool:
        """Whether a preposition names what a condition is on, not what it is near to."""
        lexicon = self.reading.lexicon
        if before in lexicon.off_from:
            words = self.reading.plain[last.told : last.told_end + 1]
            return any(word in lexicon.missing_from for word in words)
        return before not in lexicon.near

    def _is_afterthought(self, last: Draft, item: Item) -> bool:
        """ "A bit dry, this helicoid"."""
        first, _end = self.span
        rest = [one for one in self.items if one.first > item.first]
        return (
            not any(one.tells("condition", "vague", "work") for one in rest)
            and not any(
                one.tells("break", "work", "same") for one in self.items if first <= one.first < item.first
            )
            and item.first - last.told_end <= REACH
        )

    def _is_listed(self, item: Item) -> bool:
        """ "The strut and the spring"."""
        if self.told or not self.subject or self.pointed:
            return False
        between = self.reading.plain[self.subject_span[1] : item.first]
        lexicon = self.reading.lexicon
        small = lexicon.joins | lexicon.articles | lexicon.fillers
        if not between or not all(word in small or self._is_comma(word) for word in between):
            return False
        comma = any(self._is_comma(word) for word in between)
        if any(word in lexicon.joins for word in between):
            return not comma
        after = self.items[self.number + 1] if self.number + 1 < len(self.items) else None
        beyond = self.reading.plain[item.end : after.first] if after is not None and after.mention else []
        return comma and any(word in lexicon.joins for word in beyond)

    def _is_comma(self, word: str) -> bool:
        return (len(word) == 1 and not word.isalnum()) or word == ","

    def _relink(self, item: Item, parts: tuple[int, ...], may_be: tuple[int, ...]) -> None:
        """What was told is told of this part."""
        last = self.made[-1]
        told = [
            one
            for one in self.made
            if one is last or (one.carried and one.piece == last.piece and one.parts == last.parts)
        ]
        for one in told:
            one.parts, one.may_be, one.carried = parts, (() if parts else may_be), False
            one.rests_on(item.first, item.end)
            self.settle(one)
        self.subject, self.may_be, self.subject_span = parts, may_be, (item.first, item.end)
        self.explicit, self.pointed, self.told = True, False, True
        if parts:
            self.ear.spoken_of(parts)

    def _other(self, item: Item) -> None:
        pair = self.meaning.other_of(self.ear.topic)
        self.subject, self.may_be = ((pair,) if pair is not None else ()), ()
        self.subject_span = (item.first, item.end)
        self.explicit, self.pointed, self.told = True, True, False
        if pair is not None:
            self.ear.spoken_of((pair,))

    def _both(self, item: Item) -> None:
        """ "Both are worn", with no part named after it."""
        after = self.items[self.number + 1] if self.number + 1 < len(self.items) else None
        if after is not None and after.mention is not None and after.first - item.end <= 2:
            return
        if len(self.ear.topic) == 1 and (pair := self.meaning.other_of(self.ear.topic)) in self.ear.recent:
            self.ear.spoken_of((self.ear.topic[0], pair))
        if len(self.ear.topic) > 1 and item.first == self.span[0]:
            self.subject, self.subject_span = self.ear.topic, (item.first, item.end)
            self.explicit = self.pointed = True
            self.told = False

    def _point(self, item: Item) -> None:
        first, _ = self.span
        named = any(one.mention for one in self.items if first <= one.first < item.first)
        denial = next((one for one in self.items if one.first == self.denying), None)
        if denial is not None and item.first > denial.end and denial.end - denial.first == 1:
            self.denying = -1  # but "I don't think it's dirt"
        if not named and self.ear.topic and not item.tells("other"):
            if self.subject != self.ear.topic:
                self.subject = self.ear.topic
            self.subject_span = (item.first, item.end)
            self.explicit = self.pointed = True
            self.told = False
