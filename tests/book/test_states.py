"""Where a job may go from where it stands, held to the standings of the design."""

import pytest

from pegwood.book.states import GAUGE, MOVES, OVER, Move, NotNow, Standing, destination, open_moves

# The standings as the design lists them, typed here again by hand.
OF_THE_DESIGN = {
    "arrived", "looked over", "priced", "agreed", "on the bench", "waiting", "proving", "ready", "gone home",
    "sent back unmended", "kept for parts",
}  # fmt: skip


def test_a_job_stands_only_where_the_design_says():
    assert {standing.value for standing in Standing} == OF_THE_DESIGN
    assert set(MOVES) == set(Standing)


def test_the_hoped_for_way_leads_along_the_gauge():
    way = [Move.LOOK_OVER, Move.TELL_PRICE, Move.AGREE, Move.TAKE_ON, Move.PROVE, Move.PASS, Move.HAND_BACK]
    stood = [Standing.ARRIVED]
    for move in way:
        stood.append(destination(stood[-1], move))
    assert tuple(stood) == GAUGE


def test_every_standing_can_be_reached_from_arrival():
    reached, todo = {Standing.ARRIVED}, [Standing.ARRIVED]
    while todo:
        for after in MOVES[todo.pop()].values():
            if after not in reached:
                reached.add(after)
                todo.append(after)
    assert reached == set(Standing)


@pytest.mark.parametrize("standing", sorted(set(Standing) - OVER))
def test_no_open_job_is_stuck(standing):
    assert open_moves(standing)


@pytest.mark.parametrize("before", [Standing.AGREED, Standing.ON_THE_BENCH, Standing.PROVING])
def test_a_waiting_job_goes_back_to_where_it_was(before):
    assert destination(before, Move.WAIT) is Standing.WAITING
    assert destination(Standing.WAITING, Move.GO_ON, came_from=before) is before


@pytest.mark.parametrize("standing", sorted(OVER))
@pytest.mark.parametrize("move", sorted(set(Move) - {Move.TAKE_BACK}))
def test_nothing_moves_a_job_that_is_over(standing, move):
    with pytest.raises(NotNow, match="the job is over"):
        destination(standing, move)


@pytest.mark.parametrize("before", [Standing.ARRIVED, Standing.ON_THE_BENCH, Standing.WAITING])
def test_a_slip_is_taken_back_to_where_the_job_was(before):
    over = destination(before, Move.SEND_BACK)
    assert destination(over, Move.TAKE_BACK, came_from=before) is before


def test_nothing_but_the_end_of_a_job_is_taken_back():
    with pytest.raises(NotNow, match="when it was a slip"):
        destination(Standing.READY, Move.TAKE_BACK)


def test_work_cannot_begin_before_the_owner_said_yes():
    with pytest.raises(NotNow, match="stands at 'priced', and the owner has not said yes yet"):
        destination(Standing.PRICED, Move.TAKE_ON)


def test_a_camera_is_not_handed_back_before_it_was_proved():
    with pytest.raises(NotNow, match="only a job that is ready can be handed back"):
        destination(Standing.ON_THE_BENCH, Move.HAND_BACK)


def test_every_refusal_names_the_standing_and_a_reason():
    for standing in set(Standing) - OVER:
        for move in set(Move) - set(MOVES[standing]):
            with pytest.raises(NotNow) as refusal:
                destination(standing, move)
            assert f"'{standing}'" in str(refusal.value)
            assert ", and " in str(refusal.value)
