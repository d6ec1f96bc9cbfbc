"""What is told of the part spoken of, how sure, and whether it is told of a part at all."""

from __future__ import annotations

from pegwood.hearing.drafts import Draft
from pegwood.hearing.items import Item
from pegwood.hearing.lexicon import SOLID
from pegwood.hearing.qualities import GRADE_TOO_SOFT, lesser
from pegwood.hearing.turn_parts import TurnParts
from pegwood.hearing.working import REACH

#: Words of a sentence that is nothing but "not sure, though".
SHORT_SENTENCE = 6


class TurnConditions(TurnParts):
    """The part of taking in a sentence that settles what is told."""

    def _condition(self, item: Item) -> None:
        if item.first < self.cause_until or (not self.explicit and self._is_foreign(item)):
            return
        if item.degree < SOLID and not self._is_slot(item):
            return
        if not self._is_said_of_something(item):
            return
        denied = self.denying >= 0
        if denied and self.told and self.made:
            between = self.reading.plain[self.made[-1].told_end : item.first]
            denied = not any(word in self.reading.lexicon.only for word in between)
        grade = self.ear.qualities.grade(self.items, self.number)
        if denied and self.ear.qualities.softened(self.denying, item):
            denied, grade = False, GRADE_TOO_SOFT
        key = item.kinds.get("condition", "")
        if denied and key == "fine":
            return
        parts = self.subject or (self.ear.topic if not self.may_be else ())
        may_be = self.may_be or (self.ear.may_be if not parts else ())
        named = self.subject and not self.pointed and (self.explicit or self._is_headed())
        first = self.subject_span[0] if named else item.first
        if self.denying >= 0:
            first = min(first, self.denying)
        draft = Draft(
            parts, key, first, item.end, item.first, item.end, self.piece,
            carried=not (self.explicit or self._is_headed()) or self._is_joined_noun(item), may_be=may_be,
            grade=None if key == "fine" else grade, denied=denied,
        )  # fmt: skip
        if self.pointed:
            draft.rests_on(*self.subject_span)
        draft.certainty = self.ear.qualities.certainty(
            self.items, self.number, self.span, self.stands, self.forward
        )
        if not self._alternative:
            self.forward = "plain"
        self._or(draft)
        draft.vague = item.kinds.get("vague", "") if not key else ""
        self.settle(draft)
        self.told = True
        if self.correcting.by_condition(draft) or self._is_said_again(draft):
            return
        self.ear.drafts.append(draft)

    def _is_said_again(self, draft: Draft) -> bool:
        """ "It's dim, very dim": told once, with the words of both."""
        last = self.made[-1] if self.made else None
        if last is None or (last.parts, last.condition, last.denied) != (
            draft.parts,
            draft.condition,
            draft.denied,
        ):
            return False
        last.rests_on(draft.first, draft.end)
        if last.carried:
            last.piece = draft.piece
        last.told_end = max(last.told_end, draft.told_end)
        last.grade = draft.grade if last.grade is None else last.grade
        return True

    def _is_headed(self) -> bool:
        """ "The front cell: three chips": a piece that only names the part, and nothing told of it yet."""
        return (
            bool(self.subject or self.may_be) and not self.told and self.subject_span[1] > self.sentence.first
        )

    def _or(self, draft: Draft) -> None:
        """ "Worn or just oily": neither is sure."""
        last = self.made[-1] if self.made else None
        if draft.denied or last is None or last.denied:
            return
        if last.certainty != "plain" and last.piece == draft.piece and draft.certainty == "plain":
            before = self.reading.plain[last.told_end : draft.told]
            if any(word in self.reading.lexicon.small("either") for word in before):
                draft.certainty = "possible"  # "probably blown, or there is a dry joint"
        if last.parts != draft.parts:
            return
        between = self.reading.plain[last.told_end : draft.told]
        if any(word in self.reading.lexicon.small("either") for word in between) and len(between) <= REACH:
            last.certainty = draft.certainty = "possible"

    def _is_slot(self, item: Item) -> bool:
        """Whether a word read unsurely stands where a condition would: "the strut is ..."."""
        if item.end - item.first > 1:
            return True
        before = self.reading.plain[item.first - 1] if item.first > self.sentence.first else ""
        lexicon = self.reading.lexicon
        small = (
            before in lexicon.being or before in lexicon.fillers or before in lexicon.small("before_state")
        )
        straight = self.subject_span[1] == item.first
        return (self.explicit or self._is_headed()) and not self.told and (small or straight)

    def _is_said_of_something(self, item: Item) -> bool:
        """Everyday words of praise ("good") count where they are said of something, not said aside."""
        if tuple(self.reading.plain[item.first : item.end]) not in self.reading.lexicon.weak_fine:
            return True
        after = self.reading.plain[item.end] if item.end < self.sentence.end else ","
        lexicon = self.reading.lexicon
        ends = item.end >= self.sentence.end or self.reading.kinds[item.end] != "word"
        ends = (
            ends
            or after in lexicon.joins
            or after in lexicon.fillers
            or after in lexicon.small("after_praise")
        )
        ends = ends or any(one.first == item.end and not one.tells("it") for one in self.items)
        return ends and (self.explicit or not self.made) and not (self.told and not self.explicit)

    def _is_joined_noun(self, item: Item) -> bool:
        """ "... and rust on the strut": may yet be told of another part."""
        if not self.told or not self.made:
            return False
        between = self.reading.plain[self.made[-1].told_end : item.first]
        lexicon = self.reading.lexicon
        return not any(word in lexicon.being for word in between) and len(between) <= REACH

    def _is_foreign(self, item: Item) -> bool:
        """Whether the piece speaks of something that is no part: "the mug is cracked"."""
        plain, lexicon = self.reading.plain, self.reading.lexicon
        first = self.span[0]
        carriers = lexicon.carriers
        verb = next((at for at in range(item.first - 1, first - 1, -1) if plain[at] in lexicon.being), None)
        if verb is None:
            return False
        anew = [one.end for one in self.items if one.tells("anew") and first <= one.first < item.first]
        first = max([first, *anew])  # "... there's a bit of mould"
        if verb < first:
            return False
        if self._names_another(first, verb):
            return True
        for at in range(first, verb):
            if plain[at] in lexicon.articles and at + 1 < verb:
                return not any(word in carriers for word in plain[at + 1 : verb]) and not any(
                    one.tells("it", "same", "grade", "condition")
                    for one in self.items
                    if at <= one.first < verb
                )
        return False

    def _names_another(self, first: int, verb: int) -> bool:
        """ "Infinity is ...", "lamp's ...": a word that nothing is known of, and then what is told of it."""
        lexicon = self.reading.lexicon
        while first < verb and (
            self.reading.plain[first] in lexicon.fillers or self.reading.plain[first] in lexicon.joins
        ):
            first += 1
        if first + 1 != verb or self.reading.kinds[first] != "word":
            return False
        word = self.reading.plain[first]
        covered = any(one.first <= first < one.end for one in self.items)
        return not covered and word not in lexicon.function and word not in lexicon.carriers and len(word) > 2

    def _unsure(self, item: Item) -> None:
        """A guess said in a piece of its own goes to what was told before it, or to what comes after."""
        if item.tells("grade") and self.made and self.made[-1].grade is None and self._is_alone(item):
            last = self.made[-1]
            place = self.ear.qualities.leads_to_place(item.end)
            if last.condition != "fine" and last.piece < self.piece and not place:
                last.grade = int(item.kinds["grade"])
                last.rests_on(item.first, item.end)
            return
        if not item.tells("possible", "probable"):
            return
        first, end = self.span
        if any(one.tells("condition", "vague") for one in self.items if first <= one.first < end):
            return
        alternative = self.reading.plain[first] in self.reading.lexicon.small("either")
        if not alternative and any(one.mention for one in self.items if first <= one.first < end):
            return
        if self.made:
            self.made[-1].certainty = lesser(self.made[-1].certainty, item)
        elif any(one.tells("condition", "vague") for one in self.items if one.first >= end):
            self.forward = lesser(self.forward, item)
        elif (
            self.ear.before
            and self.sentence.end - self.sentence.first <= SHORT_SENTENCE
            and not any(one.mention or one.tells("work") for one in self.items)
        ):
            self.ear.before[-1].certainty = lesser(self.ear.before[-1].certainty, item)

    def _is_alone(self, item: Item) -> bool:
        """Whether nothing else is found in the piece."""
        first, end = self.span
        return not any(
            one is not item and first <= one.first < end and not one.tells("done") for one in self.items
        )

    def _is_cause(self, item: Item) -> bool:
        last = self.made[-1] if self.made else None
        if last is None or last.piece != self.piece:
            return False
        lexicon = self.reading.lexicon
        said = self.reading.plain[item.first]
        between = self.reading.plain[last.told : item.first]
        return not (said in lexicon.off_from and any(word in lexicon.missing_from for word in between))
