"""A finding typed in one line. The expected pairs are what a reader would say, written by hand."""

import pytest

from pegwood.web.one_line import part_and_condition

PARTS = ("bellows", "bellows corners", "slow train", "shutter blades")


@pytest.mark.parametrize(
    ("line", "part", "condition"),
    [
        ("shutter blades, oil film", "shutter blades", "oil film"),
        ("shutter blades: oil film, heavy", "shutter blades", "oil film, heavy"),
        ("light seals - gone to tar", "light seals", "gone to tar"),
        ("  slow   train ,  gummed ", "slow train", "gummed"),
        ("X-sync contact, bent", "X-sync contact", "bent"),
    ],
)
def test_the_part_ends_at_the_first_comma_colon_or_dash(line, part, condition):
    assert part_and_condition(line, parts=PARTS) == (part, condition)


@pytest.mark.parametrize(
    ("line", "part", "condition"),
    [
        ("slow train gummed", "slow train", "gummed"),
        ("Shutter Blades stick", "shutter blades", "stick"),
        ("bellows corners worn through", "bellows corners", "worn through"),
        ("bellows worn through", "bellows", "worn through"),
    ],
)
def test_a_known_part_needs_no_comma_and_the_longest_one_counts(line, part, condition):
    assert part_and_condition(line, parts=PARTS) == (part, condition)


def test_a_part_is_a_whole_word():
    assert part_and_condition("bellowsy smell", parts=PARTS) == ("bellowsy smell", "")


def test_a_part_without_a_condition_is_told_apart_from_a_finding():
    assert part_and_condition("bellows", parts=PARTS) == ("bellows", "")
    assert part_and_condition("", parts=PARTS) == ("", "")


def test_a_tapped_part_leaves_only_its_condition_to_be_typed():
    assert part_and_condition("oil film", "shutter blades") == ("shutter blades", "oil film")


def test_a_tapped_part_said_once_more_is_said_once():
    assert part_and_condition("shutter blades, oil film", "shutter blades") == ("shutter blades", "oil film")


def test_a_comma_in_the_condition_of_a_tapped_part_stays():
    assert part_and_condition("hazy, scratched", "front element") == ("front element", "hazy, scratched")
