"""Which parts a mention means, by what was spoken of before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pegwood.hearing.items import Item, Sentence

if TYPE_CHECKING:
    from pegwood.hearing.listening import Listener

#: Parts that "both" or a plural may mean at once.
MOST_AT_ONCE = 4
#: Parts last spoken of beside which a short name is looked for.
LATELY = 3


@dataclass
class Meaning:
    """Tells parts of a mention, or of which parts it may be one."""

    ear: Listener

    def of(self, item: Item, sentence: Sentence) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Parts that are meant; none, and those it may be, where that cannot be told."""
        mention = item.mention
        if mention is None:
            return (), ()
        reading = self.ear.reading
        if mention.sides:
            found = reading.finder.by_side(self.ear.recent, mention.sides)
            return ((found,) if found is not None else ()), ()
        generic = mention.words == 1 and reading.forms[mention.first][0].key in reading.lexicon.generic
        if mention.every or (len(mention.parts) == 1 and (mention.whole or not generic)):
            return mention.parts, ()
        finder = reading.finder
        if generic and not self._has_article(item):
            return (), ()
        said = reading.plain[item.end - 1]
        before = [one for one in sentence.items if one.end <= item.first and item.first - one.end <= 2]
        both = any(one.tells("both") for one in before)
        if (
            len(mention.parts) <= MOST_AT_ONCE
            and (both or said.endswith(reading.lexicon.plural))
            and finder.differ_by_side(mention.parts)
        ):
            return mention.parts, ()
        for part in reversed(self.ear.recent):
            if part in mention.parts:
                return (part,), ()
        for topic in reversed(self.ear.recent[-LATELY:]):
            own = [part for part in mention.parts if finder.shares_word(part, topic, mention)]
            if len(own) == 1:
                return (own[0],), ()
            near = [part for part in mention.parts if self._room(part) == self._room(topic)]
            if len(near) == 1:
                return (near[0],), ()
        return (), mention.parts

    def of_another(self, item: Item, before: Item) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        """ "The take-up spool | clutch": of the parts it may be, the one whose names share a word with it."""
        if item.mention is None or len(item.mention.parts) < 2:
            return None
        reading = self.ear.reading
        said = {reading.forms[at][0].key for at in range(before.first, before.end)}
        own = [
            part
            for part in item.mention.parts
            if any(reading.finder.says(part, word) for word in said - reading.lexicon.links)
        ]
        return ((own[0],), ()) if len(own) == 1 else None

    def _has_article(self, item: Item) -> bool:
        reading = self.ear.reading
        before = reading.plain[item.first - 1] if item.first else ""
        begins = item.first == 0 or reading.kinds[item.first - 1] != "word"
        return begins or before in reading.lexicon.articles or before == "'s"

    def _room(self, part: int) -> str:
        return self.ear.reading.finder.names.parts[part].id.rpartition(".")[0]

    def other_of(self, parts: tuple[int, ...]) -> int | None:
        """The other one of a pair of which one was spoken of."""
        return self.ear.reading.finder.pair_of(parts[-1]) if parts else None

    def vague(self, number: str, parts: tuple[int, ...]) -> str:
        """The condition that a vague word tells of these parts."""
        lexicon = self.ear.reading.lexicon
        vague = lexicon.vocabulary.vague[int(number)]
        for part in parts:
            for word, condition in vague.of:
                if self.ear.reading.finder.says(part, lexicon.stems.of(word)):
                    return condition
        return vague.otherwise
