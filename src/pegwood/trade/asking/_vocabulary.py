"""Every name that the tables know, and what each may stand for."""

from __future__ import annotations

from collections import defaultdict
from typing import Any
from weakref import WeakKeyDictionary

from pegwood.trade.asking._words import Thing, Vocabulary
from pegwood.trade.materials import MATERIALS
from pegwood.trade.names import spellings
from pegwood.trade.reference import Reference, Table

#: Tables of named things by what a thing in them is.
TABLES: dict[str, Table[Any]] = {"material": MATERIALS}

_made: WeakKeyDictionary[Reference, Vocabulary] = WeakKeyDictionary()


def vocabulary(reference: Reference) -> Vocabulary:
    """From each spelling, as names are compared, to all that it may stand for; made once for a reference."""
    if reference not in _made:
        found: defaultdict[str, tuple[Thing, ...]] = defaultdict(tuple)
        for kind, table in TABLES.items():
            for row in dict.fromkeys(reference.rows(table).values()):
                for spelling in spellings(row):
                    found[spelling] += (Thing(kind, row.key, spelling),)
        _made[reference] = dict(found)
    return _made[reference]
