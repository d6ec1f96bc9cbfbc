"""A family's faults and signs, put together from its mechanisms' and weighed after a story."""

from __future__ import annotations

import pytest

from causes.test_known import REFERENCE, TRAIN, read
from pegwood.anatomy.construction import read_construction
from pegwood.anatomy.mechanism import read_mechanism
from pegwood.causes.family_net import family_causes
from pegwood.causes.inference import posterior

BODY = read_mechanism(
    'id = "body"\nname = "body"\nsource = "a test"\nmark = "practice"\n'
    '[[part]]\nid = "lid"\nname = "lid"\nmaterials = ["brass"]\n',
    "body.toml",
    REFERENCE,
)
FAMILY = """\
id = "one"
name = "one"
source = "a test"
mark = "practice"
[[use]]
mechanism = "body"
called = "body"
[[use]]
mechanism = "train"
called = "slow"
bind = [{ need = "cover", part = "body.lid" }]
"""


def causes(text: str = FAMILY):
    construction = read_construction(text, "one.toml", {"train": TRAIN, "body": BODY})
    return family_causes(construction, {"train": read()})


def test_faults_signs_and_what_must_be_off_bear_the_familys_ids():
    found = causes()
    assert set(found.faults) == {"slow.gummed", "slow.bent"}
    assert found.faults["slow.gummed"].part == "slow.pallet"
    assert found.faults["slow.gummed"].mends[0].breaks[0].fault == "slow.bent"
    assert found.signs["slow.hangs"].off == ("body.lid",)
    assert found.faults["slow.bent"].source == "common practice at the bench"


def test_what_the_family_lacks_has_no_faults_and_is_in_nobodys_way():
    without = FAMILY.replace('part = "body.lid" }]', 'part = "" }]')
    assert causes(without).signs["slow.hangs"].off == ()
    bare = FAMILY.replace('called = "slow"', 'called = "slow"\nwithout = ["pallet"]')
    assert (causes(bare).faults, causes(bare).signs) == ({}, {})


def test_a_story_multiplies_the_odds_and_signs_are_weighed_after_it():
    found = causes()
    before, after = found.net(), found.net(["unserved-long"])
    odds = 0.3 / 0.7 * 3  # the fault's own odds, times those of the story: Bayes' rule in odds
    assert before.priors["slow.gummed"] == pytest.approx(0.3)
    assert after.priors["slow.gummed"] == pytest.approx(odds / (1 + odds))
    assert after.priors["slow.bent"] == before.priors["slow.bent"]
    heard = {"slow.hangs": (0.0, 1.0)}
    assert posterior(after, heard).faults["slow.gummed"] > posterior(before, heard).faults["slow.gummed"]
    with pytest.raises(ValueError, match="'cursed' is nothing of a story"):
        found.net(["cursed"])
