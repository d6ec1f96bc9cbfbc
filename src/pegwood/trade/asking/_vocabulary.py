"""Every name that the tables know, and what each may stand for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any
from weakref import WeakKeyDictionary

from pegwood.trade.agents import AGENTS, METHODS, UNCLEAR
from pegwood.trade.asking._words import Thing, Vocabulary, split
from pegwood.trade.cells import CELLS
from pegwood.trade.films import FILMS
from pegwood.trade.glues import GLUES
from pegwood.trade.lubricants import LUBRICANTS, PLACES
from pegwood.trade.materials import MATERIALS
from pegwood.trade.metals import CORROSION, ENVIRONMENTS
from pegwood.trade.names import plain, spellings
from pegwood.trade.reference import Named, Reference, Table
from pegwood.trade.safety import HAZARDS, SUBSTANCES
from pegwood.trade.threads import threads

#: Tables of named things, by what a thing in them is.
TABLES: dict[str, Table[Any]] = {
    "material": MATERIALS,
    "agent": AGENTS,
    "method": METHODS,
    "environment": ENVIRONMENTS,
    "corrosion": CORROSION,
    "substance": SUBSTANCES,
    "hazard": HAZARDS,
    "lubricant": LUBRICANTS,
    "place": PLACES,
    "glue": GLUES,
    "cell": CELLS,
    "film": FILMS,
}

_made: WeakKeyDictionary[Reference, Vocabulary] = WeakKeyDictionary()


def vocabulary(reference: Reference) -> Vocabulary:
    """From each spelling, as names are compared, to all that it may stand for; made once for a reference."""
    if reference not in _made:
        found: defaultdict[str, tuple[Thing, ...]] = defaultdict(tuple)
        for spelling, thing in _all(reference):
            if thing not in found[spelling]:
                found[spelling] += (thing,)
        _made[reference] = dict(found)
    return _made[reference]


def _all(reference: Reference) -> Iterator[tuple[str, Thing]]:
    for kind, table in TABLES.items():
        yield from _of(kind, dict.fromkeys(reference.rows(table).values()))
    yield from _of("thread", [thread.row for thread in threads(reference).values()])
    for row in dict.fromkeys(reference.rows(UNCLEAR).values()):
        yield from ((plain(word), Thing("unclear", row.of, word)) for word in row.words)


def _of(kind: str, rows: Iterable[Named]) -> Iterator[tuple[str, Thing]]:
    for row in rows:
        for spelling in spellings(row):
            # a bare number is a figure first: "120" alone is a film, in "spring 0.3 3 120" it is none
            if not spelling.replace(".", "").isdecimal():
                yield " ".join(split(spelling)), Thing(kind, row.key, spelling)
