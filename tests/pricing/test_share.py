"""A sum shared out: no minor unit is lost or made."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.pricing.money import Money, MoneyError
from pegwood.pricing.share import share_out

WEIGHTS = st.lists(st.integers(0, 10**6), min_size=1, max_size=12).filter(any)
SUMS = st.integers(-(10**12), 10**12)


def shared(minor: int, weights) -> list[int]:
    return [share.minor for share in share_out(Money(minor, "EUR"), weights)]


@pytest.mark.parametrize(
    ("minor", "weights", "shares"),
    [
        # Ten seats on 100,000 votes, the usual example of the method (memory), done again by hand: the quotas
        # are 4.70, 1.60, 1.59, 1.20, .60, .31; seven seats are whole, three go to .70, .60 and .60.
        (10, [47000, 16000, 15900, 12000, 6000, 3100], [5, 2, 1, 1, 1, 0]),
        (100, [1, 1, 1], [34, 33, 33]),
        (-100, [1, 1, 1], [-34, -33, -33]),
        (5, [0, 3, 0], [0, 5, 0]),
        (1, [Fraction(1, 3), Fraction(2, 3)], [0, 1]),
    ],
)
def test_shares_are_those_of_the_largest_remainders(minor, weights, shares):
    assert shared(minor, weights) == shares


@given(SUMS, WEIGHTS)
def test_shares_add_up_and_none_is_off_by_a_whole_unit(minor, weights):
    shares = shared(minor, weights)
    assert sum(shares) == minor
    for share, weight in zip(shares, weights, strict=True):
        assert abs(share - Fraction(minor * weight, sum(weights))) < 1


@given(SUMS, WEIGHTS)
def test_what_is_owed_back_is_shared_like_what_is_owed(minor, weights):
    assert shared(-minor, weights) == [-share for share in shared(minor, weights)]


@pytest.mark.parametrize("weights", [[], [0, 0], [2, -1]])
def test_weights_that_share_nothing_are_refused(weights):
    with pytest.raises(MoneyError, match="above it"):
        shared(5, weights)
