"""Phrases found in a text. What each ought to give stands beside it, worked by hand."""

from __future__ import annotations

from pegwood.hearing.phrases import Form, Phrases


def phrases(*said: tuple[str, str]) -> Phrases:
    found = Phrases()
    for words, key in said:
        found.add(words.split(), ("condition", key))
    return found


def read(text: str) -> list[tuple[Form, ...]]:
    return [(Form(word, 1.0), Form("=" + word, 1.0)) if word != "," else () for word in text.split()]


def test_the_longest_phrase_is_found_and_a_beginning_alone_is_none():
    book = phrases(("gone", "gone"), ("gone to tar", "perished"))
    assert book.longest(read("gone to tar now"), 0, ()) == (3, (("condition", "perished"),), 1.0)
    assert book.longest(read("gone to bed"), 0, ()) == (1, (("condition", "gone"),), 1.0)
    assert book.longest(read("to tar"), 0, ()) is None


def test_a_mark_ends_every_phrase():
    assert phrases(("gone to tar", "perished")).longest(read("gone , to tar"), 0, ()) is None


def test_two_fillers_may_stand_within_a_phrase_and_no_third():
    book = phrases(("full of sand", "sandy"))
    assert book.longest(read("full er well of sand"), 0, {1, 2}) == (5, (("condition", "sandy"),), 1.0)
    assert book.longest(read("full er well um of sand"), 0, {1, 2, 3}) is None


def test_an_exact_word_tells_before_its_stem():
    book = phrases(("oil", "oily"), ("=oil", "dry"))
    found = book.longest(read("oil"), 0, ())
    assert found is not None
    assert found.tells == (("condition", "dry"), ("condition", "oily"))


def test_a_phrase_is_as_sure_as_its_least_sure_word():
    forms = [(Form("gone", 0.9),), (Form("to", 1.0),), (Form("tar", 0.8),)]
    found = phrases(("gone to tar", "perished")).longest(forms, 0, ())
    assert found is not None
    assert found.degree == 0.8
