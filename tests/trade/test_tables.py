"""Every table that comes with Pegwood reads, and no name in one stands for two things."""

from collections import Counter
from pathlib import Path

import pytest

import pegwood.trade
from pegwood.trade.agents import AGENTS, METHODS
from pegwood.trade.all_tables import EVERY, check
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

ROOT = Path(pegwood.trade.__file__).parent
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


def test_every_file_of_data_is_read_through_when_all_are_checked():
    there = {path.stem for path in (ROOT / "tables").glob("*.toml")}
    assert {table.stem for table in EVERY} == there
    check(Reference())


def test_a_slip_in_an_own_table_is_found_before_it_is_asked(tmp_path):
    (tmp_path / "matrix.toml").write_text(
        'source = "my bench"\nmark = "practice"\n\n[[row]]\nagents = ["naphtha"]\non = ["moonstone"]\n'
        'verdict = "safe"\nwhy = "tried"\n',
        "utf-8",
    )
    with pytest.raises(ValueError, match="moonstone"):
        check(Reference(tmp_path))
