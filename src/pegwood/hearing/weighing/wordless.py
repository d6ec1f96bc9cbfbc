"""Stretches in which something may be told without a word that the vocabulary has for it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pegwood.hearing.items import Item
from pegwood.hearing.weighing.kinds import MARK, PART, step
from pegwood.hearing.weighing.signs import Scene, kin

#: Words of a stretch that are looked at.
LONGEST = 30
#: Hundredths of a probability that count alike.
CHANCES = (0, 1, 2, 4, 8, 15, 30, 50, 75)


@dataclass(frozen=True)
class Stretch:
    """
    From the name of a part to the next, or what is said before any is named.

    Attributes
    ----------
    parts : tuple of int
        Who is spoken of in it.
    first, end : int
        Tokens.
    mention : Item, optional
        Where they were named; None where the talk before is carried on.
    """

    parts: tuple[int, ...]
    first: int
    end: int
    mention: Item | None = None


def stretches(scene: Scene) -> list[Stretch]:
    """A sentence's stretches, in order."""
    sentence, topic = scene.told.sentence, scene.told.topic
    named = [item for item in scene.mentions if scene.told.meant[item.first][0]]
    begins = [item.first for item in named] + [sentence.end]
    found = []
    if topic and begins[0] > sentence.first:
        found.append(Stretch(topic, sentence.first, begins[0]))
    for item, end in zip(named, begins[1:], strict=True):
        first = sentence.first if not topic and item is named[0] else item.first
        found.append(Stretch(scene.told.meant[item.first][0], first, end, item))
    return found


def stretch_signs(scene: Scene, stretch: Stretch) -> Iterator[str]:
    """What the words of a stretch speak for; the same whatever condition is asked for."""
    reading = scene.reading
    words: list[str] = []
    mention = stretch.mention
    for at in range(stretch.first, min(stretch.end, stretch.first + LONGEST)):
        if mention is not None and mention.first <= at < mention.end:
            if at == mention.first:
                words.append(PART)
        elif reading.tokens[at].kind != "word":
            words.append(MARK)
        elif reading.plain[at] not in reading.lexicon.articles:
            words.append(reading.plain[at])
    yield from word_signs(words, reading.lexicon.stems.of)
    yield from {
        f"{kind} {key}"
        for item in scene.told.sentence.items
        if item.mention is None and stretch.first <= item.first < stretch.end
        for kind, key in item.kinds.items()
    }
    yield "carried" if mention is None else "named"
    yield f"length {step(len(words))}"
    room, head = kin(reading, stretch.parts[-1])
    yield f"room {room}"
    yield f"head {head}"


def word_signs(words: Sequence[str], stem: Callable[[str], str]) -> Iterator[str]:
    """Words, pairs and threes of them."""
    said = [word if word in (PART, MARK) else stem(word) for word in words]
    yield from {f"w {word}" for word in said}
    bounded = ["<s>", *said, "</s>"]
    yield from {f"ww {' '.join(pair)}" for pair in itertools.pairwise(bounded)}
    yield from {f"www {' '.join(three)}" for three in zip(bounded, bounded[1:], bounded[2:], strict=False)}


def stretch_of(laid: Sequence[Stretch], at: int) -> int | None:
    """Which stretch a token stands in."""
    return next((number for number, one in enumerate(laid) if one.first <= at < one.end), None)


def words_said(chance: Mapping[str, float], condition: str) -> list[str]:
    """What the words of its stretch say of a condition [1 each], as signs for a claim of it."""
    mine = chance.get(condition, 0.0)
    likeliest = max(chance.values(), default=0.0)
    place = "likeliest" if mine == likeliest else "near" if mine * 2 > likeliest else "behind"
    return [f"words {step(int(mine * 100), CHANCES)}", f"words {place}"]
