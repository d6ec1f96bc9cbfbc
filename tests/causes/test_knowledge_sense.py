"""
Whether what comes along makes sense as a whole: enough of it, faults that can be told apart, sane numbers.

The bounds are practice: nobody has counted faults of cameras that come in for repair.
"""

from __future__ import annotations

import itertools
import math

import pytest

from pegwood.anatomy.construction import constructions
from pegwood.anatomy.mechanism import mechanisms
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import knowledge
from pegwood.causes.story import COMMON, STORY, TRACED
from pegwood.trade.materials import MATERIALS
from pegwood.trade.reference import Reference

FAMILIES = {one.id: family_causes(one, knowledge()) for one in constructions().values()}
ALL = tuple(knowledge().values())
EACH_FAMILY = pytest.mark.parametrize("causes", FAMILIES.values(), ids=FAMILIES)

#: Answers of which the worse hides the lesser, though other faults show it: real grades of one thing.
HIDES = {
    ("box-shutter", "spring-look"),  # one spring: stretched, or off
    ("coupled-rangefinder", "patch"),  # faint, or none
    ("uncoupled-rangefinder", "patch"),
    ("film-counter", "runs-home"),  # part way, or not at all
    ("leaf-shutter-cocking-ring", "cock-feel"),  # a lever that is limp or blocked cannot feel stiff too
    ("leaf-shutter-everset", "press-feel"),
    ("lever-advance-sprocket-clutch", "stroke-feel"),  # what is rough is felt before what is stiff
    ("twin-lens-crank-advance", "crank-feel"),
    ("winding-knob-35", "knob-feel"),
}


def test_every_mechanism_has_its_knowledge():
    assert knowledge().keys() == mechanisms().keys()


@EACH_FAMILY
def test_every_family_has_enough_faults_and_signs(causes):
    assert len(causes.faults) >= 25
    assert len(causes.signs) >= 30


def test_the_richest_family_has_what_was_asked_for():
    richest = max(FAMILIES.values(), key=lambda one: len(one.faults))
    assert len(richest.faults) >= 60
    assert len(richest.signs) >= 120


def test_every_fault_can_be_mended():
    assert [fault.id for known in ALL for fault in known.fault if not fault.mends] == []


def test_every_fault_has_a_sign_that_speaks_for_it():
    """Some answer is four times as likely with it as without any fault, and comes in three of ten."""
    best: dict[tuple[str, str], float] = {}
    for known in ALL:
        for sign in known.sign:
            for one in sign.shown_by:
                for level in range(1, len(sign.answers)):
                    shows, leak = math.fsum(one.shows[level:]), math.fsum(sign.leak[level:])
                    if shows >= 0.3:
                        speaks = (shows + leak - shows * leak) / leak
                        at = known.mechanism, one.fault
                        best[at] = max(best.get(at, 0.0), speaks)
    every = {(known.mechanism, fault.id) for known in ALL for fault in known.fault}
    assert {at for at in every if best.get(at, 0.0) < 4} == set()


def test_no_answer_comes_rather_from_nothing_than_from_its_faults():
    rather = []
    for known in ALL:
        for sign in known.sign:
            causes = [one.shows for one in (*sign.shown_by, *sign.tells_of)]
            for level in range(1, len(sign.answers)):
                reaching = max(math.fsum(shows[level:]) for shows in causes)
                if reaching <= 2 * math.fsum(sign.leak[level:]):
                    rather.append((known.mechanism, sign.id, sign.answers[level]))
    assert rather == []


def test_the_answers_of_a_sign_are_grades_of_one_thing():
    """What is seen is the highest level that a cause shows: two kinds of thing on one scale were wrong."""
    two_kinds = set()
    for known in ALL:
        for sign in known.sign:
            for low, high in itertools.combinations(range(1, len(sign.answers)), 2):
                only_low = any(one.shows[low] >= 0.5 and one.shows[high] <= 0.1 for one in sign.shown_by)
                only_high = any(one.shows[high] >= 0.5 and one.shows[low] <= 0.1 for one in sign.shown_by)
                if only_low and only_high:
                    two_kinds.add((known.mechanism, sign.id))
    assert two_kinds == HIDES


def test_what_salt_water_does_fresh_water_does_less():
    for known in ALL:
        for fault in known.fault:
            odds = {one.by: one.odds for one in fault.raised}
            if "soaked-salt" in odds:
                assert odds["soaked-fresh"] > 1, (known.mechanism, fault.id)
                if fault.id != "washed-out":  # salts in a thread do not wash its grease away
                    assert odds["soaked-fresh"] <= odds["soaked-salt"], (known.mechanism, fault.id)


@EACH_FAMILY
def test_a_camera_of_unknown_history_has_some_faults_but_not_many(causes):
    expected = sum(causes.net().priors.values())
    assert 0.05 * len(causes.faults) < expected < 0.16 * len(causes.faults)
    assert 2 < expected < 20


@EACH_FAMILY
def test_nothing_in_a_story_doubles_the_number_of_faults(causes):
    for told in STORY:
        with_it = sum(causes.net([told]).priors.values())
        without = sum(causes.net([], [told]).priors.values())
        assert without <= with_it < 2 * without, told


@EACH_FAMILY
def test_what_leaves_traces_can_be_read_off_every_family_unless_it_bears_on_nothing_there(causes):
    tells = {one.by for sign in causes.signs.values() for one in sign.tells_of}
    assert {"earlier-repair", "soaked-fresh", "soaked-salt", "sand"} <= tells <= set(TRACED)


def test_everything_in_a_story_is_so_common_and_bears_on_something():
    assert COMMON.keys() == STORY.keys()
    assert set(TRACED) <= STORY.keys()
    by = {one.by for known in knowledge().values() for fault in known.fault for one in fault.raised}
    assert by == STORY.keys()


def test_the_materials_that_the_order_of_rust_goes_by_are_the_trades():
    named = set(map(str, Reference().rows(MATERIALS)))
    assert {"steel", "blued-steel", "stainless-steel", "nickel-plate", "chromium-plate"} <= named
