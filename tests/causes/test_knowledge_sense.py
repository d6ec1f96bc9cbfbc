"""
Whether what comes along makes sense as a whole: enough of it, faults that can be told apart, sane numbers.

The bounds are practice: nobody has counted faults of cameras that come in for repair.
"""

from __future__ import annotations

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
MECHANISMS = pytest.mark.parametrize("known", knowledge().values(), ids=knowledge())
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


@MECHANISMS
def test_every_fault_can_be_mended(known):
    assert [fault.id for fault in known.fault if not fault.mends] == []


@MECHANISMS
def test_every_fault_has_a_sign_that_speaks_for_it(known):
    """Some answer is four times as likely with it as without any fault, and comes in three of ten."""
    for fault in known.fault:
        best = 0.0
        for sign in known.sign:
            for one in sign.shown_by:
                for level in range(1, len(sign.answers)):
                    shows, leak = math.fsum(one.shows[level:]), math.fsum(sign.leak[level:])
                    if one.fault == fault.id and shows >= 0.3:
                        best = max(best, (shows + leak - shows * leak) / leak)
        assert best >= 4, fault.id


@MECHANISMS
def test_no_answer_comes_rather_from_nothing_than_from_its_faults(known):
    for sign in known.sign:
        for level in range(1, len(sign.answers)):
            causes = [one.shows for one in (*sign.shown_by, *sign.tells_of)]
            reaching = max(math.fsum(shows[level:]) for shows in causes)
            assert reaching > 2 * math.fsum(sign.leak[level:]), (sign.id, sign.answers[level])


@MECHANISMS
def test_the_answers_of_a_sign_are_grades_of_one_thing(known):
    """What is seen is the highest level that a cause shows: two kinds of thing on one scale were wrong."""
    for sign in known.sign:
        for low in range(1, len(sign.answers)):
            for high in range(low + 1, len(sign.answers)):
                only_low = any(one.shows[low] >= 0.5 and one.shows[high] <= 0.1 for one in sign.shown_by)
                only_high = any(one.shows[high] >= 0.5 and one.shows[low] <= 0.1 for one in sign.shown_by)
                is_two_kinds = only_low and only_high
                assert not is_two_kinds or (known.mechanism, sign.id) in HIDES, sign.id


@MECHANISMS
def test_what_water_does_fresh_water_does_less(known):
    for fault in known.fault:
        odds = {one.by: one.odds for one in fault.raised}
        if "soaked-salt" in odds:
            assert odds["soaked-fresh"] > 1, fault.id
        if {"soaked-salt", "soaked-fresh"} <= odds.keys() and fault.id != "washed-out":
            assert odds["soaked-fresh"] <= odds["soaked-salt"], "salt leaves all that water leaves, and more"


@EACH_FAMILY
def test_a_camera_of_unknown_history_has_some_faults_but_not_many(causes):
    expected = sum(causes.net().priors.values())
    assert 0.05 * len(causes.faults) < expected < 0.16 * len(causes.faults)
    assert 2 < expected < 20


@EACH_FAMILY
@pytest.mark.parametrize("told", STORY)
def test_nothing_in_a_story_doubles_the_number_of_faults(causes, told):
    with_it = sum(causes.net([told]).priors.values())
    without = sum(causes.net([], [told]).priors.values())
    assert without <= with_it < 2 * without


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
