"""A step done as planned leaves the rest of the plan, and planning anew from there finds nothing cheaper."""

from __future__ import annotations

import random

import pytest

from pegwood.anatomy.construction import constructions
from pegwood.anatomy.planning.plan import plan


@pytest.mark.parametrize("family", ["box", "folding-roll-front-cell", "twin-lens-reflex"])
def test_the_rest_of_a_plan_is_what_would_be_planned_anew(family):
    construction = constructions()[family]
    rng = random.Random(f"rest of {family}")
    reach = rng.sample(sorted(part.id for part in construction.parts.values() if part.ways), 3)
    rest = plan(construction, reach)
    assert len(rest.steps) > 3
    while rest.steps:
        done = rest.steps[0]
        rest = rest.after_first()
        anew = plan(
            construction,
            [part for part in reach if part not in rest.off],
            rest.off,
            in_hand=(done.way.tool, done.way.side),
        )
        assert rest.cost == pytest.approx(anew.cost)
        assert rest.minutes == pytest.approx(anew.minutes, abs=rest.order_gap_min + anew.order_gap_min + 1e-9)
        assert rest.gap == pytest.approx(anew.gap)
    with pytest.raises(ValueError, match="nothing is left"):
        rest.after_first()
