"""Whether a word of work tells work, and whether it is done or to be done."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.hearing.items import Sentence
from pegwood.hearing.reading import Reading

#: Tokens between "needs" and the work.
REACH = 4


@dataclass
class Working:
    """Reads work off the items of a sentence."""

    reading: Reading

    def __post_init__(self) -> None:
        rules = self.reading.lexicon.vocabulary.work_rules
        self._states = self.reading.lexicon.states
        self._past = set(rules.past)
        self._endings = rules.past_endings

    def is_work(self, sentence: Sentence, number: int) -> bool:
        """Whether the item tells work rather than a state."""
        item = sentence.items[number]
        if tuple(self.reading.plain[item.first : item.end]) not in self._states:
            return not item.tells("condition") or self._is_asked_for(sentence, number)
        if self._is_asked_for(sentence, number):
            return True
        before = self.reading.plain[item.first - 1] if item.first > sentence.first else ""
        after = sentence.items[number + 1] if number + 1 < len(sentence.items) else None
        between = self.reading.plain[item.end : after.first] if after is not None else ["-"]
        if after is None or before in self.reading.lexicon.being:
            return False
        if after.tells("it") and not between:
            return True
        article = bool(between) and all(word in self.reading.lexicon.articles for word in between)
        return article and (after.mention is not None or after.tells("both"))

    def _is_asked_for(self, sentence: Sentence, number: int) -> bool:
        item = sentence.items[number]
        for other in reversed(sentence.items[:number]):
            if item.first - other.end > REACH or other.mention is not None or other.tells("condition"):
                return False
            if other.tells("to do"):
                between = self.reading.plain[other.end : item.first]
                return not any(self.reading.kinds[at] != "word" for at in range(other.end, item.first)) and (
                    len(between) <= REACH
                )
        return False

    def is_refused(self, sentence: Sentence, number: int) -> bool:
        """ "Doesn't need cleaning": told, but not to be done."""
        item = sentence.items[number]
        for other in reversed(sentence.items[:number]):
            if item.first - other.end > REACH or other.mention is not None:
                return False
            if any(self.reading.kinds[at] != "word" for at in range(other.end, item.first)):
                return False
            if other.tells("not to do", "deny"):
                return True
        return False

    def is_done(self, sentence: Sentence, number: int) -> bool:
        """Whether the work was done already."""
        item = sentence.items[number]
        if self._is_asked_for(sentence, number):
            return False
        words = self.reading.plain[item.first : item.end]
        if any(word in self._past or word.endswith(self._endings) for word in words):
            return True
        before = sentence.items[number - 1] if number else None
        return (
            before is not None
            and before.tells("done")
            and item.first - before.end <= 1
            and words[0] in self.reading.lexicon.small("indefinite")
        )
