"""The next thing, and the gauge: one table, looked at row by row."""

import itertools

import pytest
from django.urls import reverse

from pegwood.book.states import GAUGE, OVER, Move, Standing, WaitingFor, destination, open_moves
from pegwood.web.next_step import STEPS, Facts, Wait, gauge, next_step
from pegwood.web.templatetags.bench import page_address

S = Standing
ASKED = [name for name in Facts.__dataclass_fields__ if Facts.__dataclass_fields__[name].type == "bool"]


def all_facts():
    for standing in Standing:
        waits = list(WaitingFor) if standing is S.WAITING else [None]
        for waiting_for, answers in itertools.product(
            waits, itertools.product([False, True], repeat=len(ASKED))
        ):
            yield Facts(standing=standing, waiting_for=waiting_for, **dict(zip(ASKED, answers, strict=True)))


def test_whatever_is_true_of_a_job_there_is_a_next_thing():
    for facts in all_facts():
        assert next_step(facts).do.label


def test_every_row_of_the_table_is_the_next_thing_of_some_job():
    reached = {id(next_step(facts)) for facts in all_facts()}
    assert [step.sentence for _, _, step in STEPS if id(step) not in reached] == []


def test_no_button_offers_a_move_that_would_be_refused():
    for facts in all_facts():
        step = next_step(facts)
        for act in (step.do, *step.others):
            if act.move is not None:
                destination(facts.standing, act.move)


def test_a_button_either_moves_the_job_or_leads_somewhere():
    for _, _, step in STEPS:
        for act in (step.do, *step.others):
            assert (act.move is None) == bool(act.page), act.label
            if act.page:
                assert page_address(act.page, 417)


def test_a_job_that_is_over_offers_no_move():
    for facts in all_facts():
        if facts.standing in OVER:
            step = next_step(facts)
            assert not step.yours
            assert open_moves(facts.standing) == (Move.TAKE_BACK,)
            assert all(act.move is None for act in (step.do, *step.others))


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        (Facts(standing=S.ARRIVED), "look it over"),
        (Facts(standing=S.ARRIVED, has_findings=True), "say that it is looked over"),
        (Facts(standing=S.LOOKED_OVER), "measure the shutter as found"),
        (Facts(standing=S.LOOKED_OVER, has_open_readings=True), "say what the reading is"),
        (Facts(standing=S.LOOKED_OVER, has_found=True), "price it"),
        (Facts(standing=S.PRICED), "wait for the owner's yes"),
        (Facts(standing=S.PRICED, price_expired=True), "ask the owner again"),
        (Facts(standing=S.AGREED), "put it on the bench"),
        (Facts(standing=S.ON_THE_BENCH), "do the work, and write it down"),
        (Facts(standing=S.ON_THE_BENCH, has_work=True), "go on, or prove it"),
        (Facts(standing=S.WAITING, waiting_for=WaitingFor.CURING), "let it cure"),
        (Facts(standing=S.PROVING), "measure the shutter as left"),
        (Facts(standing=S.PROVING, has_left=True), "call it ready"),
        (
            Facts(standing=S.PROVING, has_left=True, left_outside=True),
            "decide: a speed is outside its limit",
        ),
        (
            Facts(standing=S.PROVING, has_left=True, left_missing=True, left_close=True),
            "measure the other speeds as left",
        ),
        (
            Facts(standing=S.PROVING, has_left=True, left_close=True),
            "decide: a speed is too close to its limit to be called",
        ),
        (Facts(standing=S.READY), "write the bill"),
        (Facts(standing=S.READY, has_bill=True), "hand it back"),
        (
            Facts(standing=S.GONE_HOME, unpaid=True, under_guarantee=True, guarantee_given=True),
            "wait for the money",
        ),
        (
            Facts(standing=S.GONE_HOME, under_guarantee=True, guarantee_given=True),
            "nothing. It is home, under guarantee",
        ),
        (Facts(standing=S.GONE_HOME), "nothing. It is home, without a guarantee"),
        (
            Facts(standing=S.GONE_HOME, guarantee_given=True),
            "nothing. It is home, and its guarantee is over",
        ),
    ],
)
def test_the_next_thing_follows_from_where_the_job_stands(facts, sentence):
    assert next_step(facts).sentence == sentence


def test_what_waits_for_somebody_else_is_not_the_repairers_to_do():
    assert not next_step(Facts(standing=S.PRICED)).yours
    assert not next_step(Facts(standing=S.WAITING, waiting_for=WaitingFor.PART)).yours
    assert next_step(Facts(standing=S.AGREED)).yours


def test_steps_lead_to_pages_by_their_names():
    assert page_address("price#yes", 7) == reverse("price", args=[7]) + "#yes"
    assert page_address("#work", 7) == reverse("job", args=[7]) + "#work"
    assert page_address("comeback", 7) == reverse("take_in") + "?comeback=7"


# --- the gauge --------------------------------------------------------------------------------------


def states(marks):
    return [mark.state for mark in marks]


def test_the_gauge_is_the_way_of_a_job_that_goes_as_hoped():
    marks = gauge(S.PRICED)
    assert [mark.word for mark in marks] == list(GAUGE)
    assert states(marks) == ["done", "done", "now", "ahead", "ahead", "ahead", "ahead", "ahead"]


def test_a_waiting_job_stands_where_it_began_to_wait_and_says_what_for():
    marks = gauge(S.WAITING, S.ON_THE_BENCH, WaitingFor.PART)
    now = next(mark for mark in marks if mark.state == "now")
    assert (now.word, now.note) == ("on the bench", "waiting for a part")


def test_a_job_sent_back_ends_where_it_left_the_way():
    marks = gauge(S.SENT_BACK, S.PRICED)
    assert [mark.word for mark in marks[:3]] == ["arrived", "looked over", "priced"]
    assert states(marks[:3]) == ["done"] * 3
    assert (marks[-1].word, marks[-1].state) == ("sent back unmended", "now")
    assert "agreed" not in [mark.word for mark in marks]


@pytest.mark.parametrize("standing", list(Standing))
def test_every_job_stands_at_one_mark_and_one_only(standing):
    assert states(gauge(standing)).count("now") == 1


def test_a_wait_says_until_when_and_is_yours_again_when_that_is_past():
    waiting = {"standing": S.WAITING, "waiting_for": WaitingFor.CURING}
    before = next_step(Facts(**waiting, wait=Wait("3 May 2024, 14:05", over=False)))
    after = next_step(Facts(**waiting, wait=Wait("3 May 2024, 14:05", over=True)))
    assert before.why.startswith("Until 3 May 2024, 14:05. ")
    assert not before.yours
    assert after.sentence == "see whether it has cured"
    assert "3 May 2024, 14:05" in after.why
    assert after.yours
