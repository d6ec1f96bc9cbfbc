"""Of a condition told: how bad, how sure, whether it is denied."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.hearing.certainty import Standing
from pegwood.hearing.items import Item
from pegwood.hearing.reading import Reading
from pegwood.hearing.results import Certainty

#: Tokens between a grade and what it grades.
NEAR = 3
GRADE_TOO_SOFT = 1


@dataclass
class Qualities:
    """Reads grade, certainty and denial off the items around a condition."""

    reading: Reading

    def grade(self, items: Sequence[Item], at: int) -> int | None:
        """How bad, if it was told: the grade next before the condition, or right after it."""
        item = items[at]
        for other in reversed(items[:at]):
            if item.first - other.end > NEAR or other.mention is not None:
                break
            if other.tells("grade") and self._only_small(other.end, item.first):
                return int(other.kinds["grade"])
        within = self.reading.plain[item.first : item.end - 1]
        if inside := [
            self.reading.lexicon.grade_words[word]
            for word in within
            if word in self.reading.lexicon.grade_words
        ]:
            return inside[0]
        if "grade" in item.kinds and not item.tells("condition"):
            return int(item.kinds["grade"])
        after = items[at + 1] if at + 1 < len(items) else None
        if after is not None and after.tells("grade") and after.first == item.end:
            if self.leads_to_place(after.end):
                return None
            following = items[at + 2] if at + 2 < len(items) else None
            if following is None or following.first > after.end or not following.tells("condition"):
                return int(after.kinds["grade"])
        return None

    def leads_to_place(self, at: int) -> bool:
        """ "A kink right behind the rivet": no grade, but where it is."""
        plain = self.reading.plain
        return at < len(plain) and plain[at] in self.reading.lexicon.prepositions

    def _only_small(self, first: int, end: int) -> bool:
        lexicon = self.reading.lexicon
        small = lexicon.fillers | lexicon.articles | lexicon.joins | lexicon.small("of")
        return all(word in small for word in self.reading.plain[first:end])

    def certainty(
        self, items: Sequence[Item], at: int, piece: tuple[int, int], stands: Standing, forward: Certainty
    ) -> Certainty:
        """How sure the speaker is of a condition: the words of its piece, between its neighbours."""
        item = items[at]
        if item.first >= stands.asked_from or stands.is_reported(item.first):
            return "possible"
        found: Certainty = forward
        for other in reversed(items[:at]):
            if other.first < piece[0] or (other.tells("condition") and not self._listed(other, item)):
                break
            found = _lesser(found, other)
        for other in items[at + 1 :]:
            if other.first >= piece[1] or other.tells("condition"):
                break
            if other.tells("possible", "probable") and self._looks_on(items, other, piece):
                break
            found = _lesser(found, other)
        return found

    def _looks_on(self, items: Sequence[Item], guess: Item, piece: tuple[int, int]) -> bool:
        """ "Loose, maybe the screw ...": the guess is about what comes after it."""
        after = [one for one in items if guess.end <= one.first < piece[1]]
        tells = any(one.tells("condition", "vague") for one in after)
        return tells and any(one.mention or one.tells("it") for one in after)

    def _listed(self, one: Item, other: Item) -> bool:
        """ "Worn or bent": what is said of how sure one is holds for both."""
        between = self.reading.plain[one.end : other.first]
        return bool(between) and between[0] in self.reading.lexicon.joins and len(between) <= NEAR + 1

    def softened(self, denied_at: int, item: Item) -> bool:
        """ "Not too stiff": less of it, but not none."""
        between = self.reading.plain[denied_at + 1 : item.first]
        words = self.reading.lexicon.softened
        return any(word in words for word in between)


def _lesser(found: Certainty, item: Item) -> Certainty:
    if item.tells("possible"):
        return "possible"
    if item.tells("probable") and found == "plain":
        return "probable"
    return found


lesser = _lesser
