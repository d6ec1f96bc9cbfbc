"""Signs by which a sentence is a remark about such cameras, or nothing about any."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Iterator

from pegwood.hearing.items import Sentence
from pegwood.hearing.reading import Reading
from pegwood.hearing.told import Told

#: A part's name among the words, one in the plural, and a mark.
PART, PARTS, MARK = "<part>", "<parts>", ","
#: Letters of a word that is kept as it is, and the endings that are kept of longer ones.
SMALL = 4
ENDINGS = ("ing", "ed", "ly", "er", "est", "s", "y")
#: Bounds of the lengths that count alike.
LENGTHS = (1, 2, 3, 4, 6, 8, 12, 17, 25)
#: The same of probabilities, in hundredths.
CHANCES = (0, 1, 2, 4, 8, 15, 30, 50, 75)


def step(count: int, bounds: tuple[int, ...] = LENGTHS) -> int:
    """The bound that a count reaches."""
    at = bisect_right(bounds, count)
    return bounds[at - 1] if at else 0


def kind_signs(told: Told, reading: Reading) -> Iterator[str]:
    """What speaks for a sentence's kind: its words, their order, what was found in it."""
    sentence = told.sentence
    words = said_words(sentence, reading)
    stems = reading.lexicon.stems
    yield from {f"w {stems.of(word) if word[0] not in '<,' else word}" for word in words}
    bounded = ["<s>", *words, "</s>"]
    yield from {f"ww {' '.join(pair)}" for pair in itertools.pairwise(bounded)}
    shapes = ["<s>", *(shape(word) for word in words), "</s>"]
    yield from {f"shape {' '.join(three)}" for three in zip(shapes, shapes[1:], shapes[2:], strict=False)}
    yield from (f"begins {' '.join(shapes[1:long])}" for long in (3, 4, 5))
    yield f"length {step(len(words))}"
    mentions = sum(item.mention is not None for item in sentence.items)
    cues = sum(item.tells("condition", "vague") for item in sentence.items)
    yield f"parts {min(mentions, 3)}"
    yield f"cues {min(cues, 3)}"
    yield from standing_signs(told)


def shape(word: str) -> str:
    """A word by what it does in a sentence: small words as they are, of others no more than how they end."""
    if word[0] in "<," or len(word) <= SMALL:
        return word
    return "~" + next((ending for ending in ENDINGS if word.endswith(ending)), "")


def standing_signs(told: Told) -> Iterator[str]:
    """What the rules made of the whole sentence."""
    for kind in ("remarks", "nothing", "reported"):
        if getattr(told.stands, kind):
            yield f"rules {kind}"
    if told.sentence.asked:
        yield "asked"
    elif told.stands.asked_from < told.sentence.end:
        yield "asks"
    yield from {
        f"has {kind}"
        for item in told.sentence.items
        for kind in item.kinds
        if kind not in ("part", "condition", "vague", "work", "grade")
    }


def said_words(sentence: Sentence, reading: Reading) -> list[str]:
    """Plain words of a sentence, each name of a part as one."""
    words: list[str] = []
    named = {item.first: item.end for item in sentence.items if item.mention is not None}
    at = sentence.first
    while at < sentence.end:
        if at in named:
            plural = reading.plain[named[at] - 1].endswith(reading.lexicon.plural)
            words.append(PARTS if plural else PART)
            at = named[at]
            continue
        words.append(reading.plain[at] if reading.kinds[at] == "word" else MARK)
        at += 1
    return words
