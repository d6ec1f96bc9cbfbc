"""When to ask the owner again, what a deposit is, what keeping a camera costs."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.pricing.agreed import Reach, deposit_of, reach, storage_due
from pegwood.pricing.money import Money, MoneyError

MINOR = st.integers(0, 10**9)


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


@pytest.mark.parametrize(
    ("expected", "most", "done", "state", "over", "now"),
    [
        (15000, None, None, Reach.WITHIN, 0, False),
        (18000, 18000, 18000, Reach.WITHIN, 0, False),  # up to the sum is within it
        (15000, 19000, None, Reach.MAY_PASS, 1000, False),
        (18001, 25000, 9000, Reach.WILL_PASS, 1, True),
        (21000, 25000, 18500, Reach.PASSED, 500, True),
    ],
)
def test_the_owner_is_asked_before_the_sum_is_passed(expected, most, done, state, over, now):
    most, done = (None if figure is None else euros(figure) for figure in (most, done))
    ask = reach(euros(18000), euros(expected), not_more_than=most, done=done)
    assert (ask.reach, ask.over, ask.now) == (state, euros(over), now)


@given(MINOR, MINOR, MINOR)
def test_a_growing_sum_never_calms_the_alarm(agreed, expected, more):
    order = list(Reach)
    before, after = (reach(euros(agreed), euros(sum_)) for sum_ in (expected, expected + more))
    assert order.index(after.reach) >= order.index(before.reach)
    assert after.over >= before.over


def test_two_currencies_are_not_held_against_each_other():
    with pytest.raises(MoneyError, match="one currency"):
        reach(euros(1), Money(1, "CHF"))


@given(MINOR, st.integers(0, 100), st.sampled_from([1, 5, 100, 500]))
def test_a_deposit_is_never_above_the_price(price, percent, step):
    deposit = deposit_of(euros(price), percent, step)
    assert 0 <= deposit.minor <= price
    assert abs(deposit.minor - price * percent / 100) <= step


def test_a_deposit_worked_by_hand():
    # a third of 145.00 is 47.85 at 33 %, 48.00 in whole euros
    assert deposit_of(euros(14500), 33, 100) == euros(4800)
    with pytest.raises(MoneyError, match="0 to 100"):
        deposit_of(euros(1), 101)


@pytest.mark.parametrize(
    ("days", "weeks"), [(0, 0), (30, 0), (31, 1), (37, 1), (38, 2), (44, 2), (30 + 70, 10)]
)
def test_keeping_costs_nothing_at_first_and_then_for_every_week_begun(days, weeks):
    ready = date(2031, 3, 3)
    due = storage_due(ready, ready + timedelta(days=days), 30, euros(250))
    assert due == euros(250 * weeks)
