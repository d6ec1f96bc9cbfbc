"""A family's faults and signs, put together from its mechanisms' and weighed after a story."""

from __future__ import annotations

import pytest

from causes.test_known import REFERENCE, TRAIN, read
from pegwood.anatomy.construction import read_construction
from pegwood.anatomy.mechanism import read_mechanism
from pegwood.causes.family_net import family_causes
from pegwood.causes.inference import posterior
from pegwood.causes.story import COMMON, STORY, denied

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


def test_what_a_finding_and_a_reading_answer_bears_the_familys_ids():
    found = causes()
    assert found.faults["slow.gummed"].also == ("body.lid",)
    assert found.signs["slow.hangs"].answered.parts == ("slow.pallet",)
    assert found.signs["slow.long"].reads.edges == (0.5,)
    without = causes(FAMILY.replace('part = "body.lid" }]', 'part = "" }]'))
    assert without.faults["slow.gummed"].also == ()


def test_what_the_family_lacks_has_no_faults_and_is_in_nobodys_way():
    without = FAMILY.replace('part = "body.lid" }]', 'part = "" }]')
    assert causes(without).signs["slow.hangs"].off == ()
    bare = FAMILY.replace('called = "slow"', 'called = "slow"\nwithout = ["pallet"]')
    assert (causes(bare).faults, causes(bare).signs) == ({}, {})


def odds(chance: float) -> float:
    return chance / (1 - chance)


def test_a_story_multiplies_the_odds_and_signs_are_weighed_after_it():
    found = causes()
    unknown, told, denied = found.net(), found.net(["unserved-long"]), found.net([], ["unserved-long"])
    gummed = [net.priors["slow.gummed"] for net in (unknown, told, denied)]
    assert gummed[0] == pytest.approx(0.3)
    assert odds(gummed[1]) == pytest.approx(3 * odds(gummed[2])), "as the file has it"
    share = COMMON["unserved-long"]
    assert gummed[0] == pytest.approx(share * gummed[1] + (1 - share) * gummed[2]), "the rule of total chance"
    assert told.priors["slow.bent"] == pytest.approx(unknown.priors["slow.bent"])
    heard = {"slow.hangs": (0.0, 1.0)}
    assert posterior(told, heard).faults["slow.gummed"] > posterior(unknown, heard).faults["slow.gummed"]


def test_a_story_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="'cursed' is nothing of a story"):
        causes().net(["cursed"])
    with pytest.raises(ValueError, match="'sand' is told and denied at once"):
        causes().net(["sand"], ["sand"])


def test_everything_of_a_story_has_words_for_its_denial():
    assert all(denied(item) and denied(item) != said for item, said in STORY.items())
