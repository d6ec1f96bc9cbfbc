"""What a text says is there, and what it says is not."""

from __future__ import annotations

import pytest

from pegwood.causes.words.concepts import FILE, read_vocabulary, vocabulary
from pegwood.causes.words.statements import concepts_in, statements
from pegwood.causes.words.told import Told
from pegwood.trade.typed_toml import TableError


def said(text: str) -> set[str]:
    return {f"{'+' if one.there else '-'}{one.concept}{'' if one.sure else '?'}" for one in statements(text)}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Rusted", {"+rust"}),
        ("no oil or rust", {"-oily", "-rust"}),
        ("without a trace of fungus", {"-fungus"}),
        ("rust-free", {"-rust"}),
        ("free of rust", {"-rust"}),
        ("doesn't stick", {"-stiff"}),
        ("does not stick", {"-stiff"}),
        ("no rust, but oily", {"-rust", "+oily"}),
        ("no oil and rusty", {"-oily"}),  # or no rust: nobody knows
        ("no oil, rust", {"-oily"}),  # the same
        ("no oil, the tips are rusty", {"-oily", "+rust"}),
        ("gone stiff", {"+hard", "+stiff"}),
        ("felt gone", {"+missing"}),
        ("half a stop off", set()),
        ("scrached", {"+scratched?"}),
        ("corrosoin", {"+corroded?"}),
        ("locking, leading, leaning, rotating", set()),
        ("oil?", {"+oily?"}),
        ("looks bent", {"+bent?"}),
        ("rust removed", set()),
        ("was rusty", set()),
        ("look for rust", set()),
        ("not sure whether bent", set()),
        ("fine", {"-"}),
        ("fine thread", set()),
        ("in good order", {"-"}),
        ("fine, a little rust", {"+rust"}),
        ("rusty here, no rust there", {"+rust"}),
        ("split image dim", {"+dull"}),
        ("", set()),
        ("???", set()),
    ],
)
def test_a_text_says(text, says):
    assert said(text) == says


def test_hostile_text_says_nothing_and_breaks_nothing():
    for text in ("\0" * 50, "not " * 3000, "’'’'’", "rust" * 1000, "𝔯𝔲𝔰𝔱", "no\nno\nno"):
        assert statements(text) == ()


def test_a_fault_s_name_is_read_whole():
    assert concepts_in("brake worn, not set slack") == ("worn", "weak")


def test_what_is_near_is_some_other_concept():
    for concept, near in vocabulary().near.items():
        assert concept not in near
        assert len(set(near)) == len(near)


@pytest.mark.parametrize(
    ("wrong", "by", "says"),
    [
        ('near = ["corroded"]', 'near = ["corrosive"]', r"'corrosive' is no concept here"),
        ('"red bloom"', '"a red bloom"', r"'a red bloom' holds a filler"),
        ('mark = "practice"', 'mark = "hearsay"', r"'hearsay'"),
    ],
)
def test_a_slip_in_the_words_is_told_with_its_place(wrong, by, says):
    text = FILE.read_text("utf-8")
    assert wrong in text
    with pytest.raises(TableError, match=rf"concepts\.toml.*{says}"):
        read_vocabulary(text.replace(wrong, by, 1))


@pytest.mark.parametrize("text", ["screw", "rust oily", ""])
def test_a_fault_is_told_by_one_concept(text):
    with pytest.raises(ValueError, match=r"Expected exactly one"):
        Told.parse(text)
