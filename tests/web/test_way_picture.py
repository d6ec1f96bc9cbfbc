"""The way in as a picture: what must hold of any drawing of an order, whatever laid it out."""

from __future__ import annotations

import re
from itertools import combinations, pairwise

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegwood.anatomy.construction import constructions
from pegwood.web.strip.whole import groups, soonest_ways
from pegwood.web.way_picture import Node, Picture, Ring, draw, only_direct, rows_of
from pegwood.web.way_picture.drawing import SIZES

FAMILIES = sorted(constructions())


def nodes(names) -> list[Node]:
    return [Node(id=name, name=f"part {name}", state="part") for name in names]


def holds(picture: Picture) -> None:
    """Boxes lie apart and within, and every line goes down."""
    places = [(box.x, box.y) for box in picture.boxes]
    for (x, y), (other_x, other_y) in combinations(places, 2):
        assert abs(x - other_x) >= SIZES.box or abs(y - other_y) >= SIZES.height
    for x, y in places:
        assert 0 <= x <= picture.width - SIZES.box
        assert 0 <= y <= picture.height - SIZES.height
    for path in picture.paths:
        points = points_of(path)
        heights = [y for _, y in points]
        assert heights == sorted(heights)
        assert heights[0] < heights[-1]
        for (x, top), (to_x, bottom) in pairwise(points):
            if x == to_x:  # where a line passes a row, no box stands on it
                assert not any(
                    box_x < x < box_x + SIZES.box and top < box_y + SIZES.height and bottom > box_y
                    for box_x, box_y in places
                )
            else:  # it bends between the rows only
                assert bottom - top <= SIZES.between


def points_of(path: str) -> list[tuple[float, float]]:
    """The points a path goes through, read as SVG 1.1, section 8.3, writes paths."""
    points: list[tuple[float, float]] = []
    for command in re.findall(r"[MCV][^MCV]+", path):
        *_, y = figures = [float(one) for one in command[1:].split()]
        points.append((figures[-2] if command[0] != "V" else points[-1][0], y))
    return points


@st.composite
def waits(draw_):
    """Up to 30 parts, each waiting for some of those before it."""
    count = draw_(st.integers(1, 30))
    found = {}
    for n in range(count):
        before = draw_(st.sets(st.integers(0, n - 1), max_size=4)) if n else set()
        found[f"p{n}"] = {f"p{one}" for one in before}
    return found


@settings(max_examples=60, deadline=None)
@given(waits(), st.integers(1, 8))
def test_any_order_is_drawn_downwards_without_overlap(after, longest):
    picture = draw(nodes(after), after, longest)
    holds(picture)
    assert [box.node.id for box in picture.boxes] == list(after)


@settings(max_examples=60, deadline=None)
@given(waits())
def test_lines_are_left_out_only_where_another_implies_them(after):
    # networkx has its own transitive reduction
    graph = nx.DiGraph([(before, part) for part, befores in after.items() for before in befores])
    graph.add_nodes_from(after)
    expected = {part: set(nx.transitive_reduction(graph).predecessors(part)) for part in after}
    assert only_direct(after) == expected


@settings(max_examples=60, deadline=None)
@given(waits(), st.integers(1, 8))
def test_a_row_is_no_longer_than_told_and_below_all_that_must_be_off_before(after, longest):
    rows = rows_of(after, longest)
    assert all(rows[before] < rows[part] for part, befores in after.items() for before in befores)
    filled = list(rows.values())
    assert max(filled.count(row) for row in filled) <= longest


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_is_drawn_whole_and_mechanism_by_mechanism(family):
    construction = constructions()[family]
    after = {part: set(way.after) for part, way in soonest_ways(construction).items()}
    whole = draw(nodes(after), after)
    holds(whole)
    assert len(whole.boxes) == sum(bool(part.ways) for part in construction.parts.values())
    for group in groups(construction):
        mine = {part.id: after.get(part.id, set()) for part in group.parts}
        holds(draw(nodes({*mine, *(one for befores in mine.values() for one in befores)}), mine))


@pytest.mark.parametrize("family", FAMILIES)
def test_every_name_of_a_family_stands_whole_in_its_box(family):
    for part in constructions()[family].parts.values():
        numbered = Node(id=part.id, name=part.name, state="step", word="comes off, 3 min", number=12)
        (box,) = draw([numbered], {}).boxes
        assert "".join(line.text for line in box.lines).replace(" ", "") == part.name.replace(" ", "")
        assert all(0 < line.y < SIZES.height for line in box.lines)


def test_parts_that_wait_for_each_other_are_refused_by_name():
    with pytest.raises(Ring, match="a, b: each waits"):
        draw(nodes("abc"), {"a": {"b"}, "b": {"a"}, "c": set()})


def test_nothing_is_drawn_of_nothing():
    assert draw([], {}).boxes == ()
