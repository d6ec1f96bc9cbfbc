"""Cells: the naming rules of IEC 60086, an encyclopaedia's figures, and ratios reckoned by hand."""

import re

import pytest

from pegwood.trade.cells import CELLS, SIZES, SYSTEMS, current_ev, known, reads_high_ev, tell_cell
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade._told import told

TABLES = Reference()
ROWS = list(TABLES.rows(CELLS).values())


@pytest.mark.parametrize("cell", ROWS, ids=lambda cell: cell.key)
def test_the_name_says_system_and_number_of_cells(cell):
    # IEC 60086-1: number of cells if more than one, letter of the system, R for round, then the size
    count, letter = re.match(r"(\d?)([A-Z]?)R", cell.name).groups()
    assert int(count or 1) == cell.cells
    assert TABLES.rows(SYSTEMS)[cell.system].letter == letter


@pytest.mark.parametrize("cell", ROWS, ids=lambda cell: cell.key)
def test_a_name_with_its_size_in_figures_has_that_size(cell):
    # IEC 60086-3: whole millimetres of the diameter, then tenths of the height: SR1154, CR2032; a nominal
    # height, so it lies between the least and the most (LR1120 is 1.85 to 2.1 mm high)
    size = TABLES.rows(SIZES)[cell.size]
    names = (re.fullmatch(r"(?:[ls]r|cr(?=\d{4}$))(\d{1,2})(\d\d)", name) for name in (cell.key, *cell.also))
    for across, tenths in (found.groups() for found in names if found and len(found[0]) >= 5):
        assert int(size.diameter_mm) == int(across)
        least = size.least_height_mm or size.height_mm
        assert least - 1e-9 <= int(tenths) / 10 <= size.height_mm + 1e-9


def test_sizes_lie_within_what_an_encyclopaedia_prints():
    # "R44 indicates 11.4 +/- 0.2 mm diameter and 5.2 +/- 0.2 mm height"
    r44 = TABLES.rows(SIZES)["r44"]
    assert r44.diameter_mm == pytest.approx(11.6)
    assert (r44.least_height_mm, r44.height_mm) == pytest.approx((5.0, 5.4))
    # a dealer's list: LR03 10.5 x 44.5, LR6 14.5 x 50.5, LR14 26.2 x 50, LR20 34.2 (34.5) x 61.5
    for key, across, high in (
        ("r03", 10.5, 44.5),
        ("r6", 14.5, 50.5),
        ("r14", 26.2, 50),
        ("r20", 34.5, 61.5),
    ):
        size = TABLES.rows(SIZES)[key]
        assert (size.diameter_mm, size.height_mm) == pytest.approx((across, high), abs=0.35)


@pytest.mark.parametrize(
    ("volts", "ratio", "ev"), [(1.55, 1.148, 0.199), (1.50, 1.111, 0.152), (1.40, 1.037, 0.052)]
)
def test_ratios_against_a_mercury_cell(volts, ratio, ev):
    # standards' facts, section 11, by hand
    assert volts / 1.35 == pytest.approx(ratio, abs=5e-4)
    assert current_ev(volts, 1.35) == pytest.approx(ev, abs=6e-4)


def test_a_meter_without_a_bridge_reads_silver_oxide_0_285_ev_high():
    # standards' facts, section 12, no. 30: 1.55 V for 1.35 V, gamma 0.7
    assert reads_high_ev(1.55, 1.35) == pytest.approx(0.285, abs=1e-3)


@pytest.mark.parametrize("cell", ROWS, ids=lambda cell: cell.key)
def test_every_stand_in_is_known_and_fits_the_chamber(cell):
    old = known(TABLES, cell.key)
    for one in cell.stand_ins:
        other = known(TABLES, one.cell)
        assert other.size.diameter_mm <= old.size.diameter_mm + 0.05
        assert one.number * other.size.height_mm <= old.size.height_mm + 0.05
        assert one.number * other.volts == pytest.approx(old.volts, rel=0.16)
        assert not other.system.mercury
        assert not (other.system.lithium and old.volts < 2)


@pytest.mark.parametrize("cell", ROWS, ids=lambda cell: cell.key)
def test_every_cell_is_told_with_its_cautions(cell):
    answer = tell_cell(TABLES, cell.key)
    told(answer)
    cautions = " ".join(one.says for one in answer.cautions)
    assert ("hazardous waste" in cautions) == ("mercury" in cell.system)
    assert ("never a vacuum cleaner" in cautions) == ("mercury" in cell.system)
    assert ("never in place of one 1.35" in cautions) == (cell.system == "lithium")


def test_what_stands_in_for_the_old_625():
    says = told(tell_cell(TABLES, "625"))
    assert "Nearest: PR44, 1.4 V" in says
    assert "its holes must get air" in says
    assert "with a bridge:  Balanced to a null: the volts do not matter" in says
    assert "never exact over the scale" in says


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("lr44", "lr44"),
        ("xx625", "mr9"),
        ("X 675", "mr44"),
        ("x625px", "mr9"),
        ("625A", "lr9"),
        ("AA", "lr6"),
    ],
)
def test_a_number_is_found_with_letters_around_it(typed, key):
    assert known(TABLES, typed).cell.key == key


@pytest.mark.parametrize("typed", ["LR625", "SR400", "LR45", "x999"])
def test_an_iec_name_that_is_not_there_is_not_taken_for_a_number(typed):
    with pytest.raises(UnknownWord, match=r"is no cell that the tables know\. Nearest: "):
        known(TABLES, typed)


def test_a_slip_in_an_own_table_of_cells_is_told(tmp_path):
    (tmp_path / "cells.toml").write_text(
        'source = "my drawer"\nmark = "practice"\n'
        '[[row]]\nkey = "mr9"\nname = "MR9"\nsystem = "mercury"\nsize = "r99"\n',
        "utf-8",
    )
    with pytest.raises(UnknownWord, match=r"'r99' is no size of cells that the tables know\. Nearest: r9"):
        tell_cell(Reference(tmp_path), "mr9")


def test_a_cell_of_the_workshops_own_table_says_so(tmp_path):
    (tmp_path / "cells.toml").write_text(
        'source = "my drawer"\nmark = "practice"\n'
        '[[row]]\nkey = "lr9"\nname = "LR9"\nsystem = "alkaline"\nsize = "r9"\n',
        "utf-8",
    )
    assert tell_cell(Reference(tmp_path), "lr9").headline.own
    assert not tell_cell(TABLES, "lr9").headline.own
