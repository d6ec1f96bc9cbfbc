"""What is wrong with a camera: its story, its signs, what was found and mended, as the book keeps it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from book.cast import BY, MONDAY
from pegwood.book import benchwork, leaving
from pegwood.book.keeping.export import job_as_data
from pegwood.book.models import FaultRuling, MendDone, SignAnswer, Story
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.answering import answer_sign, take_back_answer
from pegwood.book.weighing.case import case_of
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.ruling import rule, withdraw
from pegwood.book.weighing.telling import tell
from pegwood.causes.weighing import weigh

pytestmark = pytest.mark.django_db


@pytest.fixture
def signs(on_the_bench):
    """A graded sign of the camera, one of yes and no, and a fault that shows the latter."""
    causes = the_causes(on_the_bench)
    graded = next(one for one in causes.signs.values() if len(one.answers) == 3)
    plain = next(one for one in causes.signs.values() if len(one.answers) == 2)
    return graded, plain, plain.shown_by[0].fault


def test_a_story_is_told_whole_and_the_diary_keeps_what_was_said_before(on_the_bench):
    tell(on_the_bench, ["stored-damp", "dropped"], ["sand"], by=BY, at=MONDAY)
    tell(on_the_bench, ["dropped"], by=BY)
    assert Story.objects.get(job=on_the_bench).told == ["dropped"]
    first, second = on_the_bench.diary.filter(what="heard the story").order_by("pk")
    assert first.text == "fell, or was knocked; long in a damp place; no sand or grit"
    assert second.old == {"told": ["dropped", "stored-damp"], "denied": ["sand"]}
    tell(on_the_bench, ["dropped"], by=BY)  # the same once more is no news
    assert on_the_bench.diary.filter(what="heard the story").count() == 2


@pytest.mark.parametrize(
    ("told", "denied", "says"),
    [(["cursed"], [], "'cursed' is nothing of a story"), (["sand"], ["sand"], "cannot be so and not so")],
)
def test_a_story_that_cannot_be_is_refused(on_the_bench, told, denied, says):
    with pytest.raises(Refused, match=says):
        tell(on_the_bench, told, denied, by=BY)
    assert not Story.objects.exists()


def test_an_answer_weighs_and_a_new_one_takes_its_place(on_the_bench, signs):
    graded, _, _ = signs
    causes = the_causes(on_the_bench)
    first = answer_sign(on_the_bench, graded.id, graded.answers[2], by=BY, at=MONDAY)
    assert 0 < (first.chance_before or 0) < 1
    assert case_of(on_the_bench, causes).answers[graded.id] == (0, 0, 1)
    second = answer_sign(on_the_bench, graded.id, f"sort of {graded.answers[1]}", by=BY)
    assert case_of(on_the_bench, causes).answers[graded.id] == pytest.approx((1 / 3, 1, 1 / 3))
    assert [one.pk for one in SignAnswer.objects.all()] == [second.pk]
    take_back_answer(second, by=BY)
    assert graded.id not in case_of(on_the_bench, causes).answers
    assert SignAnswer.everything.count() == 2


def test_dont_know_was_asked_and_says_nothing(on_the_bench, signs):
    graded, _, _ = signs
    row = answer_sign(on_the_bench, graded.id, "don't know", by=BY)
    causes = the_causes(on_the_bench)
    case = case_of(on_the_bench, causes)
    assert (row.chance_before, case.unanswered) == (None, {graded.id})
    assert graded.id not in case.answers
    assert weigh(causes, case) == weigh(causes, replace(case, unanswered=frozenset()))


def test_what_is_no_sign_and_no_answer_is_refused(on_the_bench, signs):
    graded, _, fault = signs
    with pytest.raises(Refused, match="nothing that is looked for"):
        answer_sign(on_the_bench, "soul.weight", "yes", by=BY)
    with pytest.raises(Refused, match=f"is no answer to '{graded.id}'. Nearest: "):
        answer_sign(on_the_bench, graded.id, "perhaps", by=BY)
    with pytest.raises(Refused, match="no fault that such a camera"):
        rule(on_the_bench, "soul.lost", True, by=BY)
    with pytest.raises(Refused, match="is called 'prayer'"):
        log_mend(on_the_bench, fault, "prayer", by=BY)


def test_a_ruling_keeps_what_was_predicted_and_can_be_taken_back(on_the_bench, signs):
    _, plain, fault = signs
    causes = the_causes(on_the_bench)
    before = weigh(causes, case_of(on_the_bench, causes)).chances[fault]
    answer_sign(on_the_bench, plain.id, plain.answers[1], by=BY)
    predicted = weigh(causes, case_of(on_the_bench, causes)).chances[fault]
    row = rule(on_the_bench, fault, False, by=BY)
    assert row.chance_before == pytest.approx(predicted)
    assert predicted > before
    assert weigh(causes, case_of(on_the_bench, causes)).chances[fault] == 0
    there = rule(on_the_bench, fault, True, by=BY)  # on second thoughts
    assert there.chance_before == pytest.approx(predicted)  # what a hand said before predicts nothing
    withdraw(there, by=BY)
    assert not FaultRuling.objects.exists()
    assert weigh(causes, case_of(on_the_bench, causes)).chances[fault] == pytest.approx(predicted)


def test_a_mend_is_work_and_finds_its_fault(on_the_bench, signs):
    causes = the_causes(on_the_bench)
    fault = next(one for one in causes.faults.values() if one.mends)
    log_mend(on_the_bench, fault.id, fault.mends[0].name, minutes=25, by=BY)
    work = on_the_bench.work.get()
    assert (work.minutes, work.done) == (25, f"{fault.name}: {fault.mends[0].name}")
    assert case_of(on_the_bench, causes, as_found=True).rulings == {fault.id: True}
    benchwork.strike_out_work(work, "wrong job", by=BY)
    assert not MendDone.objects.filter(work__struck_out=False).exists()


def test_nothing_is_weighed_of_a_job_that_is_over(on_the_bench, signs):
    graded, _, fault = signs
    leaving.send_back_unmended(on_the_bench, "the owner wants it so", by=BY)
    for late in (
        lambda: tell(on_the_bench, ["sand"], by=BY),
        lambda: answer_sign(on_the_bench, graded.id, graded.answers[0], by=BY),
        lambda: rule(on_the_bench, fault, True, by=BY),
    ):
        with pytest.raises(Refused, match="is over"):
            late()


def test_all_of_it_is_in_a_backups_plain_list(on_the_bench, signs):
    graded, _, fault = signs
    tell(on_the_bench, ["sand"], by=BY)
    answer_sign(on_the_bench, graded.id, graded.answers[0], by=BY)
    rule(on_the_bench, fault, True, by=BY)
    data = job_as_data(on_the_bench)
    assert data["told_story"]["told"] == ["sand"]
    assert [one["answer"] for one in data["sign_answers"]] == [graded.answers[0]]
    assert [one["there"] for one in data["fault_rulings"]] == [True]


def test_a_finding_counts_as_a_sign_until_somebody_answers_that_sign(on_the_bench):
    causes = the_causes(on_the_bench)
    looks = causes.signs["shutter.blades-look"]
    by_finding = case_of(on_the_bench, causes).answers[looks.id]  # "shutter blades: oil film", grade 3
    assert by_finding.index(max(by_finding)) == len(looks.answers) - 1
    row = answer_sign(on_the_bench, looks.id, looks.answers[0], by=BY)
    assert case_of(on_the_bench, causes).answers[looks.id] == (1, 0, 0)
    take_back_answer(row, by=BY)
    assert case_of(on_the_bench, causes).answers[looks.id] == by_finding


def test_what_is_seen_after_a_mend_stands_beside_what_was_found(on_the_bench):
    """A mended fault is there no more, and its signs are to be asked again; what it came in with stays."""
    causes = the_causes(on_the_bench)
    fault = causes.faults["shutter.gummed-slow-train"]
    hangs = causes.signs["shutter.hangs-1s"]
    other = next(
        sign for sign in causes.signs.values() if all(one.fault != fault.id for one in sign.shown_by)
    )
    found = answer_sign(on_the_bench, hangs.id, hangs.answers[-1], by=BY)
    answer_sign(on_the_bench, other.id, other.answers[0], by=BY)
    mend = log_mend(on_the_bench, fault.id, fault.mends[0].name, by=BY)
    now = case_of(on_the_bench, causes)
    assert now.rulings[fault.id] is False
    assert hangs.id not in now.answers  # to be asked again
    assert other.id in now.answers
    as_found = case_of(on_the_bench, causes, as_found=True)
    assert as_found.rulings[fault.id] is True
    assert as_found.answers[hangs.id][-1] == 1
    runs = answer_sign(on_the_bench, hangs.id, hangs.answers[0], by=BY)
    assert (runs.after_mend, runs.chances_before) == (True, None)
    assert case_of(on_the_bench, causes).answers[hangs.id][0] == 1
    assert case_of(on_the_bench, causes, as_found=True).answers[hangs.id][-1] == 1
    benchwork.strike_out_work(mend.work, "it did not", by=BY)
    assert case_of(on_the_bench, causes).rulings[fault.id] is True
    found.refresh_from_db()
    assert not found.struck_out
