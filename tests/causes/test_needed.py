"""Which parts a camera will need, against every set of faults gone through."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

from causes.small_cameras import causes, fault, sign
from pegwood.anatomy.construction import constructions
from pegwood.anatomy.parts import Minutes
from pegwood.causes.case import Case
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import Mend, knowledge
from pegwood.causes.needed import parts_needed, parts_taken

YES = (0.0, 1.0)


def mend(name: str, minutes: float, success: float, *parts: str) -> Mend:
    return Mend(
        name=name, minutes=Minutes(low=minutes, likely=minutes, high=minutes), success=success, parts=parts
    )


WEAK = replace(
    fault("weak", "cell", 0.3),
    mends=(mend("replaced", 50, 0.8, "cell"), mend("set back", 10, 0.6)),
)
CRACKED = replace(fault("cracked", "cell", 0.1), mends=(mend("replaced", 30, 0.9, "cell"),))
LOOSE = replace(fault("loose", "lead", 0.2), mends=(mend("soldered", 10, 1.0),))
PRIORS = {"weak": 0.3, "cracked": 0.1, "loose": 0.2}
SHOWN = {"weak": 0.9, "cracked": 0.7, "loose": 0.6}
LEAK = 0.05


@pytest.fixture
def meter():
    return causes([WEAK, CRACKED, LOOSE], [sign("low", 2, LEAK, SHOWN)])


def test_the_mend_that_costs_least_comes_first_and_the_next_only_where_it_fails():
    # setting back costs 10 / .6 = 17 min until it holds, replacing 50 / .8 = 63: so the cell in 4 of 10
    assert parts_taken(WEAK, {}) == pytest.approx({"cell": 0.4})
    assert parts_taken(CRACKED, {}) == {"cell": 1.0}
    assert parts_taken(LOOSE, {}) == {}


def test_a_part_that_two_faults_ask_for_is_needed_as_often_as_any_does(meter):
    shares = {"weak": 0.4, "cracked": 1.0, "loose": 0.0}
    total = needed = 0.0
    for there in itertools.product((False, True), repeat=3):
        state = dict(zip(PRIORS, there, strict=True))
        chance = math.prod(PRIORS[one] if so else 1 - PRIORS[one] for one, so in state.items())
        chance *= 1 - (1 - LEAK) * math.prod(1 - SHOWN[one] for one, so in state.items() if so)
        total += chance
        needed += chance * (1 - math.prod(1 - shares[one] for one, so in state.items() if so))
    (cell,) = parts_needed(meter, Case(answers={"low": YES}))
    assert cell.part == "cell"
    assert cell.chance == pytest.approx(needed / total, abs=1e-9)
    assert cell.chance < math.fsum(chance for _, chance in cell.by), "both may be there at once"


def test_what_was_found_asks_for_sure_and_what_is_ruled_out_does_not(meter):
    (cell,) = parts_needed(meter, Case(rulings={"cracked": True, "weak": False}))
    assert cell.chance == pytest.approx(1.0)
    assert cell.by[0] == ("cracked", 1.0)
    assert parts_needed(meter, Case(rulings={"cracked": False, "weak": False})) == ()


def test_every_family_that_came_asks_only_for_parts_that_it_has():
    for construction in constructions().values():
        asked = parts_needed(family_causes(construction, knowledge()), Case())
        assert {one.part for one in asked} <= construction.parts.keys(), construction.id
        assert all(0 < one.chance <= 1 for one in asked)
