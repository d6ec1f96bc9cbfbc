"""Every table that comes with Pegwood reads, and no name in one stands for two things."""

from collections import Counter

import pytest

from pegwood.trade.agents import AGENTS, METHODS
from pegwood.trade.cells import CELLS, SIZES, SYSTEMS
from pegwood.trade.films import FILMS
from pegwood.trade.glues import GLUES
from pegwood.trade.lubricants import BEHAVIOURS, LUBRICANTS, PLACES
from pegwood.trade.materials import MATERIALS
from pegwood.trade.metals import CORROSION, ENVIRONMENTS, RUST_GRADES
from pegwood.trade.names import spellings
from pegwood.trade.reference import Reference
from pegwood.trade.safety import HAZARDS, SUBSTANCES
from pegwood.trade.series import SERIES
from pegwood.trade.shims import FOIL_SETS
from pegwood.trade.springs import SPRING_WIRES, WIRE_SIZES

NAMED = [
    MATERIALS,
    AGENTS,
    METHODS,
    CORROSION,
    ENVIRONMENTS,
    RUST_GRADES,
    GLUES,
    SUBSTANCES,
    HAZARDS,
    LUBRICANTS,
    PLACES,
    BEHAVIOURS,
    SPRING_WIRES,
    WIRE_SIZES,
    FOIL_SETS,
    SYSTEMS,
    SIZES,
    CELLS,
    FILMS,
    SERIES,
]


@pytest.mark.parametrize("table", NAMED, ids=lambda table: table.stem)
def test_no_name_stands_for_two_rows(table):
    names = Counter(name for row in Reference().rows(table).values() for name in spellings(row))
    assert [name for name, times in names.items() if times > 1] == []
