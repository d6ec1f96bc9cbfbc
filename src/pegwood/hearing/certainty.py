"""What a sentence is worth: seen, guessed, told by somebody, true of such cameras in general, or nothing."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from pegwood.hearing.items import Item, Sentence
from pegwood.hearing.reading import Reading

Span = tuple[int, int]
#: Letters of a word that may be a verb of one that does something: "gives".
SHORTEST_VERB = 3


@dataclass(slots=True)
class Standing:
    """
    Stretches of tokens of a sentence that are no plain telling.

    Attributes
    ----------
    remarks : tuple of (int, int)
        About such cameras in general.
    nothing : tuple of (int, int)
        Asides, and what would be if something were.
    reported : tuple of (int, int)
        What somebody else told.
    asked_from : int
        The token from which on it is asked, not told.
    """

    remarks: tuple[Span, ...] = ()
    nothing: tuple[Span, ...] = ()
    reported: tuple[Span, ...] = ()
    asked_from: int = 1 << 60

    def is_nothing(self, at: int) -> bool:
        """Whether a token stands where nothing is told of this camera."""
        return _within(at, self.remarks) or _within(at, self.nothing)

    def is_reported(self, at: int) -> bool:
        """Whether a token stands where somebody else's word is told."""
        return _within(at, self.reported)


def _within(at: int, spans: tuple[Span, ...]) -> bool:
    return bool(spans) and any(first <= at < end for first, end in spans)


def standing(sentence: Sentence, reading: Reading) -> Standing:
    """How the stretches of a sentence stand."""
    found = Standing(asked_from=_asked_from(sentence, reading))
    if _of_any(sentence, reading):
        found.remarks += ((sentence.first, sentence.end),)
        return found
    for first, end in _stretches(sentence):
        items = [item for item in sentence.items if first <= item.first < end]
        if general := next((item for item in items if item.tells("general", "although")), None):
            _general(found, general, items, (first, end))
        if any(item.tells("reported") for item in items):
            found.reported += ((first, end),)
    for first, end in sentence.pieces:
        items = [item for item in sentence.items if first <= item.first < end]
        if any(item.tells("aside") for item in items) and not any(item.mention for item in items):
            found.nothing += ((first, end),)
    if would := next((item for item in sentence.items if _is_hypothetical(item, sentence, reading)), None):
        until = next(
            (one.first for one in sentence.items if one.first > would.first and _turns(one)), sentence.end
        )
        began = max((piece[0] for piece in sentence.pieces if piece[0] <= would.first), default=would.first)
        telling = any(began <= one.first < would.first and one.tells("condition") for one in sentence.items)
        found.nothing += ((would.first if telling else began, until),)
    return found


def _of_any(sentence: Sentence, reading: Reading) -> bool:
    """ "A worn brake gives you bounce", "those trains jam": any of them, not this one."""
    lexicon = reading.lexicon
    for item in sentence.items:
        before = reading.plain[item.first - 1] if item.first > sentence.first else ""
        after = reading.plain[item.end] if item.end < sentence.end else ""
        if item.mention is not None and before in lexicon.many:
            acts = after.isalpha() and after not in lexicon.function and after not in lexicon.fillers
            if acts and reading.plain[item.end - 1].endswith(lexicon.plural):
                return True
        if not item.tells("condition"):
            continue
        if before in lexicon.many and not any(
            one.mention and one.first == item.end for one in sentence.items
        ):
            return True  # "those craze like mad"
        begins = item.first - sentence.first == 1 and before in lexicon.small("indefinite")
        verb = reading.plain[item.end + 1] if item.end + 1 < sentence.end else ""
        if (
            begins
            and len(verb) > SHORTEST_VERB
            and verb not in lexicon.function
            and verb.endswith(lexicon.plural)
        ):
            return True
    return False


def _stretches(sentence: Sentence) -> list[Span]:
    """Stretches between words of contrast: what is general before "but" is not so after it."""
    cuts = [sentence.first, *(item.first for item in sentence.items if item.tells("contrast")), sentence.end]
    cuts = sorted(set(cuts))
    return list(itertools.pairwise(cuts))


def _general(found: Standing, general: Item, items: list[Item], span: Span) -> None:
    first, end = span
    here = [item for item in items if item.tells("this one")]
    if general.tells("although") or (here and here[-1].first < general.first):
        return
    if here:  # "these always crack there, and this one has too"
        end = here[-1].first
    found.remarks += ((first, end),)


def _turns(item: Item) -> bool:
    return item.tells("contrast", "this one")


def _is_hypothetical(item: Item, sentence: Sentence, reading: Reading) -> bool:
    if not item.tells("hypothetical"):
        return False
    if item.end - item.first > 1:
        return True
    before = reading.plain[item.first - 1] if item.first > sentence.first else ""
    return reading.lexicon.stems.of(before or "-") not in reading.lexicon.whether


def _asked_from(sentence: Sentence, reading: Reading) -> int:
    """The token at which a question begins: the sentence's own, or "is it" in the midst of it."""
    if sentence.asked or _begins_as_question(sentence, reading):
        return sentence.first
    lexicon, plain = reading.lexicon, reading.plain
    for at in range(sentence.first + 1, sentence.end - 1):
        if plain[at] in lexicon.question_starts and plain[at + 1] in lexicon.questioned:
            before = plain[at - 1]
            if before not in lexicon.questioned and before not in lexicon.asking_before:
                return at
    return 1 << 60


def _begins_as_question(sentence: Sentence, reading: Reading) -> bool:
    """ "Is that haze", with no mark after it: a verb first, then what it is asked of."""
    at = sentence.first
    while at < sentence.end and (
        reading.plain[at] in reading.lexicon.fillers or reading.kinds[at] == "comma"
    ):
        at += 1
    if at + 1 >= sentence.end:
        return False
    lexicon = reading.lexicon
    after = reading.plain[at + 1]
    return reading.plain[at] in lexicon.question_starts and (
        after in lexicon.questioned or after in lexicon.articles
    )
