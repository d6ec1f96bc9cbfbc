"""A factor on a fault's odds is the same as a sign that only this fault shows."""

from __future__ import annotations

import math

import pytest

from pegwood.causes.inference import FaultNet, Link, SignNode, posterior, with_odds

NET = FaultNet(
    {"rust": 0.02, "grease": 0.3},
    {"stiff": SignNode(id="stiff", leak=(0.95, 0.05))},
    (
        Link(fault="rust", sign="stiff", shows=(0.2, 0.8)),
        Link(fault="grease", sign="stiff", shows=(0.4, 0.6)),
    ),
)


def test_the_odds_are_multiplied():
    priors = with_odds(NET, {"rust": 98.0}).priors
    assert priors == pytest.approx({"rust": 98 * 0.02 / (98 * 0.02 + 0.98), "grease": 0.3})


@pytest.mark.parametrize("seen", [{}, {"stiff": (0, 1)}, {"stiff": (1, 0)}, {"stiff": (0.3, 1)}])
def test_it_weighs_as_a_sign_of_that_fault_alone_does(seen):
    # seen with rust in 1 - 0.5 * 0.9 = 0.55 of all cameras and without in 0.1: 5.5 times as often
    signs = {**NET.signs, "brown": SignNode(id="brown", leak=(0.9, 0.1))}
    links = (*NET.links, Link(fault="rust", sign="brown", shows=(0.5, 0.5)))
    asked = posterior(FaultNet(NET.priors, signs, links), {**seen, "brown": (0, 1)})
    assert posterior(with_odds(NET, {"rust": 5.5}), seen).faults == pytest.approx(asked.faults, abs=1e-12)


def test_what_is_certain_stays_certain():
    net = FaultNet({"there": 1.0, "never": 0.0}, {}, ())
    assert with_odds(net, {"there": 0.01, "never": 100.0}).priors == {"there": 1.0, "never": 0.0}


@pytest.mark.parametrize(
    ("factors", "says"),
    [
        ({"sand": 2.0}, "'sand' is no fault here"),
        ({"rust": 0.0}, "Expected above 0"),
        ({"rust": math.inf}, "above 0"),
    ],
)
def test_what_cannot_be_is_refused(factors, says):
    with pytest.raises(ValueError, match=says):
        with_odds(NET, factors)
