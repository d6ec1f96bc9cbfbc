"""A case weighed as a whole: what is told of it besides the chances."""

from __future__ import annotations

from dataclasses import replace

import pytest

from causes.test_why import CAUSES, GUM, NO, YES
from pegwood.causes import weighing
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.inference import TooWide, in_rows, rows
from pegwood.causes.known import Raised
from pegwood.causes.story import TRACED
from pegwood.causes.weighing import _posterior, _weighed, chances_of, weigh


def test_a_sign_that_no_likely_fault_shows_is_told_and_not_smoothed_over():
    hangs = weigh(CAUSES, Case(answers={"hangs": YES}, rulings={"gum": False}))
    assert [(one.sign.id, one.chance) for one in hangs.unexplained] == [("hangs", 1.0)]
    # the leak alone shows it in 0.2 of the cameras; with the fault there it is 1 - 0.2 * 0.8
    with_gum = weigh(CAUSES, Case(answers={"hangs": YES}, rulings={"gum": True}))
    assert not with_gum.unexplained


def test_a_sign_that_only_the_leak_shows_is_told_with_how_likely_that_is():
    # by hand: no fault shows it in (0.9 + 0.1 * 0.2) * 0.2 of all cameras, of 0.9 * 0.2 + 0.1 * 0.84 with it
    alone = (0.9 + 0.1 * 0.2) * 0.2 / (0.9 * 0.2 + 0.1 * 0.84)
    (told,) = weigh(CAUSES, Case(answers={"hangs": YES})).unexplained
    assert told.chance == pytest.approx(alone)


def test_what_cannot_be_is_told_and_leaves_the_chances_as_they_were():
    # nothing but rust makes it brown, and somebody says that there is none
    found = weigh(CAUSES, Case(answers={"brown": YES}, rulings={"rust": False}))
    assert (found.is_possible, found.evidence_p) == (False, 0)
    assert found.chances == {"gum": pytest.approx(0.1), "rust": 0}
    assert chances_of(CAUSES, Case(rulings={"rust": False}), "brown") == (1, 0)
    assert chances_of(CAUSES, Case(answers={"brown": YES}, rulings={"rust": False}), "hangs") is None


def test_how_likely_each_answer_was_before_it_came():
    came = 0.9 * 0.2 + 0.1 * 0.84
    assert chances_of(CAUSES, Case(), "hangs") == pytest.approx((1 - came, came))
    seen = Case(answers={"brown": YES, "slow": NO})
    before = replace(seen, answers={"slow": NO})
    assert chances_of(CAUSES, seen, "brown") == pytest.approx(chances_of(CAUSES, before, "brown"))


def test_what_the_family_no_longer_knows_is_left_out_of_a_case():
    case = Case(
        answers={"hangs": YES, "gone": YES, "brown": (0.2, 0.3, 0.5)},
        unanswered=frozenset(["slow", "gone"]),
        rulings={"gum": True, "gone": True},
        odds={"gone": 3.0},
    )
    kept = case.within(CAUSES)
    assert kept == Case(answers={"hangs": YES}, unanswered=frozenset(["slow"]), rulings={"gum": True})


def test_a_family_without_faults_has_nothing_likely():
    found = weigh(FamilyCauses(family="bare", faults={}, signs={}), Case())
    assert (found.faults, found.evidence_p) == ((), pytest.approx(1))


@pytest.mark.parametrize(("told", "off"), [(frozenset(), 1.0), (frozenset(TRACED), 0.2)])
def test_what_is_too_wide_to_be_exact_says_so_and_how_far_off_it_may_be(monkeypatch, told, off):
    """With no unknown story left the bound holds; else nobody can say how far off it is."""
    case = Case(told=told, answers={"slow": YES, "hangs": YES, "brown": YES})
    exact = weigh(CAUSES, case)
    assert not exact.approximate
    _weighed.cache_clear()
    _posterior.cache_clear()
    for where in (rows, in_rows):
        monkeypatch.setattr(where, "LARGEST_TABLE", 0)
    near = weigh(CAUSES, case)
    _weighed.cache_clear()
    _posterior.cache_clear()
    assert near.approximate
    assert near.off == 1.0 if off == 1 else near.off <= off
    for fault, chance in near.chances.items():
        assert abs(chance - exact.chances[fault]) <= near.off


def test_what_nothing_can_reckon_with_keeps_what_was_ruled_and_says_that_nobody_can_say(monkeypatch):
    """Also then an answer is kept and a page shown: nothing of the book hangs on the reckoning."""

    def too_wide(*_args: object) -> None:
        raise TooWide(1 << 30)

    for name in ("posterior_over_stories", "posterior_or_near"):
        monkeypatch.setattr(weighing, name, lambda *_args, **_kwargs: too_wide())
    _weighed.cache_clear()
    _posterior.cache_clear()
    found = weigh(CAUSES, Case(answers={"slow": YES}, rulings={"rust": True}))
    assert (found.approximate, found.off, found.chances["rust"]) == (True, 1.0, 1.0)
    assert chances_of(CAUSES, Case(answers={"slow": YES}), "hangs") is None
    _weighed.cache_clear()
    _posterior.cache_clear()


def test_what_is_ruled_against_all_odds_is_possible():
    sure = replace(GUM, prior=0.5, raised=tuple(Raised(by=one, odds=1000) for one in TRACED))
    causes = replace(CAUSES, faults={**CAUSES.faults, "gum": sure})
    found = weigh(causes, Case(told=frozenset(TRACED), rulings={"gum": False}, answers={"hangs": NO}))
    assert found.is_possible
    assert all(0 <= chance <= 1 for chance in found.chances.values())
