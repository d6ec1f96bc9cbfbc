"""Any sign a person can type is drawn, or a box stands for it and the sheet says so."""

from __future__ import annotations

import json
import re
import unicodedata

import pytest
import typst
from hypothesis import given
from hypothesis import strategies as st

from pegwood.papers.letters import BOX, is_drawable, shown

# Each sign in a paragraph of its own, in the fonts of the sheet; Typst refuses an archival PDF with a sign
# that no font draws, and names each in its diagnostic.
PROBE = rb"""
#set page(width: 20cm, height: auto)
#set text(font: ("Libertinus Serif", "DejaVu Sans Mono", "New Computer Modern"))
#set document(date: datetime(year: 2026, month: 1, day: 1))
#for c in json(bytes(sys.inputs.signs)) [#block(text(c))]
"""


def undrawable(signs: list[str]) -> set[str]:
    """Which of the signs Typst itself cannot draw."""
    said = ""
    try:
        typst.compile(
            PROBE,
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"signs": json.dumps(signs)},
            pdf_standards=["a-2b"],
            timestamp=0,
        )
    except typst.TypstError as error:
        said = error.diagnostic
    named = re.findall(r'^error: .*the text `"(.*)"` could not', said, re.MULTILINE)
    assert bool(named) == bool(said), said
    return {_unescaped(name) for name in named}


def _unescaped(name: str) -> str:
    name = re.sub(r"\\u\{([0-9a-f]+)\}", lambda match: chr(int(match[1], 16)), name)
    return name.replace('\\"', '"').replace("\\\\", "\\")


def printable(start: int, stop: int, step: int = 1) -> list[str]:
    """Assigned signs with a shape of their own; the four Korean fillers are letters that show nothing."""
    signs = [chr(code) for code in range(start, stop, step) if code not in {0x115F, 0x1160, 0x3164, 0xFFA0}]
    return [sign for sign in signs if unicodedata.category(sign)[0] in "LNPS"]


@pytest.mark.parametrize(
    "signs",
    [printable(0x20, 0x600), printable(0x600, 0x3000, 7), printable(0x3000, 0x20000, 97)],
    ids=["European", "the rest of the first plane", "far away"],
)
def test_what_is_called_drawable_is_what_the_typesetter_draws(signs: list[str]) -> None:
    for start in range(0, len(signs), 400):
        batch = signs[start : start + 400]
        missing = undrawable(batch)
        assert {sign for sign in batch if not is_drawable(sign)} == missing


@pytest.mark.parametrize(
    ("text", "drawn", "missing"),
    [
        ("Łódź, Ærø, Ωμέγα, Жёлтый, עברית, عربي", "Łódź, Ærø, Ωμέγα, Жёлтый, עברית, عربي", set()),
        ("n\u0303", "ñ", set()),
        ("山田 Ilse", f"{BOX}{BOX} Ilse", {"山", "田"}),
        ("ok 👍🏽!", f"ok {BOX}!", {"👍"}),
        ("👩‍🔧 at work", f"{BOX}{BOX} at work", {"👩", "🔧"}),
        ("❤️", "❤", set()),
        ("one\r\ntwo\rthree\u2028four\tfive", "one\ntwo\nthree\nfour five", set()),
        ("a\x00b\x1bc\x7fd", "abcd", set()),
        ("pay \u202e00.541\u202c now", "pay 00.541 now", set()),  # would read 145.00 when turned round
        ("a\u2066b\u2069\u200ec", "abc", set()),
        ("", "", set()),
    ],
)
def test_text_is_shown_as_far_as_there_are_letters(text: str, drawn: str, missing: set[str]) -> None:
    assert shown(text) == (drawn, missing)


@given(st.text(max_size=60))
def test_whatever_comes_out_can_be_drawn(text: str) -> None:
    drawn, _ = shown(text)
    assert all(sign == "\n" or is_drawable(sign) for sign in drawn)
    assert shown(drawn) == (drawn, frozenset())


def test_the_box_itself_can_be_drawn() -> None:
    assert is_drawable(BOX)
