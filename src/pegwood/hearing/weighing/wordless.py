"""Stretches in which something may be told without a word that the vocabulary has for it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from pegwood.hearing.weighing.kinds import CHANCES, MARK, PART, step
from pegwood.hearing.weighing.scenes import Scene, Stretch, kin
from pegwood.hearing.weighing.weights import Choice

#: Words of a stretch that are looked at.
LONGEST = 30
#: What stands among the conditions for a stretch that tells none.
NOTHING_TOLD = "none"
#: Conditions that a stretch may tell, and how likely one must be to be thought of [1].
MOST_TOLD, LEAST_LIKELY = 3, 0.05


def stretch_signs(scene: Scene, stretch: Stretch) -> Iterator[str]:
    """What the words of a stretch speak for; the same whatever condition is asked for."""
    reading = scene.reading
    words: list[str] = []
    mention = stretch.mention
    for at in range(stretch.first, min(stretch.end, stretch.first + LONGEST)):
        if mention is not None and mention.first <= at < mention.end:
            if at == mention.first:
                words.append(PART)
        elif reading.kinds[at] != "word":
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
    if stretch.parts:
        room, head = kin(reading, stretch.parts[-1])
        yield f"room {room}"
        yield f"head {head}"


def word_signs(words: Sequence[str], stem: Callable[[str], str]) -> Iterator[str]:
    """Words and pairs of them."""
    said = [word if word in (PART, MARK) else stem(word) for word in words]
    yield from {f"w {word}" for word in said}
    bounded = ["<s>", *said, "</s>"]
    yield from {f"ww {' '.join(pair)}" for pair in itertools.pairwise(bounded)}


def told_chances(words: Choice, many: Sequence[Iterable[str]]) -> list[dict[str, float]]:
    """How likely each condition is told in stretches, of their signs [1]; where hardly, it is left out."""
    found = words.likely(many)
    for chance in found:
        chance.pop(NOTHING_TOLD, None)
    return found


def likeliest(chance: Mapping[str, float]) -> list[str]:
    """Conditions worth thinking of, the likeliest first."""
    ordered = sorted(chance, key=lambda one: (-chance[one], one))
    return [one for one in ordered[:MOST_TOLD] if chance[one] >= LEAST_LIKELY]


def words_said(chance: Mapping[str, float], condition: str) -> list[str]:
    """What the words of its stretch say of a condition [1 each], as signs for a claim of it."""
    mine = chance.get(condition, 0.0)
    likeliest = max(chance.values(), default=0.0)
    place = "likeliest" if mine == likeliest else "near" if mine * 2 > likeliest else "behind"
    return [f"words {step(int(mine * 100), CHANCES)}", f"words {place}"]
