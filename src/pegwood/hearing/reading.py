"""A text read once: words as they may be meant, phrases and parts found in it, sentences and their pieces."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from pegwood.hearing.items import Item, Sentence
from pegwood.hearing.lexicon import SOLID, Lexicon
from pegwood.hearing.names import BESIDE, LONGEST_NAME, Mention, NameFinder
from pegwood.hearing.phrases import Form
from pegwood.hearing.tokens import Kind, Token, tokens

#: Share of lines that end as sentences do, from which on the line that does not is taken to go on [1].
PUNCTUATED = 0.5
#: What the readings of a word beside a part's name are worth at most [1].
BESIDE_DEGREE = 0.9
#: Words after which progress is told again.
TOLD_EVERY = 500
#: Words of a sentence; who talks on without a stop is listened to in stretches of so many.
LONGEST_SENTENCE = 80


class Reading:
    """
    The whole text, read.

    Parameters
    ----------
    text : str
    lexicon : Lexicon
    finder : NameFinder
    progress : callable, optional
        Told the share of the work done, from 0 to 1, now and then.

    Attributes
    ----------
    plain, kinds : list of str
        Of each token, its plain word and its kind; a list of tokens would cost more to keep than to read.
    forms : list of tuple of Form
        How each may be read.
    """

    def __init__(
        self, text: str, lexicon: Lexicon, finder: NameFinder, progress: Callable[[float], None] | None = None
    ) -> None:
        self.text = text
        self.lexicon = lexicon
        self.finder = finder
        said = [one for one in tokens(text) if one.plain not in lexicon.hesitations]
        found = list(self._mended(self._in_lines(said)))
        self.plain: list[str] = [token.plain for token in found]
        self.kinds: list[Kind] = [token.kind for token in found]
        self._starts, self._ends = [token.start for token in found], [token.end for token in found]
        self._likes: dict[tuple[str, str], float] = {}
        self.forms = self._readings()
        self._progress = progress
        links, skipped = lexicon.links, lexicon.fillers | {"'s"}
        self._links = {at for at, word in enumerate(self.plain) if word in links and self.kinds[at] == "word"}
        self._fillers = {at for at, word in enumerate(self.plain) if word in skipped}

    def where(self, first: int, end: int) -> tuple[int, int]:
        """Characters of the text that tokens stand on."""
        return self._starts[first], self._ends[end - 1]

    # --- words --------------------------------------------------------------------------------------

    def _in_lines(self, found: list[Token]) -> list[Token]:
        """Line feeds either end a sentence or, in a text that has its stops, are nothing but wrapping."""
        ends = before = None
        lines = stops = 0
        for token in found:
            if token.kind == "line" and before is not None and before.kind != "line":
                lines += 1
                stops += before.kind in ("stop", "ask")
            before = token
        ends = lines and stops / lines >= PUNCTUATED
        kept: list[Token] = []
        for at, token in enumerate(found):
            if token.kind == "line":
                empty = at + 1 < len(found) and found[at + 1].kind == "line"
                if ends and not empty and not (kept and kept[-1].kind == "line"):
                    continue
            kept.append(token)
        return kept

    def _mended(self, found: list[Token]) -> Iterator[Token]:
        """Words that a recogniser ran together are parted, and those it parted are joined."""
        pairs, lexicon = self.finder.pairs, self.lexicon
        at = 0
        while at < len(found):
            token = found[at]
            at += 1
            if token.kind != "word" or len(token.plain) < 2:
                yield token
                continue
            if (pair := pairs.get(token.plain)) and not lexicon.is_known(token.plain):
                middle = min(token.start + len(pair[0]), token.end - 1)
                yield Token(token.start, middle, pair[0], "word")
                yield Token(middle, token.end, pair[1], "word")
                continue
            after = found[at] if at < len(found) else None
            if after is not None and after.kind == "word":
                joined = token.plain + after.plain
                both_known = lexicon.is_known(token.plain) and lexicon.is_known(after.plain)
                if joined in lexicon.trade and not both_known:
                    yield Token(token.start, after.end, joined, "word")
                    at += 1
                    continue
            yield token

    def _readings(self) -> list[tuple[Form, ...]]:
        read = [
            self.lexicon.forms(word) if kind == "word" else ()
            for word, kind in zip(self.plain, self.kinds, strict=True)
        ]
        stems, function = self.lexicon.part_stems, self.lexicon.function
        named = [bool(forms) and forms[0].key in stems and forms[0].key not in function for forms in read]
        for at, forms in enumerate(read):
            if not forms or named[at] or self.plain[at] in function or len(self.plain[at]) < 3:
                continue
            near: dict[str, float] = {}
            if at and named[at - 1]:
                self._beside(near, self.plain[at], self.finder.after.get(read[at - 1][0].key, ()))
            if at + 1 < len(read) and named[at + 1]:
                self._beside(near, self.plain[at], self.finder.before.get(read[at + 1][0].key, ()))
            if near:
                best = sorted(near, key=lambda word: (-near[word], word))[:3]
                more = tuple(
                    Form(self.lexicon.stems.of(word), min(near[word], BESIDE_DEGREE)) for word in best
                )
                read[at] = (*forms, *more)
        return read

    def _beside(self, near: dict[str, float], heard: str, wanted: Sequence[str] | set[str]) -> None:
        for word in wanted:
            if len(word) < 3:
                continue
            degree = self._like(heard, word)
            if degree >= BESIDE:
                near[word] = max(degree, near.get(word, 0.0))

    def _like(self, heard: str, word: str) -> float:
        known = self._likes.get((heard, word))
        if known is None:
            known = self._likes[heard, word] = self.lexicon.sounds.likeness(heard, word)
        return known

    # --- phrases and parts --------------------------------------------------------------------------

    def sentences(self) -> Iterator[Sentence]:
        """Sentences in order, each with what was found in it."""
        first = told = 0
        for at, kind in enumerate(self.kinds):
            if (
                kind == "word" and at - first >= LONGEST_SENTENCE and self.plain[at] in self.lexicon.articles
            ) or at - first >= 2 * LONGEST_SENTENCE:
                yield self._sentence(first, at, False)
                first = at
            if kind in ("stop", "ask", "line"):
                if at > first:
                    yield self._sentence(first, at, kind == "ask")
                first = at + 1
                if self._progress is not None and at >= told + TOLD_EVERY:
                    told = at
                    self._progress(first / len(self.plain))
        if first < len(self.plain):
            yield self._sentence(first, len(self.plain), False)

    def _sentence(self, first: int, end: int, asked: bool) -> Sentence:
        found = Sentence(first, end, asked)
        at = first
        while at < end:
            item = self._item(at, first) if self.kinds[at] == "word" else None
            if item is None:
                at += 1
                continue
            if found.items and item.first == found.items[-1].end:
                _grade_only(found.items[-1], item)
            found.items.append(item)
            at = item.end
        self._cut(found)
        return found

    def _item(self, at: int, first: int) -> Item | None:
        phrase = self.lexicon.phrases.longest(self.forms, at, self._fillers)
        mention = self._sided(at, first)
        if mention is None and self.plain[at] not in self.lexicon.function:
            mention = self.finder.at(self.forms, self.plain, at, self._links)
        if mention is not None and not self._is_meant(mention, first):
            mention = None
        if mention is not None and (
            phrase is None
            or mention.end > phrase.end
            or (
                mention.end == phrase.end
                and mention.degree >= phrase.degree
                and self._names_it(mention, first)
            )
        ):
            return Item(at, mention.end, {"part": ""}, mention.degree, mention)
        if phrase is None:
            return None
        kinds: dict[str, str] = {}
        for kind, key in phrase.tells:
            kinds.setdefault(kind, key)
        return Item(at, phrase.end, kinds, phrase.degree)

    def _sided(self, at: int, first: int) -> Mention | None:
        """ "The lower left one", "the rear is": sides alone; whose they are tells what was spoken of."""
        stems, ones = self.lexicon.part_stems, self.lexicon.ones
        turns: list[str] = []
        alone = 0
        for here in range(at, min(len(self.plain), at + LONGEST_NAME)):
            key = self._first_key(here)
            if not key or (key not in self.finder.turns and key not in stems) or self.plain[here] in ones:
                break
            turns.append(key)
            alone += key in self.finder.turns and alone == here - at
        end = at + alone
        if (alone > 1 and self._ends_name(end)) or (alone == 1 and self._is_alone(at, first)):
            return Mention(at, end, (), words=alone, sides=tuple(turns[:alone]))
        end = at + len(turns)
        if turns and end < len(self.plain) and self.plain[end] in ones:
            return Mention(at, end + 1, (), words=len(turns), sides=tuple(turns))
        return None

    def _is_alone(self, at: int, first: int) -> bool:
        """ "..., rear looks", "and the rear has": one word of a side, with nothing said of before it."""
        lexicon = self.lexicon
        if at + 1 >= len(self.plain) or self.plain[at + 1] not in lexicon.being:
            return False
        before = at - 1
        while before >= first and self.plain[before] in lexicon.articles | lexicon.joins | lexicon.fillers:
            before -= 1
        return before < first or self.kinds[before] != "word"

    def _ends_name(self, at: int) -> bool:
        """Whether no word of a name stands here."""
        plain = self.plain[at] if at < len(self.plain) else ""
        if at >= len(self.plain) or self.kinds[at] != "word":
            return True
        tells = self._first_key(at) in self.lexicon.condition_firsts
        return tells or plain in self.lexicon.being or plain in self.lexicon.small("pointing")

    def _names_it(self, mention: Mention, first: int) -> bool:
        """Of a word that is a part and tells something as well: a part after an article."""
        before = self.plain[mention.first - 1] if mention.first else ""
        return mention.words > 1 or before in self.lexicon.articles or self._begins(mention, first)

    def _is_meant(self, mention: Mention, first: int) -> bool:
        """Whether a word that is an everyday one, or was read unsurely, stands where a part would."""
        before = self.plain[mention.first - 1] if mention.first > first else ""
        if before in self.lexicon.own:
            return False
        said = tuple(self.forms[at][0].key for at in range(mention.first, mention.end))
        shy = mention.words == 1 and (said in self.finder.shy or mention.degree < SOLID or len(said[0]) < 3)
        if not shy:
            return True
        after = self.plain[mention.end] if mention.end < len(self.plain) else ""
        if after in self.lexicon.small("of") or after.isdigit():
            return False
        if said in self.finder.shy and not self._is_word(mention):
            return False
        tells = after in self.lexicon.being or self._first_key(mention.end) in self.lexicon.condition_firsts
        return (
            before in self.lexicon.articles and (before not in self.lexicon.small("pointing") or tells)
        ) or (mention.degree >= SOLID and self._begins(mention, first))

    def _is_word(self, mention: Mention) -> bool:
        """The very word, not one of the same stem: "back", not "backing"."""
        said, stem = self.plain[mention.first], self.forms[mention.first][0].key
        return (
            said in (stem, stem + "s", stem + "e", stem + "es")
            or said.endswith("y")
            or len(said) - len(stem) < 2
        )

    def _begins(self, mention: Mention, first: int) -> bool:
        """ "Back: sound": a name with nothing before it in its piece, and after it what is told."""
        at = mention.first - 1
        while at >= first and self.plain[at] in self.lexicon.fillers:
            at -= 1
        if at >= first and self.kinds[at] == "word":
            return False
        if mention.end >= len(self.plain) or self.kinds[mention.end] != "word":
            return True
        after = self.plain[mention.end]
        tells = after in self.lexicon.being or after in self.lexicon.carriers
        return tells or self._first_key(mention.end) in self.lexicon.condition_firsts

    def _first_key(self, at: int) -> str:
        return self.forms[at][0].key if at < len(self.forms) and self.forms[at] else ""

    def _cut(self, found: Sentence) -> None:
        cuts = {found.first}
        cuts |= {at + 1 for at in range(found.first, found.end) if self.kinds[at] == "comma"}
        cuts |= {item.first for item in found.items if item.tells("break", "contrast")}
        ordered = sorted(cut for cut in cuts if cut < found.end)
        found.pieces = list(zip(ordered, [*ordered[1:], found.end], strict=True))


def _grade_only(item: Item, after: Item) -> None:
    """ "A hair bent", "fine scratches": what may be a condition or a grade is a grade before a condition."""
    if item.tells("grade") and after.tells("condition", "vague"):
        item.kinds.pop("condition", None)
