"""A narration in rows: all of its words stand there once, what was heard beside its sentence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.book.models import SaidProposal
from pegwood.book.told import Told
from pegwood.web.told.rows import LONGEST_STRETCH, Card, rows_of


def card(n: int, begins: int, ends: int) -> Card:
    proposal = SaidProposal(order=n, begins=begins, ends=ends, kind="finding", data={})
    return Card(proposal=proposal, told=Told(kind="finding"))


def at(text: str, words: str, n: int) -> Card:
    begins = text.index(words)
    return card(n, begins, begins + len(words))


def shown(row) -> str:
    return "".join(piece.text for piece in row.pieces).strip()


def test_what_is_heard_in_one_sentence_stands_beside_the_whole_of_it():
    text = "lamp on\nthe blades are oily, they need a bath. the screen is fine\ntea"
    cards = [at(text, "blades are oily", 1), at(text, "need a bath", 2), at(text, "screen is fine", 3)]
    rows = rows_of(text, cards)
    assert [shown(row) for row in rows] == [
        "the blades are oily, they need a bath.",
        "the screen is fine",
        "",
    ]
    assert [[one.number for one in row.cards] for row in rows] == [[1, 2], [3], []]
    assert [row.before for row in rows] == ["lamp on", "", "tea"]
    assert [(p.text, p.number) for p in rows[0].pieces if p.number] == [
        ("blades are oily", 1),
        ("need a bath", 2),
    ]


def test_a_text_without_a_stop_is_cut_at_what_was_heard():
    text = "so " * 200 + "the blades are oily " + "and " * 200 + "the screen is fine " + "so " * 200
    rows = rows_of(text, [at(text, "blades are oily", 1), at(text, "screen is fine", 2)])
    assert [shown(row) for row in rows[:2]] == ["blades are oily", "screen is fine"]
    assert len(text) > LONGEST_STRETCH


@given(
    st.text(alphabet="ab .\n!", max_size=120),
    st.lists(st.tuples(st.integers(0, 130), st.integers(0, 60)), max_size=6),
)
def test_no_letter_is_lost_and_none_stands_twice_wherever_things_were_heard(text, places):
    """The letters of all rows, one after the other, are those of the text."""
    places = sorted((min(a, len(text)), min(a + n, len(text))) for a, n in places)
    cards = [card(n, a, b) for n, (a, b) in enumerate(places, 1)]
    rows = rows_of(text, cards)
    told = "".join(row.before + "".join(piece.text for piece in row.pieces) for row in rows)
    letters = [letter for letter in told if letter in "ab"]
    assert letters == [letter for letter in text if letter in "ab"]
    assert sum(len(row.cards) for row in rows) == len(cards)


@pytest.mark.parametrize("text", ["", "x"])
def test_nothing_heard_is_one_quiet_row_or_none(text):
    assert len(rows_of(text, [])) == len(text)
