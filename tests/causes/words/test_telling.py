"""What findings say: as a reader of the trade takes them, once, with the right strength, and in words."""

from __future__ import annotations

from functools import cache

import pytest

from causes.words.findings_told import FINDINGS, FOLDING, METAL, REFLEX
from pegwood.anatomy.construction import constructions
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.inference import posterior, with_odds
from pegwood.causes.known import knowledge
from pegwood.causes.words.telling import FaultHint, Hint, SeenFinding, SignHint, said_of


@cache
def causes(family: str) -> FamilyCauses:
    return family_causes(constructions()[family], knowledge())


def hints(family: str, *findings: SeenFinding) -> tuple[Hint, ...]:
    return said_of(causes(family), constructions()[family], findings)


def seen(part: str, condition: str, grade: int | None = None, place: str = "") -> SeenFinding:
    return SeenFinding(part=part, condition=condition, grade=grade, place=place)


def short(hint: Hint) -> str:
    if isinstance(hint, FaultHint):
        return f"{'+' if hint.odds > 1 else '-'}{hint.fault}"
    top = max(hint.levels)
    assert hint.levels.count(top) == 1 or top == hint.levels[0], "one answer is the likeliest"
    return f"{hint.sign}={hint.levels.index(top)}"


@pytest.mark.parametrize(
    ("family", "part", "condition", "grade", "place", "expected"),
    FINDINGS,
    ids=[f"{one[1]}: {one[2]}" for one in FINDINGS],
)
def test_a_finding_says_what_a_repairer_takes_it_to_say(family, part, condition, grade, place, expected):
    found = hints(family, seen(part, condition, grade, place))
    assert sorted(map(short, found)) == sorted(expected), [hint.why for hint in found]


def test_the_question_that_asks_it_is_answered_and_its_faults_are_left_alone():
    found = hints(FOLDING, seen("shutter blades", "oil film, rusty"))
    signs = {one.sign for one in found if isinstance(one, SignHint)}
    linked = {shown.fault for sign in signs for shown in causes(FOLDING).signs[sign].shown_by}
    assert signs == {"shutter.blades-look", "shutter.blades-rust-seen"}
    assert linked.isdisjoint(one.fault for one in found if isinstance(one, FaultHint))


def test_nothing_is_said_twice_for_a_fault_over_all_the_findings_written_here():
    for family, part, condition, grade, place, _ in FINDINGS:
        found = hints(family, seen(part, condition, grade, place))
        asked = {
            (shown.fault, one.finding)
            for one in found
            if isinstance(one, SignHint)
            for shown in causes(family).signs[one.sign].shown_by
        }
        faults = [one for one in found if isinstance(one, FaultHint)]
        assert asked.isdisjoint((one.fault, one.finding) for one in faults)
        assert len({one.fault for one in faults}) == len(faults)


def test_the_same_finding_written_down_twice_counts_once():
    once = hints(FOLDING, seen("main spring", "tired"))
    twice = hints(FOLDING, seen("main spring", "tired"), seen("main spring", "weak"))
    assert once[0].odds == twice[0].odds


def test_a_later_finding_takes_the_place_of_an_earlier_one_that_says_otherwise():
    oily, clean = seen("shutter blades", "oily"), seen("shutter blades", "no oil")
    assert [short(one) for one in hints(FOLDING, oily, clean)] == ["shutter.blades-look=0"]
    stiff, free = seen("slow train", "sluggish"), seen("slow train", "runs free")
    assert [short(one) for one in hints(FOLDING, stiff, free)] == ["-shutter.gummed-slow-train"]


def test_plain_words_weigh_more_than_slight_ones_and_those_more_than_doubtful_ones():
    plain, slight, doubtful, near = (
        hints(FOLDING, seen("main spring", said))[0].odds
        for said in ("tired", "slightly tired", "maybe tired", "dead")
    )
    assert plain > slight > doubtful >= near > 1


def test_what_is_denied_weighs_more_than_a_kind_word_and_that_more_than_fine():
    direct, kind, fine = (
        hints(METAL, seen("blade brake", said))[0].odds for said in ("not crumbling", "soft", "fine")
    )
    assert direct < kind < fine < 1


def test_a_half_of_a_pair_without_it_clears_the_pair_less_than_a_part_by_itself():
    half, alone = (
        hints(REFLEX, seen(part, "not dry"))[0].odds for part in ("second roller", "mirror carrier")
    )
    assert alone < half < 1


def test_a_word_that_fits_two_faults_of_a_part_is_for_both_and_for_neither_much():
    found = hints(FOLDING, seen("wind stop lever and spring", "weak, worn, bent"))
    by_fault = {one.fault: one.odds for one in found}
    assert by_fault["advance.stop-bent"] == by_fault["advance.stop-weak"]
    found = hints(FOLDING, seen("take-up friction", "oily and slipping, worn"))
    assert {one.fault for one in found} == {"advance.take-up-weak"}


def test_every_hint_says_which_finding_and_why():
    for family, part, condition, grade, place, _ in FINDINGS:
        for hint in hints(family, seen(part, condition, grade, place)):
            assert hint.finding.condition == condition
            assert f"'{condition}' of {part}" in hint.why


def test_every_answer_and_every_factor_can_go_into_the_net():
    for family, part, condition, grade, place, _ in FINDINGS:
        for hint in hints(family, seen(part, condition, grade, place)):
            if isinstance(hint, SignHint):
                assert len(hint.levels) == len(causes(family).signs[hint.sign].answers)
                assert 0 < min(hint.levels) < max(hint.levels) == 1
            else:
                assert 0.01 < hint.odds < 1000
                assert hint.odds != 1


def test_a_finding_said_plainly_makes_its_fault_the_likeliest_at_that_part():
    net = causes(FOLDING).net(())
    hint = hints(FOLDING, seen("main spring", "tired"))[0]
    after = posterior(with_odds(net, {hint.fault: hint.odds}), {}).faults
    prior = net.priors[hint.fault]
    assert after[hint.fault] == pytest.approx(100 * prior / (100 * prior + 1 - prior))
