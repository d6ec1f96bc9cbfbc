"""The budget as bars. Shares of a variance by arithmetic; names against the instrument's own source."""

import ast
from importlib.resources import files

import pytest

from pegwood.instruments.shutter._group import SHARED
from pegwood.web.budgets import PLAIN, budget


def component(name: str, u: float | None, **more) -> dict:
    return {"name": name, "u": u, "df": None, "kind": "B", "note": "", "source": None, "mark": None, **more}


def test_a_share_is_that_of_the_variance():
    # 3, 4, 12: squares 9, 16, 144 of 169 = 13 squared
    lines = budget(
        [component("clock", 3e-6), component("noise", 4e-6), component("sampling", 12e-6)], "en_GB"
    )
    assert [(line.name, line.share) for line in lines] == [("sampling", 85), ("noise", 9), ("clock", 5)]


def test_what_weighs_nothing_to_speak_of_is_said_so():
    lines = budget(
        [component("noise", 1e-3), component("clock", 1e-6), component("resolution", None)], "en_GB"
    )
    assert [line.share_words for line in lines] == ["100 %", "under 1 %", "under 1 %"]


def test_a_budget_of_nothing_has_no_shares():
    assert [line.share for line in budget([component("clock", 0.0)], "en_GB")] == [0]


def test_it_stands_in_plain_words_beside_the_instruments_own_name():
    (line,) = budget([component("light ripple", 1e-6)], "en_GB")
    assert (line.plain, line.name) == ("flicker of the lamp", "light ripple")


def test_a_name_nobody_has_words_for_stands_as_it_is():
    (line,) = budget([component("moonlight", 1e-6)], "en_GB")
    assert line.plain == "moonlight"


@pytest.mark.parametrize(("unit", "words"), [("s", "0.02 ms"), ("ev", "2e-05 EV")])
def test_a_component_has_the_unit_of_its_figure(unit, words):
    (line,) = budget([component("noise", 2e-5)], "en_GB", unit)
    assert line.u == words


#: A bench tested with a disc or a screen, at the command line: its budgets come on no page.
NOT_OF_A_READING = {"screen.py", "selftest.py"}


def names_in_the_instruments() -> set[str]:
    """Every name written out where a shutter's instrument makes a component of a reading."""
    names = set()
    rooms = (files(f"pegwood.instruments.{room}") for room in ("shutter", "sound", "video"))
    for source in (source for room in rooms for source in room.iterdir()):
        if source.name.endswith(".py") and source.name not in NOT_OF_A_READING:
            for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and node.args and _called(node).lower() == "component":
                    first = node.args[0]
                    if isinstance(first, ast.Constant):
                        names.add(first.value)
    return names


def _called(call: ast.Call) -> str:
    return getattr(call.func, "id", "") or getattr(call.func, "attr", "")


def test_every_component_the_instruments_name_has_plain_words():
    names = names_in_the_instruments()
    assert len(names) > 25
    assert {"which sound", "moment of the sound", "frame integration"} <= names
    assert names - PLAIN.keys() == set()
    assert SHARED - PLAIN.keys() == set()
