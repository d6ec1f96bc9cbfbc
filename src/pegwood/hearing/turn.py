"""A sentence taken in, item by item: what is told goes to whom it is told of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegwood.hearing.certainty import Standing
from pegwood.hearing.correcting import Correcting
from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.lexicon import SOLID
from pegwood.hearing.measures import Spoken
from pegwood.hearing.meaning import Meaning
from pegwood.hearing.qualities import GRADE_TOO_SOFT, lesser
from pegwood.hearing.reading import Item, Sentence
from pegwood.hearing.results import Certainty
from pegwood.hearing.working import REACH, Working

if TYPE_CHECKING:
    from pegwood.hearing.listening import Listener


#: Words of a sentence that is nothing but "not sure, though".
SHORT_SENTENCE = 6


class Turn:
    """
    One sentence.

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
        self._alternative = self.reading.plain[sentence.first] == "or"
        self.forward: Certainty = "possible" if self._alternative else "plain"
        self.same: Item | None = None
        self.cause_until = -1
        self.working = Working(self.reading)
        self.spoken = Spoken(self.reading)
        self.meaning = Meaning(ear)
        self.correcting = Correcting(self)

    @property
    def made(self) -> list[Draft]:
        """What this sentence told so far."""
        return [one for one in self.ear.drafts[self.began :] if not one.taken_back]

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
        if self.reading.plain[first] not in ("or", "nor"):
            self.denying = -1
        self.explicit = self.pointed = False

    @property
    def span(self) -> tuple[int, int]:
        """Tokens of the piece."""
        return self.sentence.pieces[self.piece]

    # --- items --------------------------------------------------------------------------------------

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

    def _unsure(self, item: Item) -> None:
        """A guess said in a piece of its own goes to what was told before it, or to what comes after."""
        if item.tells("grade") and self.made and self.made[-1].grade is None and self._is_alone(item):
            last = self.made[-1]
            if last.condition != "fine" and last.piece < self.piece:
                last.grade = int(item.kinds["grade"])
                last.rests_on(item.first, item.end)
            return
        if not item.tells("possible", "probable"):
            return
        first, end = self.span
        if any(one.tells("condition", "vague") for one in self.items if first <= one.first < end):
            return
        if any(one.mention for one in self.items if first <= one.first < end):
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
        return not any(one is not item and first <= one.first < end and not one.tells("done") for one in self.items)

    def _is_cause(self, item: Item) -> bool:
        last = self.made[-1] if self.made else None
        if last is None or last.piece != self.piece:
            return False
        lexicon = self.reading.lexicon
        said = self.reading.plain[item.first]
        between = self.reading.plain[last.told : item.first]
        return not (said in lexicon.off_from and any(word in lexicon.missing_from for word in between))

    def _part(self, item: Item) -> None:
        if item.first < self.cause_until:
            return
        parts, may_be = self.meaning.of(item, self.sentence)
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
        first, end = self.span
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
        return len(word) == 1 and not word.isalnum() or word == ","

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
            self._settle(one)
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
        if self.denying >= 0 and item.first - self.denying > 1:
            self.denying = -1
        if not named and self.ear.topic and not item.tells("other"):
            if self.subject != self.ear.topic:
                self.subject = self.ear.topic
            self.subject_span = (item.first, item.end)
            self.explicit = self.pointed = True
            self.told = False

    # --- what is told -------------------------------------------------------------------------------

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
        self._settle(draft)
        self.told = True
        if not self.correcting.by_condition(draft):
            self.ear.drafts.append(draft)

    def _or(self, draft: Draft) -> None:
        """ "Worn or just oily": neither is sure."""
        last = self.made[-1] if self.made else None
        if last is None or last.parts != draft.parts or draft.denied or last.denied:
            return
        between = self.reading.plain[last.told_end : draft.told]
        if "or" in between and len(between) <= REACH:
            last.certainty = draft.certainty = "possible"

    def _is_slot(self, item: Item) -> bool:
        """Whether a word read unsurely stands where a condition would: "the strut is ..."."""
        if item.end - item.first > 1:
            return True
        before = self.reading.plain[item.first - 1] if item.first > self.sentence.first else ""
        lexicon = self.reading.lexicon
        small = before in lexicon.being or before in lexicon.fillers or before in ("bit", "very", "not", "all")
        straight = self.subject_span[1] == item.first
        return self.explicit and not self.told and (small or straight)

    def _is_said_of_something(self, item: Item) -> bool:
        """Everyday words of praise ("good") count where they are said of something, not where they are said aside."""
        if tuple(self.reading.plain[item.first : item.end]) not in self.reading.lexicon.weak_fine:
            return True
        after = self.reading.plain[item.end] if item.end < self.sentence.end else ","
        lexicon = self.reading.lexicon
        ends = item.end >= self.sentence.end or self.reading.tokens[item.end].kind != "word"
        ends = ends or after in lexicon.joins or after in lexicon.fillers or after in ("as", "on", "though", "there")
        ends = ends or any(one.first == item.end and not one.tells("it") for one in self.items)
        return ends and (self.explicit or not self.made) and not (self.told and not self.explicit)

    def _settle(self, draft: Draft) -> None:
        """What a vague word tells hangs on the part it is said of."""
        if draft.vague:
            draft.condition = self.meaning.vague(draft.vague, draft.parts)

    def _is_headed(self) -> bool:
        """ "The front cell: three chips": a piece that only names the part, and nothing told of it yet."""
        return bool(self.subject or self.may_be) and not self.told and self.subject_span[1] > self.sentence.first

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
        if first + 1 != verb or self.reading.tokens[first].kind != "word":
            return False
        word = self.reading.plain[first]
        covered = any(one.first <= first < one.end for one in self.items)
        return not covered and word not in lexicon.function and word not in lexicon.carriers and len(word) > 2

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
        self.ear.work.append(WorkDraft(parts, item.kinds["work"], done, item.first, item.end))

    def _is_object(self, item: Item, after: Item) -> bool:
        between = self.reading.plain[item.end : after.first]
        lexicon = self.reading.lexicon
        small = lexicon.articles | lexicon.fillers | lexicon.prepositions | {"up", "out", "down", "new"}
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
        if denial is None or denial.first < first or end - denial.end > 1 or denial.first < self.subject_span[1]:
            return
        last = self.made[-1] if self.made else (self.ear.before[-1] if self.ear.before else None)
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
                if set(draft.parts) & set(work.parts) and not draft.denied and work.work not in draft.work:
                    draft.work.append(work.work)
