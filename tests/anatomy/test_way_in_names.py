"""A part by what a repairer calls it; where that may be several, the question comes back."""

from __future__ import annotations

import pytest

from pegwood.anatomy.construction import constructions
from pegwood.anatomy.part_names import NotOnePart, find_part

FOLDING = "folding-35-leaf-rangefinder"


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("shutter.slow-train", "shutter.slow-train"),
        ("slow train", "shutter.slow-train"),
        ("slow-train", "shutter.slow-train"),
        ("  Slow  Train ", "shutter.slow-train"),
        ("retard", "shutter.slow-train"),
        ("galvanometer wire", "meter.movement-leads"),
        ("male helicoid", "helicoid.barrel"),
    ],
)
def test_a_part_answers_to_its_id_its_name_and_its_other_names(said, part):
    assert find_part(constructions()[FOLDING], said).id == part


@pytest.mark.parametrize("slug", sorted(constructions()))
def test_every_part_is_found_by_its_id_and_by_its_name(slug):
    family = constructions()[slug]
    for part in family.parts.values():
        assert find_part(family, part.id) is part
        assert find_part(family, part.name) is part


def test_a_name_of_several_parts_is_asked_back_with_each_of_them():
    with pytest.raises(NotOnePart, match="'light seal' may be several parts of this family: ") as told:
        find_part(constructions()[FOLDING], "light seal")
    assert {part.id for part in told.value.candidates} == {
        "back.groove-seal-top",
        "back.groove-seal-base",
        "back.hinge-seal",
        "back.latch-end-seal",
    }
    assert all(part.id in str(told.value) for part in told.value.candidates)


def test_a_word_of_a_name_is_no_name_and_is_not_guessed():
    with pytest.raises(
        NotOnePart, match=r"'honeycomb' is no part of this family\. Nearest: honeycomb window"
    ):
        find_part(constructions()[FOLDING], "honeycomb")


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ("slow trian", r"Nearest: slow train \(shutter.slow-train\)"),
        ("xyzzy", "Nearest: none"),
        (" ", "Name a"),
    ],
)
def test_what_no_part_is_called_is_refused_with_the_nearest(said, says):
    with pytest.raises(NotOnePart, match=says):
        find_part(constructions()[FOLDING], said)
