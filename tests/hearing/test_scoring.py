"""Scores are held to cases counted by hand."""

from __future__ import annotations

import pytest

from hearing.errors import (
    DENIAL_LOST,
    DENIAL_MADE,
    DONE_WRONG,
    FACT_MADE,
    FROM_ASIDE,
    FROM_HYPOTHETICAL,
    FROM_REMARK,
    PART_WRONG,
)
from hearing.narrations import Finding, Narration, Sentence, Work
from hearing.scoring import Answer, score, table
from pegwood.hearing.results import Heard, NamedPart, SaidFinding, SaidRemark, SaidWork

STRUT, LATCH = NamedPart(id="bed.strut", name="strut"), NamedPart(id="body.latch", name="latch")
SENTENCES = (
    Sentence(at_s=1, says="strut bent", findings=(Finding(part="bed.strut", condition="bent"),)),
    Sentence(
        at_s=2,
        says="no rust on the latch",
        findings=(Finding(part="body.latch", condition="rust", denied=True),),
        work=(Work(part="body.latch", work="clean"), Work(part=None, work="check", optional=True)),
    ),
    Sentence(at_s=3, says="they all rust", kind="remark"),
    Sentence(
        at_s=4,
        says="latch may be weak",
        findings=(Finding(part="body.latch", condition="weak", others=("broken",), certainty="possible"),),
    ),
    Sentence(at_s=5, says="tea", kind="aside"),
    Sentence(at_s=6, says="if it were torn", how=("hypothetical",)),
    Sentence(
        at_s=7,
        says="dull perhaps",
        findings=(Finding(part="bed.strut", condition="dirty", optional=True),),
    ),
)
NARRATION = Narration(name="by-hand", family="none", half="dev", voice="x", sentences=SENTENCES)
BEGINS = [sum(len(one.says) + 1 for one in SENTENCES[:at]) for at in range(len(SENTENCES))]


def span(first: int, last: int | None = None) -> tuple[int, int]:
    last = first if last is None else last
    return BEGINS[first], BEGINS[last] + len(SENTENCES[last].says)


def found(part: NamedPart, condition: str, first: int, last: int | None = None, **more) -> SaidFinding:
    return SaidFinding(part=part, condition=condition, words="", where=span(first, last), **more)


RIGHT = (
    found(STRUT, "bent", 0),
    found(LATCH, "rust", 1, denied=True),
    found(LATCH, "weak", 3, certainty="probable"),
)


def scored(*findings: SaidFinding, **more):
    return score(
        [Answer(narration=NARRATION, lines=NARRATION.lines(), heard=Heard(findings=findings, **more))]
    )


def test_all_right_is_one():
    told = scored(*RIGHT)
    assert (told.right, told.missed, told.invented, told.exact) == (3, 0, 0, 3)
    assert told.f1 == told.precision == told.recall == told.denials_right == 1


def test_nothing_heard_is_nothing():
    told = scored()
    assert (told.right, told.missed, told.invented, told.f1) == (0, 3, 0, 0)


def test_two_found_one_missed_one_made_up():
    """2·2/(2·2 + 1 + 1) = 2/3."""
    told = scored(*RIGHT[:2], found(STRUT, "haze", 3))
    assert told.f1 == pytest.approx(2 / 3)


def test_words_of_the_next_sentence_will_do_but_not_of_the_one_after():
    assert scored(found(STRUT, "bent", 1)).right == 1
    assert scored(found(STRUT, "bent", 2)).right == 0
    assert scored(found(LATCH, "weak", 2)).right == 0


def test_words_over_several_sentences_will_do():
    assert scored(found(STRUT, "bent", 0, 2)).right == 1


def test_said_twice_of_one_sentence_counts_once():
    told = scored(*RIGHT, RIGHT[0])
    assert (told.right, told.invented) == (3, 0)


def test_another_condition_that_is_as_right_is_right():
    assert scored(found(LATCH, "broken", 3, certainty="possible")).exact == 1


def test_an_optional_one_counts_neither_way():
    told = scored(*RIGHT, found(STRUT, "dirty", 6))
    assert (told.right, told.missed, told.invented) == (3, 0, 0)


def test_a_denial_turned_round_and_a_fact_denied():
    told = scored(found(LATCH, "rust", 1), found(STRUT, "bent", 0, denied=True))
    assert told.errors[DENIAL_LOST] == told.asked[DENIAL_LOST] == 1
    assert told.errors[DENIAL_MADE] == 1
    assert (told.right, told.exact, told.denials_right) == (2, 0, 0)


def test_a_conjecture_told_as_fact():
    told = scored(found(LATCH, "weak", 3))
    assert told.rate(FACT_MADE) == 1
    assert scored(*RIGHT).rate(FACT_MADE) == 0


def test_findings_out_of_what_is_none():
    told = scored(*RIGHT, found(LATCH, "rust", 2), found(STRUT, "cracked", 4), found(STRUT, "torn", 5))
    assert told.rate(FROM_REMARK) == told.rate(FROM_ASIDE) == told.rate(FROM_HYPOTHETICAL) == 1
    assert told.invented == 3


def test_the_wrong_part_is_told_from_silence():
    told = scored(*RIGHT[1:], found(LATCH, "bent", 0))
    assert (told.errors[PART_WRONG], told.missed, told.invented) == (1, 1, 1)


def test_works_are_held_to_part_and_work():
    clean = SaidWork(part=LATCH, work="clean", words="", where=span(1), done=True)
    again = found(LATCH, "rust", 1, denied=True, work=("clean",))
    told = scored(RIGHT[0], again, work=(clean,))
    assert (told.works_right, told.works_missed, told.works_invented) == (1, 0, 0)
    assert told.errors[DONE_WRONG] == 1
    assert scored(again).works_f1 == 1
    wrong = SaidWork(part=STRUT, work="clean", words="", where=span(1))
    assert scored(work=(wrong,)).works_f1 == 0


def test_remarks_kept_and_the_table_names_every_number():
    remark = SaidRemark(words="", where=span(2))
    heard = Heard(findings=RIGHT, remarks=(remark,))
    printed = table([Answer(narration=NARRATION, lines=NARRATION.lines(), heard=heard)])
    assert "remark not kept as one" in printed
    assert "1.000" in printed


def test_lines_that_are_not_the_sentences_are_refused():
    with pytest.raises(ValueError, match="as many lines"):
        score([Answer(narration=NARRATION, lines=NARRATION.lines()[1:], heard=Heard())])
