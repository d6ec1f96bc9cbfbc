"""Figures of practice: none without its source, and a table of one's own leaves the other as it is."""

from __future__ import annotations

import math

import pytest

from pegwood.instruments.given import Given, figures_in
from pegwood.instruments.iris import practice


@pytest.mark.parametrize("bad", [(math.nan, "a book", "memory"), (1.0, "", "memory"), (1.0, "a book", "")])
def test_a_figure_without_its_source_cannot_be(bad):
    with pytest.raises(ValueError, match="source and mark"):
        Given(*bad)


def test_a_part_of_a_table_without_its_source_cannot_be_read():
    with pytest.raises(KeyError):
        figures_in({"scale": {"u_rel": 0.01, "mark": "practice"}})


def test_a_figure_of_ones_own_keeps_the_source_and_leaves_the_table_as_it_was():
    known = practice()
    before = known["scale.u_rel"].value
    own = known.but(scale__u_rel=0.5)
    assert (own["scale.u_rel"].value, own["scale.u_rel"].source) == (0.5, known["scale.u_rel"].source)
    assert known["scale.u_rel"].value == before
    assert own.stops == known.stops
    with pytest.raises(KeyError):
        known.but(scale__nothing=1.0)
