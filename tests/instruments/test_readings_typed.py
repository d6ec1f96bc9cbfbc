"""Tables of readings and lengths, as people type them."""

import io
import math

import pytest

from pegwood.instruments.readings import RefusedReadings, metres, open_figures
from pegwood.instruments.readings.table import number


def table(text, name="readings.csv"):
    return open_figures(io.BytesIO(text.encode()), name)


# A foot is 0.3048 m, an inch 0.0254 m (international yard and pound agreement of 1959; memory).
@pytest.mark.parametrize(
    ("typed", "is_m"),
    [
        ("1.5", 1.5), ("1,5 m", 1.5), ("43.9mm", 0.0439), ("5 ft", 1.524), ("5'", 1.524), ("5′ 6″", 1.6764),
        ("5 ft 6 in", 1.6764), ("12 in", 0.3048), ("inf", math.inf), ("∞", math.inf), ("-0.02 mm", -2e-5),
    ],
)  # fmt: skip
def test_lengths_are_read_as_they_are_said(typed, is_m):
    assert metres(typed) == pytest.approx(is_m, rel=1e-12)


def test_a_bare_number_is_in_the_unit_that_is_usual_there():
    assert metres("10", "ft") == pytest.approx(3.048)
    assert metres("10 m", "ft") == 10


@pytest.mark.parametrize("typed", ["", "near", "3 furlongs", "1.2.3", "nan", "--2", "1e999"])
def test_what_is_no_length_is_refused_with_an_example(typed):
    with pytest.raises(RefusedReadings, match="Write"):
        metres(typed)


@pytest.mark.parametrize(
    "text", ["a,b\n1.5,2\n", "a;b\n1,5;2\n", "a\tb\n1,5\t2\n", "\ufeffA, B\n# said\n\n1.5,2\n"]
)
def test_separator_and_decimal_sign_are_found(text):
    read = table(text)
    assert read.columns == ("a", "b")
    assert (read.column("a", number), read.column("b", number)) == ((1.5,), (2.0,))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no readings"),
        ("a,b\n", "no readings"),
        ("a,a\n1,2\n", "names every column once"),
        ("a,b\n1,2,3\n", "line 2: 3 cells under 2 columns"),
        ("a\0,b\n1,2\n", "no text"),
    ],
)
def test_what_is_no_table_is_refused_in_one_line(text, why):
    with pytest.raises(RefusedReadings, match=why) as refused:
        table(text)
    assert "\n" not in str(refused.value)


def test_a_cell_that_is_no_number_is_told_with_its_line():
    with pytest.raises(RefusedReadings, match="line 3: b: 'x' is no number"):
        table("a,b\n1,2\n1,x\n").column("b", number)


def test_a_missing_column_names_those_there_are():
    with pytest.raises(RefusedReadings, match=r"no column 'c'.*it has a, b"):
        table("a,b\n1,2\n").need("a", "c")


def test_a_picture_handed_in_as_a_table_is_refused():
    with pytest.raises(RefusedReadings, match="no text"):
        open_figures(io.BytesIO(b"\xff\xd8\xff\xe0\x00\x10JFIF"), "dial.jpg")


def test_in_a_table_of_one_column_a_comma_is_a_decimal_sign():
    assert table("force_n\n0,8\n0.9\n").column("force_n", number) == (0.8, 0.9)
