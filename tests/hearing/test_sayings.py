"""The bank of sayings: whole, nothing said twice, and nothing of the half that is never learned from."""

from __future__ import annotations

from collections import Counter

from hearing.narrations import CONDITIONS, narrations
from hearing.sayings import sayings

RUN = 7


def runs(words: str) -> set[tuple[str, ...]]:
    """All runs of so many words."""
    said = words.lower().split()
    return {tuple(said[at : at + RUN]) for at in range(len(said) - RUN + 1)}


def test_every_condition_is_told_in_many_ways():
    told = Counter(one.sentences[-1].findings[0].condition for one in sayings() if one.sentences[-1].findings)
    assert set(told) == CONDITIONS
    assert min(told.values()) >= 40


def test_nothing_is_said_twice():
    said = Counter(one.sentences[-1].says for one in sayings())
    assert [words for words, count in said.items() if count > 1] == []


def test_no_long_run_of_words_is_one_of_the_half_never_learned_from():
    theirs = {run for one in narrations("test") for sentence in one.sentences for run in runs(sentence.says)}
    shared = [one.name for one in sayings() if runs(one.sentences[-1].says) & theirs]
    assert shared == []
