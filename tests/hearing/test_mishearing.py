"""Words misheard at a rate: as many as were asked for, the same ones again, and such as sound alike."""

from __future__ import annotations

import random
import re
from functools import cache

import pytest
from rapidfuzz.distance import Levenshtein

from hearing.mishearing import misheard, word_error_rate, words_of
from hearing.narrations import HALVES, narrations
from hearing.sounds import apart, broken_up, common_words, dictionary, neighbours, sounds_of
from pegwood.hearing.results import Line

RATES = (0.05, 0.15)
EVERY = [narration for half in HALVES for narration in narrations(half)]


def edits(said: list[str], heard: list[str]) -> int:
    """Wagner and Fischer's table, written out: shares nothing with what puts the errors in."""
    row = list(range(len(heard) + 1))
    for at, word in enumerate(said, 1):
        corner, row[0] = row[0], at
        for to, other in enumerate(heard, 1):
            corner, row[to] = row[to], min(row[to] + 1, row[to - 1] + 1, corner + (word != other))
    return row[-1]


def plain(lines: tuple[Line, ...]) -> list[str]:
    return re.sub(
        r"[.,;:!?…\"“”‘’()]|(?<!\w)'|'(?!\w)", " ", " ".join(line.words for line in lines).lower()
    ).split()


@pytest.mark.parametrize("rate", RATES)
def test_the_rate_asked_for_is_the_rate_measured(rate: float):
    """Outside check: the textbook table of edits, over words taken out of the text in another way."""
    for narration in EVERY[::4]:
        said, heard = plain(narration.lines()), plain(misheard(narration.lines(), rate, seed=1))
        assert edits(said, heard) / len(said) == pytest.approx(rate, abs=0.005), narration.name


@pytest.mark.parametrize("rate", RATES)
def test_every_narration_is_within_half_a_point(rate: float):
    """Outside check: rapidfuzz's alignment of words."""
    for seed, narration in enumerate(EVERY):
        heard = misheard(narration.lines(), rate, seed)
        assert word_error_rate(narration.lines(), heard) == pytest.approx(rate, abs=0.005), narration.name


def test_the_same_seed_mishears_the_same_and_another_another():
    lines = EVERY[0].lines()
    assert misheard(lines, 0.15, seed=3) == misheard(lines, 0.15, seed=3)
    assert misheard(lines, 0.15, seed=3) != misheard(lines, 0.15, seed=4)


def test_lines_stay_as_many_at_their_times_and_none_is_empty():
    for narration in EVERY[::5]:
        lines = narration.lines()
        heard = misheard(lines, 0.3, seed=7)
        assert [line.at_s for line in heard] == [line.at_s for line in lines]
        assert all(line.words.strip() for line in heard)


def test_no_rate_leaves_the_words_alone_and_too_high_a_one_is_refused():
    lines = EVERY[0].lines()
    assert misheard(lines, 0, seed=1) == lines
    with pytest.raises(ValueError, match="word error rate"):
        misheard(lines, 0.6, seed=1)


@cache
def changed(kind: str) -> list[tuple[str, str]]:
    found = []
    for narration in EVERY[::2]:
        said = words_of(narration.lines())
        heard = words_of(misheard(narration.lines(), 0.15, seed=11))
        for edit in Levenshtein.editops(said, heard):
            if edit.tag == kind:
                other = heard[edit.dest_pos] if kind != "delete" else ""
                found.append((said[edit.src_pos] if edit.src_pos < len(said) else "", other))
    return found


def test_words_are_mostly_taken_for_others_and_less_often_lost_or_put_in():
    replaced, lost, put_in = (len(changed(kind)) for kind in ("replace", "delete", "insert"))
    assert replaced > 0.6 * (replaced + lost + put_in)
    assert min(lost, put_in) > 0.03 * (replaced + lost + put_in)


def test_words_taken_for_others_sound_far_more_alike_than_any_two():
    pairs = [(one, other) for one, other in changed("replace") if {one, other} <= dictionary().keys()]
    others = [other for _, other in pairs]
    random.Random(1).shuffle(others)
    alike = [apart(sounds_of(one), sounds_of(other)) for one, other in pairs]
    chance = [apart(sounds_of(one), sounds_of(other)) for (one, _), other in zip(pairs, others, strict=True)]
    assert sum(alike) < 0.5 * sum(chance)


@pytest.mark.parametrize(
    ("word", "like"),
    [("worn", "warn"), ("bent", "bend"), ("rust", "rest"), ("haze", "hayes"), ("wait", "weight")],
)
def test_neighbours_are_those_that_anybody_would_take_it_for(word: str, like: str):
    """Outside check: the pronouncing dictionary's own entries, which differ by a sound at most."""
    assert like in [one.word for one, _ in neighbours(word)]
    assert apart(sounds_of(word), sounds_of(like)) <= 1


def test_a_word_of_the_trade_that_is_lacked_becomes_common_words():
    assert broken_up("rangefinder") == ("range", "finder")
    common = {one.word for one in common_words()}
    for word in ("helicoid", "galvanometer", "desilvered", "threadlock", "pawl"):
        assert word not in dictionary()
        assert set(broken_up(word)) <= common
        assert broken_up(word)
