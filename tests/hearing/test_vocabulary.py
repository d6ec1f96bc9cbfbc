"""A language's file is checked when it is read."""

from __future__ import annotations

from importlib.resources import files

import pytest

from pegwood.hearing import BadVocabulary, NamedPart, Taught, vocabulary
from pegwood.hearing.part_names import CALLED, PartNames
from pegwood.hearing.vocabulary import read_called, read_vocabulary

ENGLISH = (files("pegwood.hearing") / "languages/en.toml").read_text("utf-8")


def test_english_tells_the_conditions_and_works_of_the_trade():
    assert {"fine", "rust", "gummed", "haze", "low output", "non-original glue"} <= set(
        vocabulary().conditions
    )
    assert {"clean", "degrease", "replace", "shim", "leave"} <= set(vocabulary().works)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("[conditions.rust]", "[conditions.rust", "en.toml"),
        ("[denial]", "[denials]", "denials is not known here"),
        ('  "rust", "rusty"', '  7, "rusty"', "conditions.rust.said: expected a list of words"),
        ('  "rust", "rusty"', '  "fungus", "rusty"', "tell both"),
        ("[conditions.rust]\nsaid", "[conditions.rust]\nsays", "says is not known here"),
    ],
)
def test_a_slip_in_the_file_is_shown_with_its_place(old, new, says):
    assert old in ENGLISH
    with pytest.raises(BadVocabulary, match=says):
        read_vocabulary(ENGLISH.replace(old, new, 1), "en.toml", "en")


def test_a_language_that_there_is_not_is_refused():
    with pytest.raises(BadVocabulary, match="there is en"):
        vocabulary("xx")


def test_a_condition_that_there_is_not_cannot_be_taught():
    with pytest.raises(BadVocabulary, match="no condition"):
        vocabulary().with_taught(Taught(conditions=(("iffy", "strange"),)))


@pytest.mark.parametrize(
    "text",
    ["pawl = ['click']", "source = 's'\nmark = 'practice'\ncalled = 3", "source = 's'\n[called]\npawl = 'x'"],
)
def test_a_file_of_names_of_talk_that_is_not_whole_is_refused_in_one_line(text):
    with pytest.raises(BadVocabulary, match=r"^xx\.parts\.toml: ") as refused:
        read_called(text, "xx.parts.toml")
    assert "\n" not in str(refused.value)


def test_a_short_name_of_several_parts_is_given_to_none_of_them_by_talk():
    names = PartNames(
        [NamedPart(id="a.feed-pawl", name="feed pawl"), NamedPart(id="b.ratchet-pawl", name="ratchet pawl")],
        (), frozenset(), (), vocabulary().small, {"feed-pawl": ("pawl", "thing that pushes the film on")},
    )  # fmt: skip
    assert ("pawl",) not in names.said
    assert names.said["thing", "that", "pushes", "the", "film", "on"] == {0: CALLED}
