"""
The commands one slip away from another: by walking every path of their grammar.

Outside checks: paths are enumerated by this file's own walk and read back by the reader of typed commands,
which was written for a keyboard; how many there should be is counted from the tables by hand.
"""

from __future__ import annotations

import pytest

from pegwood.hearing import NamedPart
from pegwood.hearing.spoken import Command, commands_of, read_command, sayings
from pegwood.hearing.spoken.rivals import slips, steps_of

PARTS = [
    NamedPart(id="board", name="lens board", also=("front board",)),
    NamedPart(id="anchor", name="anchor", also=("pallet",)),
    NamedPart(id="bellows", name="bellows"),
]
COMMANDS = commands_of(PARTS, sayings())
SPOKEN = [
    "lens board bent", "pallet badly rusty on the left needs a bath", "bellows looks fine",
    "anchor needs oil",
    "tray two pocket twenty five", "shim lens board two tenths", "count turns three and a half",
    "undo that", "next",
]  # fmt: skip


def paths(words):
    start, end, steps = steps_of(words, slips(words, COMMANDS))
    after = {}
    for here, there, _, word in steps:
        after.setdefault(here, []).append((there, word))
    found, open_ = set(), [(start, ())]
    while open_:
        here, told = open_.pop()
        if here == end:
            found.add(told)
        open_ += [(there, (*told, word) if word else told) for there, word in after.get(here, ())]
    return found


@pytest.mark.parametrize("words", SPOKEN)
def test_every_path_is_another_command(words):
    meant = read_command(words, COMMANDS)
    for told in paths(words):
        other = read_command(" ".join(told), COMMANDS)
        assert isinstance(other, Command), told
        assert not other.same_as(meant), told


@pytest.mark.parametrize(
    ("words", "others"),
    [
        ("lens board bent", ["anchor bent", "pallet bent", "bellows bent", "lens board badly bent",
                             "lens board worn",
                             "lens board bent on the left", "lens board bent needs oil"]),
        ("pallet badly rusty on the left needs a bath",
         ["pallet rusty on the left needs a bath", "pallet badly rusty needs a bath",
          "pallet badly rusty on the left",
          "pallet badly rusty on the left needs oil", "lens board badly rusty on the left needs a bath"]),
        ("tray two pocket twenty five", ["tray two pocket five", "tray two pocket twenty",
                                         "tray ten pocket twenty five"]),
        ("shim lens board two tenths", ["shim lens board ten tenths", "shim anchor two tenths",
                                        "shim lens board two hundredths"]),
        ("count turns three and a half", ["count turns three", "count turns thirty and a half"]),
        ("anchor needs oil", ["anchor dry needs oil", "anchor needs a bath"]),
        ("undo that", ["next", "photograph"]),
    ],
)  # fmt: skip
def test_what_is_soon_mistaken_is_among_them(words, others):
    assert {tuple(one.split()) for one in others} <= paths(words)


def test_other_words_for_the_same_are_no_rivals():
    assert not {"front board bent", "lens board bent"} & {" ".join(one) for one in paths("lens board bent")}
    assert "shim lens board two tenth" not in {" ".join(one) for one in paths("shim lens board two tenths")}
    assert "anchor rust" not in {" ".join(one) for one in paths("anchor rusty")}


def test_there_are_as_many_as_the_tables_say():
    said = sayings()
    numbers = 21 + 9 + 9  # one to twenty, thirty; twenty one on, thirty one on
    assert len(paths("tray two pocket five")) == 11 + numbers - 1
    conditions = sum(len(ways) for ways in said.conditions.values()) - len(said.conditions["bent"])
    works = sum(len(ways) for ways in said.works.values())
    names = 3  # anchor, pallet, bellows
    assert len(paths("lens board bent")) == names + len(said.grades) + conditions + len(said.places) + works


@pytest.mark.parametrize("words", ["", "the kettle", "lens board", "needs", "tray two"])
def test_what_is_no_command_has_none(words):
    assert slips(words, COMMANDS) == ()
