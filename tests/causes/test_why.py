"""
What raised and lowered a fault, on a net worked by hand: Bayes' rule in odds.

One fault of odds 1:9 shows a sign in 8 of 10 cases, nothing else in 2 of 10: the sign's likelihood ratio is
(1 - 0.2 * 0.8) / 0.2 = 4.2, with what shows it being either the leak or the fault (noisy-OR; Pearl 1988,
memory).
"""

from __future__ import annotations

import math

import pytest

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault, Raised, Shown, Sign
from pegwood.causes.weighing import weigh
from pegwood.causes.why import why

GUM = Fault(id="gum", name="gummed", part="train", prior=0.1, raised=(Raised(by="unused-long", odds=3),))
RUST = Fault(id="rust", name="rusted", part="train", prior=0.05)
HANGS = Sign(
    id="hangs",
    asks="Does it hang?",
    by="ear",
    minutes=1,
    leak=(0.8, 0.2),
    shown_by=(Shown(fault="gum", shows=(0.2, 0.8)),),
)
BROWN = Sign(
    id="brown",
    asks="Is it brown?",
    by="eye",
    minutes=1,
    leak=(1.0, 0.0),
    shown_by=(Shown(fault="rust", shows=(0.1, 0.9)),),
)
SLOW = Sign(
    id="slow",
    asks="Is it slow?",
    by="ear",
    minutes=1,
    leak=(0.9, 0.1),
    shown_by=(Shown(fault="gum", shows=(0.3, 0.7)), Shown(fault="rust", shows=(0.3, 0.7))),
)
CAUSES = FamilyCauses(
    family="one",
    faults={one.id: one for one in (GUM, RUST)},
    signs={one.id: one for one in (HANGS, BROWN, SLOW)},
)
NO, YES = (1.0, 0.0), (0.0, 1.0)


def test_each_reason_multiplies_the_odds_by_its_likelihood_ratio():
    case = Case(told=frozenset(["unused-long"]), answers={"hangs": YES, "brown": NO})
    found = why(CAUSES, case, "gum")
    story, hangs, brown = found.reasons
    # Of cameras of which nothing is told half were unused long (the story's figure), and 1 of 10 is gummed.
    # With odds o where it was used and 3 o where not: o / (1 + o) + 3 o / (1 + 3 o) = 2 / 10.
    odds = 3 * (-3.2 + math.sqrt(3.2**2 + 4 * 5.4 * 0.2)) / (2 * 5.4)
    assert (found.before, story.kind) == (pytest.approx(0.1), "story")
    assert story.chance == pytest.approx(odds / (1 + odds))
    assert (hangs.kind, hangs.factor) == ("sign", pytest.approx(4.2))
    assert (brown.factor, brown.changes) == (pytest.approx(1), False)  # nothing links it to gum
    assert found.now == pytest.approx(4.2 * odds / (1 + 4.2 * odds))
    assert hangs.without == pytest.approx(odds / (1 + odds))


def test_the_steps_add_up_to_the_whole_change():
    case = Case(
        told=frozenset(["unused-long"]),
        answers={"slow": YES, "hangs": NO},
        rulings={"rust": True},
        odds={"gum": 5.0},
    )
    found = why(CAUSES, case, "gum")
    assert [one.kind for one in found.reasons] == ["story", "finding", "sign", "sign", "ruling"]
    whole = math.log(found.now / (1 - found.now)) - math.log(found.before / (1 - found.before))
    assert math.fsum(one.log_odds for one in found.reasons) == pytest.approx(whole)
    assert found.now == weigh(CAUSES, case).chances["gum"]


def test_a_fault_that_was_found_explains_a_sign_away():
    # with rust there it is slow in 1 - 0.9 * 0.3 of cases without gum, and in 1 - 0.9 * 0.3 * 0.3 with it
    found = why(CAUSES, Case(answers={"slow": YES}, rulings={"rust": True}), "gum")
    ruling = found.reasons[-1]
    assert ruling.log_odds < 0
    assert found.now == pytest.approx(0.1 * 0.919 / (0.1 * 0.919 + 0.9 * 0.73))


def test_what_was_ruled_needs_no_other_reason():
    found = why(CAUSES, Case(answers={"hangs": YES}, rulings={"gum": False}), "gum")
    assert found.now == 0
    assert [one.kind for one in found.reasons] == ["ruling"]
    with pytest.raises(ValueError, match="'soul' is no fault"):
        why(CAUSES, Case(), "soul")
