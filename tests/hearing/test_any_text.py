"""Whatever the text: nothing crashes, and every span lies in it and holds its words."""

from __future__ import annotations

import gc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegwood.hearing import Line, hear, vocabulary

from .test_hearing import PARTS

SAID = (
    "the a no not isn't it's sorry same other one both all slow train strut left right pawl is are "
    "bent worn gummed from on of and or but maybe if always these tenth two needs "
    "clean oil back, . ? ! \n : … ’s 'll İ ß"
)
WORDS = st.sampled_from([*SAID.split(" "), "0.3 mm"])
LINES = st.lists(st.one_of(st.text(max_size=60), st.lists(WORDS, max_size=25).map(" ".join)), max_size=6)


@settings(max_examples=150, deadline=None)
@given(LINES)
def test_any_text_is_heard_and_every_span_lies_in_it(lines):
    told = hear([Line(words=words) for words in lines], PARTS, vocabulary())
    text = "\n".join(lines)
    for one in (*told.findings, *told.work, *told.remarks, *told.unplaced):
        first, end = one.where
        assert 0 <= first < end <= len(text)
        assert text[first:end] == one.words


def test_progress_is_told_and_ends_with_all():
    shares: list[float] = []
    hear([Line(words="the left strut is bent. " * 400)], PARTS, vocabulary(), progress=shares.append)
    assert shares == sorted(shares)
    assert len(shares) > 2
    assert shares[-1] == 1.0


def test_the_garbage_collector_works_again_when_hearing_is_over_or_broke_off():
    def stop(_: float) -> None:
        raise KeyboardInterrupt

    lines = [Line(words="the left strut is bent")]
    hear(lines, PARTS, vocabulary())
    assert gc.isenabled()
    with pytest.raises(KeyboardInterrupt):
        hear(lines, PARTS, vocabulary(), progress=stop)
    assert gc.isenabled()
