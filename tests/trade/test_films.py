"""Film formats: perforations, standards' sizes and what a roll has room for."""

import pytest

from pegwood.trade.films import FILMS, tell_film
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from trade._told import told

TABLES = Reference()
ROWS = TABLES.rows(FILMS)


def test_a_frame_of_135_is_eight_perforations():
    # published pitch 0.1870 in: 8 of them 37.998 mm, so 1.998 mm between 36 mm frames (facts, section 12, 21)
    film = ROWS["135"]
    frame = film.frames[0]
    assert pytest.approx(frame.spacing_mm, abs=0.003) == 8 * 0.1870 * 25.4
    assert film.pitch_mm == pytest.approx(0.1870 * 25.4, abs=1e-4)
    assert frame.spacing_mm - frame.along_mm == pytest.approx(1.998, abs=0.003)
    half = next(one for one in film.frames if one.name.startswith("18"))
    assert pytest.approx(half.spacing_mm, abs=0.003) == 4 * 0.1870 * 25.4


@pytest.mark.parametrize(
    ("film", "frame", "diagonal"),
    [("135", "24 x 36", 43.27), ("126", "28 x 28", 39.6), ("120", "6 x 6", 79.2)],
)
def test_diagonals_are_those_that_are_printed(film, frame, diagonal):
    found = next(one for one in ROWS[film].frames if one.name == frame)
    assert found.diagonal_mm == pytest.approx(diagonal, abs=0.05)


@pytest.mark.parametrize(
    ("film", "length_mm"),
    # 120: 76 cm at least (ISO 732 as told), 84 cm at most; 135: 36 frames on some 1.6 m; 220: twice as long
    [("120", 840), ("620", 840), ("220", 1700), ("135", 1650), ("127", 700)],
)
def test_the_frames_have_room_on_the_film(film, length_mm):
    for frame in ROWS[film].frames:
        if frame.count:
            assert frame.count * (frame.spacing_mm or frame.along_mm) < length_mm


@pytest.mark.parametrize(
    ("film", "inches"),
    [("116", (2.5, 4.25)), ("616", (2.5, 4.25)), ("127", (1.625, 2.5)), ("620", (2.25, 3.25))],
)
def test_frames_are_the_inches_they_were_sold_by(film, inches):
    # a history site's table of standard film sizes, inch; the gate is a little smaller than the name
    frames = ROWS[film].frames
    usual = next((one for one in frames if one.name == "6 x 9"), frames[0])
    assert usual.across_mm == pytest.approx(inches[0] * 25.4, abs=2)
    assert usual.along_mm == pytest.approx(inches[1] * 25.4, abs=2)


@pytest.mark.parametrize("key", ROWS)
def test_every_format_is_told_and_the_gate_is_not_known(key):
    assert "tolerance: not known" in told(tell_film(TABLES, key))


def test_paper_and_standard_are_named():
    assert "no red window" in told(tell_film(TABLES, "220"))
    assert "ISO 732" in told(tell_film(TABLES, "120"))
    assert "ISO 1007" in told(tell_film(TABLES, "35 mm"))


def test_an_unknown_format_names_the_nearest():
    with pytest.raises(UnknownWord, match=r"is no film format that the tables know\. Nearest: "):
        tell_film(TABLES, "122")
