"""Hours of talk: how soon they are heard, against plain ways to do part of it, and whether that is linear."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import process_time
from typing import Any

WORDS = 100_000
BARE = 2_000
#: Invented talk, over and over; the words of a real hour repeat themselves as much.
TALK = (
    "right the slow train is gummed up solid that wants a bath. the pallet looks fine though, no wear. "
    "left strut is a bit bent, same on the other one. might be the main spring that's weak, can't tell yet. "
    "nine out of ten of these have a perished hinge seal. no sign of fungus on the rear element. tea's cold. "
    "the cocking ring, sorry, the speed ring i mean, is gritty at the edge. he says the meter was dead. "
    "reads a tenth low. somebody's been in here before, the cover ring is scratched from pliers. "
)


def measure() -> list[dict[str, Any]]:
    """The extractor against lower case and splitting, and against holding each word against each name."""
    from pegwood.hearing import NamedPart, hear, read_narration, vocabulary

    parts = _parts(NamedPart)
    names = [name for part in parts for name in (part.name, *part.also)]
    whole, quarter = _text(WORDS), _text(WORDS // 4)
    hear(read_narration(TALK), parts, vocabulary())  # once, to read the vocabulary

    def heard(text: str) -> float:
        lines = read_narration(text)
        return _seconds(lambda: hear(lines, parts, vocabulary()))

    took, part = heard(whole), heard(quarter)
    plain = _seconds(lambda: [line.lower().split() for line in whole.split("\n")])
    naive = _seconds(lambda: _every_name(whole.split()[:BARE], names)) * WORDS / BARE
    return [
        {
            "name": "100,000 words heard",
            "value": took,
            "baseline": naive,
            "against": f"rapidfuzz's best of {len(names)} names for every word",
            "ratio": took / naive,
            "budget": 5.0,
            "budget_is": "value",
        },
        {
            "name": "100,000 words heard",
            "value": took,
            "baseline": plain,
            "against": "lower case and splitting",
            "ratio": took / plain,
            "budget": None,
        },
        {
            "name": "100,000 words heard, a word",
            "value": took / WORDS,
            "baseline": part / (WORDS // 4),
            "against": "the same of 25,000 words",
            "ratio": (took / WORDS) / (part / (WORDS // 4)),
            "budget": 1.5,
        },
    ]


def _parts(named: Callable[..., Any]) -> Sequence[Any]:
    from pegwood.anatomy.construction import constructions

    family = constructions()["folding-35-leaf-rangefinder"]
    return [named(id=key, name=one.name, also=tuple(one.also)) for key, one in family.parts.items()]


def _text(words: int) -> str:
    times = words // len(TALK.split()) + 1
    return "\n".join([TALK.strip()] * times)


def _every_name(words: Sequence[str], names: Sequence[str]) -> None:
    from rapidfuzz import process

    for word in words:
        process.extractOne(word, names)


def _seconds(work: Callable[[], object]) -> float:
    began = process_time()
    work()
    return process_time() - began
