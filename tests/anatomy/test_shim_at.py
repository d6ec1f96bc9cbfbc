"""Whether a shim belongs at a place: never said where another could be meant."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from pegwood.anatomy.bench_log import Kept, TakenOff
from pegwood.anatomy.rebuilding import shim_at


def log(*shims):
    kept = tuple(
        Kept(id=place, kind="shim", place=place, thickness_mm=thickness, thickness_u_mm=u)
        for place, thickness, u in shims
    )
    return (TakenOff(id="s1", number=1, name="struts", kept=kept),)


LEFT, RIGHT = ("left strut", 0.10, 0.003), ("right strut", 0.15, 0.003)


def test_the_shim_of_the_place_fits():
    found = shim_at(log(LEFT, RIGHT), "left strut", 0.101, 0.003)
    assert found.verdict == "fits"
    assert found.says == (
        "It fits: 0.101 ± 0.006 mm (k = 2) in hand, 0.1 ± 0.006 mm logged for the left strut."
    )


def test_a_swapped_shim_is_named_by_the_place_it_came_from():
    found = shim_at(log(LEFT, RIGHT), "left strut", 0.149, 0.003)
    assert found.verdict == "does not fit"
    assert "it is that of the right strut (0.15 ± 0.006 mm)" in found.says
    assert [one.place for one in found.others] == ["right strut"]


def test_a_shim_of_nowhere_fits_nowhere():
    found = shim_at(log(LEFT, RIGHT), "left strut", 0.3, 0.003)
    assert (found.verdict, found.others) == ("does not fit", ())
    assert "no other shim of the log is so thick" in found.says


def test_two_that_differ_by_less_than_can_be_told_are_said_to_be_so():
    near = ("right strut", 0.107, 0.003)  # 0.007 apart; 1.96 * sqrt(2) * 0.003 = 0.0083
    for measured in (0.098, 0.100, 0.103):
        found = shim_at(log(LEFT, near), "left strut", measured, 0.003)
        assert found.verdict == "cannot be told apart"
        assert "cannot be told apart from that of the right strut (0.107 ± 0.006 mm)" in found.says


def test_one_that_nobody_measured_could_be_any():
    assert shim_at(log(LEFT, ("right strut", None, None)), "left strut", 0.1, 0.003).verdict == (
        "cannot be told apart"
    )
    swapped = shim_at(log(LEFT, ("right strut", None, None)), "left strut", 0.2, 0.003)
    assert swapped.verdict == "does not fit"
    assert "it may be that of the right strut (not measured)" in swapped.says
    assert shim_at(log(("left strut", 0.1, None), RIGHT), "left strut", 0.1, 0.003).verdict == "not known"


def test_a_bad_figure_or_an_unknown_place_is_refused():
    with pytest.raises(ValueError, match="'hinge' is no shim or washer"):
        shim_at(log(LEFT), "hinge", 0.1, 0.003)
    with pytest.raises(ValueError, match="its uncertainty is 0"):
        shim_at(log(LEFT), "left strut", 0.1, 0.0)


THICK = st.floats(0.02, 0.6)
U = st.floats(0.0005, 0.02)


@given(st.lists(st.tuples(THICK, U), min_size=2, max_size=5), THICK, U)
def test_it_never_says_fits_where_another_could_be_meant(shims, measured, u):
    found = shim_at(log(*((str(n), *shim) for n, shim in enumerate(shims))), "0", measured, u)

    def told_apart(one, other):  # two-sided p-value of the difference, by another route
        return 2 * norm.sf(abs(one[0] - other[0]) / (one[1] ** 2 + other[1] ** 2) ** 0.5) < 0.05

    hand = (measured, u)
    if found.verdict == "fits":
        assert not told_apart(hand, shims[0])
        assert all(told_apart(hand, other) and told_apart(shims[0], other) for other in shims[1:])
    if found.verdict == "does not fit":
        assert told_apart(hand, shims[0])
