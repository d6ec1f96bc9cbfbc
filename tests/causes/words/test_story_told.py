"""An owner's words, all invented, and what they tell."""

from __future__ import annotations

import pytest

from pegwood.causes.words.story_told import read_tells, told_by
from pegwood.trade.typed_toml import TableError


@pytest.mark.parametrize(
    ("story", "told"),
    [
        ("found in a cellar, shutter sticks", ["stored-damp"]),
        ("Went overboard in the harbour last summer", ["soaked-salt"]),
        ("fell into the lake", ["soaked-fresh"]),
        ("It fell off the table", ["dropped"]),
        ("dropped on the pavement, then the battery leaked", ["dropped", "leaked-cell"]),
        ("never dropped", []),
        ("It was not in water, only dropped once", ["dropped"]),
        ("grandfather's, in a drawer for 30 years", ["unused-long"]),
        ("in a drawer for a week", []),
        ("never serviced", ["unserved-long"]),
        ("last serviced 25 years ago", ["earlier-repair", "unserved-long"]),
        ("serviced two years ago", ["earlier-repair"]),
        ("beach holiday, there is sand in the focus", ["sand"]),
        ("lay in the attic for decades", ["stored-hot-dry", "unused-long"]),
        ("belonged to a press photographer", ["used-hard"]),
        ("a friend tried to repair it", ["earlier-repair"]),
        ("please have it repaired", []),
        ("bought in 1975 by the sea", []),
        ("nothing known", []),
        ("", []),
    ],
)
def test_a_story_tells_what_it_says(story, told):
    assert list(told_by(story)) == told


def test_a_tell_of_nothing_is_refused_with_its_line():
    text = 'source = "a test"\nmark = "practice"\n[[tell]]\nkey = "cursed"\nany = ["spell"]\n'
    with pytest.raises(TableError, match=r"stories\.toml, line 3: .*'cursed' is nothing of a story"):
        read_tells(text)
