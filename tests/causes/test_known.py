"""What is known of a mechanism's faults and signs: read whole, or refused with file, line and words."""

from __future__ import annotations

import pytest

from pegwood.anatomy.mechanism import read_mechanism
from pegwood.causes.known import knowledge, read_knowledge
from pegwood.trade.reference import Reference
from pegwood.trade.typed_toml import TableError

REFERENCE = Reference()
TRAIN = read_mechanism(
    """\
id = "train"
name = "train"
source = "a test"
mark = "practice"
needs = ["cover"]
[[part]]
id = "pallet"
name = "pallet"
materials = ["steel"]
""",
    "train.toml",
    REFERENCE,
)
TEXT = """\
mechanism = "train"
source = "common practice at the bench"
mark = "practice"

[[fault]]
id = "gummed"
name = "gummed train"
part = "pallet"
also = ["$cover"]
told = ["gummed"]
prior = 0.3
raised = [{ by = "unserved-long", odds = 3 }]
[[fault.mends]]
name = "bathed and oiled"
minutes = { low = 10, likely = 20, high = 60 }
success = 0.95
agents = ["naphtha"]
breaks = [{ fault = "bent", chance = 0.01 }]

[[fault]]
id = "bent"
name = "bent pallet"
part = "pallet"
prior = 0.01

[[sign]]
id = "hangs"
asks = "Fire at 1 s: does it hang?"
by = "ear"
minutes = 0.5
off = ["$cover"]
leak = [0.98, 0.02]
shown_by = [{ fault = "gummed", shows = [0.3, 0.7] }, { fault = "bent", shows = [0.1, 0.9] }]
answered = { parts = ["pallet"], by = [[], ["gummed"]] }

[[sign]]
id = "long"
asks = "Measure 1 s: is it long?"
by = "instrument"
minutes = 2
leak = [0.98, 0.02]
shown_by = [{ fault = "gummed", shows = [0.3, 0.7] }]
reads = { instrument = "shutter", slowest = "1", signed = true, edges = [0.5] }
"""


def read(text: str = TEXT):
    return read_knowledge(text, "train.toml", {"train": TRAIN}, REFERENCE)


def test_faults_signs_and_mends_are_read():
    found = read()
    assert [fault.id for fault in found.fault] == ["gummed", "bent"]
    assert found.fault[0].mends[0].breaks[0].fault == "bent"
    assert found.sign[0].answers == ("no", "yes")
    assert found.sign[0].shown_by[1].shows == (0.1, 0.9)


@pytest.mark.parametrize(
    ("wrong", "by", "says"),
    [
        ('mechanism = "train"', 'mechanism = "trane"', r"'trane' is no mechanism here\. Nearest: train"),
        (
            'part = "pallet"\nalso',
            'part = "palet"\nalso',
            r"line 8: fault 1, part: 'palet' is no part here",
        ),
        ("prior = 0.3", "prior = 1.3", r"the prior is 1\.3"),
        ("prior = 0.3", "prior = 1e-40", r"the prior is 1e-40\. Expected between 1e-06"),
        ("minutes = 0.5", 'minutes = 0.5\nanswers = ["no", "No"]', "two answers or more, all different"),
        ("minutes = 0.5", 'minutes = 0.5\nanswers = ["no", "don\'t know"]', "is no answer to look for"),
        ("minutes = 0.5", 'minutes = 0.5\nanswers = ["no", "Sort of stiff"]', "is no answer to look for"),
        ("odds = 3", "odds = 0", r"odds is 0\. Expected between"),
        ('by = "unserved-long"', 'by = "cursed"', r"'cursed' is nothing of a story"),
        ("success = 0.95", "success = 0", r"success is 0"),
        ('agents = ["naphtha"]', 'agents = ["nafta"]', r"'nafta' is no agent here\. Nearest: "),
        ('breaks = [{ fault = "bent"', 'breaks = [{ fault = "bend"', r"'bend' is no fault here"),
        ('id = "bent"', 'id = "gummed"', r"'gummed' stands there twice"),
        ('off = ["$cover"]', 'off = ["$lid"]', r"'\$lid' is no part here"),
        ("leak = [0.98, 0.02]", "leak = [0.98, 0.2]", r"come to 1 together"),
        ("shows = [0.3, 0.7]", "shows = [0.3, 0.3, 0.4]", r"gummed: 3 chances for 2 answers"),
        ('fault = "gummed", shows', 'fault = "bent", shows', r"'bent' stands there twice"),
        ('by = "ear"', 'by = "nose"', r"'nose'\. Expected one of"),
        ("minutes = 0.5", "minutes = 0", r"minutes is 0"),
        ('also = ["$cover"]', 'also = ["$lid"]', r"line 9: fault 1, also: '\$lid' is no part here"),
        ('told = ["gummed"]', 'told = ["sticky-ish"]', r"holds 0 of the concepts"),
        ('parts = ["pallet"]', 'parts = ["palet"]', r"answered: 'palet' is no part here"),
        ('by = [[], ["gummed"]]', 'by = [["gummed"]]', r"1 lists for 2 answers"),
        ('by = [[], ["gummed"]]', "by = [[], []]", r"by some word"),
        ('by = "instrument"', 'by = "ear"', r"looked at by ear, so no instrument reads it"),
        ('by = "instrument"', 'by = "eye"', r"looked at by eye, so no instrument reads it"),
        ("edges = [0.5]", "edges = [0.5, 1]", r"tells 3 answers, not 2"),
        ("edges = [0.5]", "edges = [-0.5]", r"edges rise"),
        ('slowest = "1"', 'slowest = "slow"', r"'slow' is no marked time"),
    ],
)
def test_a_slip_is_told_with_its_place(wrong, by, says):
    assert wrong in TEXT
    with pytest.raises(TableError, match=rf"train\.toml.*{says}"):
        read(TEXT.replace(wrong, by, 1))


def test_what_comes_along_reads_whole():
    for mechanism, one in knowledge().items():
        assert one.mechanism == mechanism
        linked = {shown.fault for sign in one.sign for shown in sign.shown_by}
        assert linked == {fault.id for fault in one.fault}, "every fault shows some sign"
