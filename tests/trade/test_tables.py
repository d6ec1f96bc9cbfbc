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
from pegwood.trade.typed_toml import TableError

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


def test_an_own_file_that_nothing_would_read_is_told_with_the_nearest_name(tmp_path):
    (tmp_path / "lubricant.toml").write_text("", "utf-8")
    with pytest.raises(ValueError, match=r"named like no table.* Nearest: lubricants\.toml"):
        check(Reference(tmp_path))


HEAD = 'source = "my bench"\nmark = "practice"\n[[row]]\n'


@pytest.mark.parametrize(
    ("stem", "row", "says"),
    [
        (
            "environments",
            'key = "attic"\nname = "attic"\nlimit_v = nan',
            "limit_v: expected a number",
        ),
        ("cells", 'key = "x"\nname = "x"\nsystem = "alkaline"\nsize = "r44"\ncells = 0', "cells is 0"),
        ("threads", 'key = "x"\nname = "x"\nfamily = "ba"\nd_in = -1\nper_inch = 80', "all above zero"),
        ("threads", 'key = "x"\nname = "x"\nfamily = "ba"\nd_mm = 1e300\np_mm = 1', "is no screw"),
        ("threads", 'key = "x"\nname = "x"\nfamily = "ba"\nd_mm = 1\np_mm = 2', "is no screw"),
        ("thread-origins", 'key = "moon"\nname = "moon"\noften = 1', "Expected one of: japan, continent"),
        ("lubricants", 'key = "x"\nname = "x"\nkind = "grease"\nnlgi = "9"', "NLGI is '9'"),
        (
            "safety-figures",
            'cas = "67-64-1"\nflash_k = [{ value = -20, source = "s", mark = "seen" }]',
            "flash_k 1: the value is -20",
        ),
        (
            "spring-wires",
            'key = "x"\nname = "x"\nmaterial = "steel"\n'
            'shear_gpa = [{ value = 0, source = "s", mark = "seen" }]\n'
            'young_gpa = [{ value = 200, source = "s", mark = "seen" }]',
            "a modulus lies above 0",
        ),
    ],
)
def test_a_figure_that_cannot_be_is_refused_where_it_stands(tmp_path, stem, row, says):
    (tmp_path / f"{stem}.toml").write_text(HEAD + row, "utf-8")
    with pytest.raises(TableError, match=says) as refused:
        check(Reference(tmp_path))
    assert str(tmp_path / f"{stem}.toml, line") in str(refused.value)


def test_a_slip_in_an_own_table_is_found_before_it_is_asked(tmp_path):
    (tmp_path / "matrix.toml").write_text(
        'source = "my bench"\nmark = "practice"\n\n[[row]]\nagents = ["naphtha"]\non = ["moonstone"]\n'
        'verdict = "safe"\nwhy = "tried"\n',
        "utf-8",
    )
    with pytest.raises(ValueError, match="moonstone"):
        check(Reference(tmp_path))
