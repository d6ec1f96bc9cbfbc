"""The plain sentences by pattern: labels true to the families, and every plain thing said often enough."""

from __future__ import annotations

from collections import Counter

from .narrations import CONDITIONS, WORKS
from .primer import WORDS, primer

#: What is drawn first; it tells only that the drawing is the same on every machine.
FIRST = "the speed cam plate's oily"


def sentences():
    return [(one, sentence) for one in primer() for sentence in one.sentences]


def test_its_words_are_of_conditions_and_works_that_there_are():
    assert set(WORDS["said"]) | set(WORDS["seen"]) <= CONDITIONS
    assert set(WORDS["work"]) <= WORKS
    assert all(len(forms) == 3 for forms in WORDS["work"].values())


def test_its_labels_name_parts_of_the_family_and_each_part_once_in_a_sentence():
    for narration, sentence in sentences():
        ids = {part.id for part in narration.parts()}
        told = [one.part for one in sentence.findings]
        assert set(told) <= ids
        assert len(set(told)) == len(told)


def test_it_is_always_the_same_and_holds_all_that_is_plain():
    assert primer()[0].sentences[0].says == FIRST, "drawn otherwise than when the weights were learned"
    findings = [one for _, sentence in sentences() for one in sentence.findings]
    told = Counter(one.condition for one in findings)
    assert set(told) == set(WORDS["said"]) | set(WORDS["seen"])
    assert sum(one.denied for one in findings) > 200
    assert sum(one.certainty != "plain" for one in findings) > 100
    assert Counter(sentence.kind for _, sentence in sentences())["remark"] > 50
