"""The table of families: what stands in it, and what a slip in one is answered with."""

import pytest

from pegwood.anatomy import families, family
from pegwood.anatomy.families import read_families
from pegwood.trade.typed_toml import TableError

GOOD = """\
source = "this test"
mark = "practice"

[[family]]
slug = "box"
name = "Box camera"
shutter = "leaf"
parts = ["shutter plate", "lens"]
"""


def test_the_eight_generic_kinds_of_construction_are_there_and_one_for_the_rest():
    # named as the trade names them; the list is the project's own plan, not a published one
    words = {
        "folding 35",
        "folding roll",
        "twin-lens",
        "cloth",
        "metal",
        "rangefinder",
        "compact",
        "box",
        "another",
    }
    names = " / ".join(one.name.lower() for one in families().values())
    assert len(families()) == 9
    assert all(word in names for word in words)


def test_every_family_says_how_far_it_can_be_trusted():
    assert all(one.source and one.mark in {"seen", "memory", "practice"} for one in families().values())


def test_a_family_that_is_gone_reads_as_another_kind():
    assert family("zeppelin").slug == "other"


def test_a_familys_own_source_comes_before_the_tables():
    text = GOOD + 'source = "a service sheet"\nmark = "seen"\n'
    box = read_families(text)["box"]
    assert (box.source, box.mark) == ("a service sheet", "seen")
    assert (read_families(GOOD)["box"].source, read_families(GOOD)["box"].mark) == ("this test", "practice")


@pytest.mark.parametrize(
    ("slip", "line", "says"),
    [
        (('parts = ["shutter plate", "lens"]', 'parts = "mirror"'), 8, "expected a list"),
        (('shutter = "leaf"', 'shutter = "rotary"'), 7, "Expected one of: 'leaf', 'focal-plane'"),
        (('mark = "practice"', 'mark = "sure"'), 2, "'seen'"),
        (('name = "Box camera"', "name = 7"), 6, "expected text"),
        (('name = "Box camera"', 'nam = "Box camera"'), 6, "Did you mean 'name'?"),
        (('shutter = "leaf"\n', ""), 4, "'shutter' is missing"),
        (('parts = ["shutter plate", "lens"]', "parts = []"), 4, "at least one part"),
        (('parts = ["shutter plate", "lens"]', 'parts = ["lens", " "]'), 4, "none of them empty"),
        (("[[family]]", "[family]"), 4, "expected a list"),
    ],
)
def test_a_slip_is_shown_with_its_line(slip, line, says):
    with pytest.raises(TableError) as error:
        read_families(GOOD.replace(*slip), "mine.toml")
    assert f"mine.toml, line {line}" in str(error.value)
    assert says in str(error.value)
    assert "\n" not in str(error.value)


def test_a_family_stands_there_once():
    twice = GOOD + GOOD.partition("\n\n")[2]
    with pytest.raises(TableError, match=r"line 10.*twice"):
        read_families(twice, "mine.toml")


def test_a_table_without_families_says_what_is_missing():
    with pytest.raises(TableError, match=r"^mine\.toml, line 1: 'family' is missing\.$"):
        read_families(GOOD.partition("[[family]]")[0], "mine.toml")


def test_what_is_not_toml_is_one_line():
    with pytest.raises(TableError, match=r"mine\.toml"):
        read_families("[[family", "mine.toml")
