"""Every name that the tables know, and what each may stand for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from pegwood.trade.asking._words import Thing, Vocabulary, split
from pegwood.trade.reference import Reference

#: Files of named things, by what a thing in them is. Only the names are read: whoever asks for one thing need
#: not wait until all rows of all tables are built.
FILES: dict[str, tuple[str, ...]] = {
    "material": ("materials",),
    "agent": ("agents",),
    "method": ("methods",),
    "environment": ("environments",),
    "corrosion": ("corrosion",),
    "substance": ("substances",),
    "hazard": ("hazards",),
    "lubricant": ("lubricants",),
    "place": ("lubricated",),
    "glue": ("glues",),
    "cell": ("cells",),
    "film": ("films",),
    "thread": (
        "threads-iso",
        "threads-old-metric",
        "threads-iso-1501",
        "threads-unified",
        "threads-ba",
        "threads-loewenherz",
        "threads-thury",
        "threads",
    ),
}


def vocabulary(reference: Reference) -> Vocabulary:
    """From each spelling, as names are compared, to all that it may stand for; made once for a reference."""
    return reference.once("vocabulary", lambda: _vocabulary(reference))


def _vocabulary(reference: Reference) -> Vocabulary:
    found: defaultdict[str, tuple[Thing, ...]] = defaultdict(tuple)
    for spelling, thing in _all(reference):
        if thing not in found[spelling]:
            found[spelling] += (thing,)
    return dict(found)


def _all(reference: Reference) -> Iterator[tuple[str, Thing]]:
    for kind, stems in FILES.items():
        for stem in stems:
            for row in reference.raw(stem):
                yield from _names(kind, row.get("key", ""), row)
    for row in reference.raw("unclear"):
        words = map(_spelt, row.get("words", ()))
        yield from ((word, Thing("unclear", row.get("of", ""), word)) for word in words)


def _names(kind: str, key: str, row: dict[str, Any]) -> Iterator[tuple[str, Thing]]:
    for spelling in map(_spelt, (key, row.get("name", ""), *row.get("also", ()))):
        # a bare number is a figure first: "120" alone is a film, in "spring 0.3 3 120" it is none
        if spelling and not spelling.replace(".", "").isdecimal():
            yield spelling, Thing(kind, key, spelling)


def _spelt(name: str) -> str:
    if name.isascii() and name.replace(" ", "").isalnum():  # nearly all: saves a quarter of the time to start
        return " ".join(name.lower().split())
    return " ".join(split(name))
