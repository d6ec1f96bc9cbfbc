"""Tables of rows: read once, checked with file and line, and a workshop's own rows before those that came."""

import gc
import re
import weakref
from dataclasses import dataclass

import pytest

from pegwood.trade.answers import Statement
from pegwood.trade.asking import ask
from pegwood.trade.grounds import Ground, Grounded, joined, sourced, weakest
from pegwood.trade.metals import ANODIC_INDEX
from pegwood.trade.names import UnknownWord, find
from pegwood.trade.reference import Named, Reference, Table, read_rows, reference_in
from pegwood.trade.threads import threads
from pegwood.trade.threads.rows import odds
from pegwood.trade.typed_toml import TableError


@dataclass(frozen=True, kw_only=True)
class Head(Grounded):
    mm: float


@dataclass(frozen=True, kw_only=True)
class Peg(Named):
    length_mm: float
    head: Head | None = None
    rings: tuple[Head, ...] = ()


PEGS = Table("pegs", Peg)
TWO = """\
source = "a handbook, p. 4"
mark = "seen"

[[row]]
key = "long-peg"
name = "long peg"
also = ["stick"]
length_mm = 90

[[row]]
key = "stub"
name = "stub"
length_mm = 20.5
source = "the bench"
mark = "practice"
"""


def test_what_stands_above_the_rows_holds_for_rows_that_say_nothing():
    rows = read_rows(PEGS, TWO, "pegs.toml")
    assert rows["long-peg"].grounds == (Ground("a handbook, p. 4", "seen"),)
    assert rows["stub"].grounds == (Ground("the bench", "practice"),)


@pytest.mark.parametrize(
    ("wrong", "by", "says"),
    [
        ('mark = "practice"', 'mark = "sure"', r"line 15: row 2, mark: 'sure'\. Expected one of"),
        ("length_mm = 20.5", "", r"line 10: row 2: 'length_mm' is missing"),
        ("length_mm = 20.5", 'length_mm = "20"', r"line 13: row 2, length_mm: expected a number"),
        ('key = "stub"', 'key = "long-peg"', r"line 10: row 2: 'long-peg' stands there twice"),
        (
            'source = "the bench"',
            'source = " "',
            r"line 10: row 2: a statement .* needs its source",
        ),
        ('key = "stub"', 'key = "The Stub"', r"row 2: the key is 'The Stub'"),
        ("length_mm = 20.5", "length_mm = 20.5\nown = true", r"row 2, own: there is no such field"),
        (
            "length_mm = 20.5",
            'length_mm = 20.5\nhead = { mm = 3, own = true, source = "x", mark = "seen" }',
            r"row 2, head, own: there is no such field",
        ),
        ("[[row]]", "[[rows]]", r"rows: expected only rows, each under \[\[row\]\]"),
    ],
)
def test_a_slip_in_a_table_is_told_with_its_line(wrong, by, says):
    assert wrong in TWO
    with pytest.raises(TableError, match=says):
        read_rows(PEGS, TWO.replace(wrong, by), "pegs.toml")


def test_a_workshops_own_rows_replace_and_add_and_say_so(tmp_path, monkeypatch):
    monkeypatch.setattr("pegwood.trade.reference._shipped", lambda table: read_rows(table, TWO, "pegs.toml"))
    (tmp_path / "pegs.toml").write_text(
        'source = "my calliper"\nmark = "practice"\n'
        '[[row]]\nkey = "stub"\nname = "stub"\nlength_mm = 19\n'
        '[[row]]\nkey = "fat-peg"\nname = "fat peg"\nlength_mm = 60\n',
        "utf-8",
    )
    rows = Reference(tmp_path).rows(PEGS)
    assert {key: (row.length_mm, row.own) for key, row in rows.items()} == {
        "long-peg": (90.0, False),
        "stub": (19.0, True),
        "fat-peg": (60.0, True),
    }
    assert rows["stub"].grounds == (Ground("my calliper", "practice", own=True),)


def test_what_has_a_source_of_its_own_inside_an_own_row_is_the_workshops_too(tmp_path, monkeypatch):
    monkeypatch.setattr("pegwood.trade.reference._shipped", lambda table: read_rows(table, TWO, "pegs.toml"))
    (tmp_path / "pegs.toml").write_text(
        'source = "my calliper"\nmark = "practice"\n'
        '[[row]]\nkey = "stub"\nname = "stub"\nlength_mm = 19\n'
        'head = { mm = 3, source = "my micrometer", mark = "seen" }\n'
        'rings = [{ mm = 4, source = "my ruler", mark = "practice" }]\n',
        "utf-8",
    )
    stub = Reference(tmp_path).rows(PEGS)["stub"]
    assert stub.head.grounds == (Ground("my micrometer", "seen", own=True),)
    assert stub.rings[0].grounds == (Ground("my ruler", "practice", own=True),)


@pytest.mark.parametrize(
    ("stem", "text", "says"),
    [
        ("materials", b"\xff\xfe", r"is no text in UTF-8: .*\. Save it as UTF-8"),
        ("materials", b"row = 3", r"line 1: row: expected only rows"),
        ("materials", b"row = [1, 2]", r"line 1: row: expected only rows"),
        ("materials", b"[[row]]\nkey = 3", r"line 2: row 1, key: expected text, found 3"),
        ("agents", b"[[row]]\nalso = [4]", r"line 2: row 1, also: expected a list of texts, found \[4\]"),
        ("unclear", b'[[row]]\nof = "agent"\nwords = 3', r"line 3: row 1, words: expected a list of texts"),
        ("hazards", b"[[row]]\nmaterials = [[1]]", r"line 2: row 1, materials: expected a list of texts"),
        ("hazards", None, r"hazards\.toml cannot be read"),
    ],
)
def test_an_own_table_that_is_none_is_told_in_one_line_whatever_is_asked(tmp_path, stem, text, says):
    path = tmp_path / f"{stem}.toml"
    if text is None:
        path.symlink_to(path)
    else:
        path.write_bytes(text)
    with pytest.raises(TableError, match=says) as refused:
        ask(Reference(tmp_path), "brass")
    assert "\n" not in str(refused.value)


def test_a_table_may_begin_with_the_mark_that_some_editors_write(tmp_path):
    (tmp_path / "materials.toml").write_bytes(b"\xef\xbb\xbf" + b'source = "mine"\nmark = "practice"\n')
    assert ask(Reference(tmp_path), "brass").subject == "material"


def test_names_are_found_in_any_spelling_and_an_unknown_one_names_the_three_nearest():
    rows = read_rows(PEGS, TWO, "pegs.toml")
    assert find(rows, " Long-PEG ", "peg").key == "long-peg"
    assert find(rows, "sticks", "peg").key == "long-peg"
    with pytest.raises(UnknownWord, match=re.escape("'stubb' is no peg that the tables know. Nearest: stub")):
        find(rows, "stubb", "peg")


def test_nothing_is_told_without_its_source():
    with pytest.raises(ValueError, match="its source"):
        Statement(says="It is 5.", grounds=())
    with pytest.raises(ValueError, match="its source"):
        sourced((), length_m=0.1)


def test_a_conclusion_is_no_firmer_than_what_it_rests_on():
    seen, said, recalled = Ground("a", "seen"), Ground("b", "practice"), Ground("c", "memory")
    assert weakest((seen, said)) == "practice"
    assert weakest((recalled, seen, said)) == "memory"
    assert joined((seen, said), (seen,)) == (seen, said)
    assert sourced((seen, said), length_m=1.0) == {"length_m": 1.0, "source": "a; b", "mark": "practice"}


def test_what_follows_from_the_tables_is_made_once_and_goes_with_them():
    reference, made = Reference(), []
    assert reference.once("peg", lambda: made.append(1) or "made") == "made"
    assert reference.once("peg", lambda: made.append(2) or "again") == "made"
    assert made == [1]
    gone = weakref.ref(reference)
    for follows in (threads, odds, lambda tables: ask(tables, "brass")):
        follows(reference)
    del reference
    gc.collect()
    assert gone() is None


def test_a_changed_own_table_is_read_again_and_an_unchanged_one_is_not(tmp_path):
    path = tmp_path / "anodic-index.toml"

    def volts():
        return reference_in(tmp_path).rows(ANODIC_INDEX)["brass"].index_v

    row = 'source = "my own list"\nmark = "practice"\n[[row]]\nmaterial = "brass"\nindex_v = {}\n'
    path.write_text(row.format("0.30"), "utf-8")
    assert volts() == 0.30
    assert reference_in(tmp_path) is reference_in(tmp_path)
    path.write_text(row.format("0.351"), "utf-8")
    assert volts() == 0.351
    path.unlink()
    assert volts() == Reference().rows(ANODIC_INDEX)["brass"].index_v
