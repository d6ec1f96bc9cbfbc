"""Diary entries as somebody reads them."""

from pegwood.web.diary_words import Change, changes, is_move


def said(old, new):
    return changes(old, new, "en_GB", "EUR")


def test_old_and_new_stand_side_by_side():
    assert said({"grade": 3}, {"grade": 4}) == [Change("grade", "3", "4")]


def test_money_is_written_as_money_in_its_own_currency():
    assert said(None, {"price_minor": 14500, "currency": "EUR"}) == [Change("price", "", "€145.00")]
    assert said(None, {"price_minor": 500, "currency": "JPY"}) == [Change("price", "", "JP¥500")]


def test_the_lines_of_a_price_are_readable():
    new = {"lines": [["clean the shutter", "labour", 90, 9000], ["bulb", "part", None, 250]]}
    assert said(None, new) == [Change("lines", "", "clean the shutter €90.00; bulb €2.50")]


def test_days_are_written_as_days():
    assert said({"promised_on": None}, {"promised_on": "2024-05-03"}) == [
        Change("promised for", "", "3 May 2024")
    ]


def test_what_only_a_machine_needs_is_left_out():
    assert said({"finding": 12}, {"finding": 12, "sha256": "ab" * 32, "effective_u_s": 0.1}) == []


def test_a_table_within_an_entry_is_opened():
    assert said(None, {"camera": {"maker": "Vorrin", "serial": ""}}) == [Change("maker", "", "Vorrin")]


def test_what_stayed_the_same_is_not_a_change():
    assert said({"part": "bellows"}, {"part": "bellows"}) == []


def test_an_entry_of_an_unknown_shape_is_still_shown():
    assert said(None, {"promised_on": "soon", "odd": [1, [2]]}) == [
        Change("promised for", "", "soon"),
        Change("odd", "", "1; [2]"),
    ]


def test_only_what_takes_a_job_on_is_a_move():
    assert is_move({"standing": "priced"})
    assert not is_move({"grade": 3})
    assert not is_move(None)
