"""The way in: the cheapest removals and the best order, against published graphs and exhaustive search."""

from __future__ import annotations

import itertools
import random

import pytest

from anatomy.graphs import JACKSON, cheapest, comes_apart, drawn
from pegwood.anatomy.planning import Removal, StripDown, Unreachable, choose, in_order, loop_among
from pegwood.anatomy.planning.order import TOOL_CHANGE_MIN, TURN_MIN

#: The small OR test of the same section: three methods agree on it (seen).
MINUTES = dict(zip("abcdefghijkl", (3, 2, 4, 1, 6, 2, 5, 3, 2, 7, 1, 4), strict=True))
AND = {"b": "a", "c": "a", "e": "d", "f": "b", "h": "g", "i": "c", "j": "e", "l": "k"}
OR = {"f": "cg", "h": "fe", "j": "ih", "l": "fid"}


def with_alternatives() -> StripDown:
    return StripDown(
        {
            part: tuple(
                Removal(after=frozenset(AND.get(part, "")) | frozenset(one), cost=float(cost))
                for one in OR.get(part, ("",))
            )
            for part, cost in MINUTES.items()
        }
    )


@pytest.mark.parametrize(
    ("targets", "parts", "cost"),
    [
        ("g", "acdeg", 22),
        ("h", "abfh", 16),
        ("i", "acdegi", 27),
        ("j", "abfhj", 21),
        ("k", "abcdefghijk", 46),
        ("hi", "abcdefghi", 37),
    ],
)
def test_without_alternatives_a_part_comes_off_with_all_that_lies_before_it(targets, parts, cost):
    found = choose(JACKSON, targets)
    assert (set(found.ways), found.cost, found.is_optimal) == (set(parts), cost, True)


@pytest.mark.parametrize(
    ("targets", "cost", "parts"),
    [
        ("f", 11, "abcf"),
        ("h", 15, "degh"),
        ("j", 22, "deghj"),
        ("l", 6, "dkl"),
        ("hi", 21, None),
        ("jl", 27, None),
        ("fjl", 32, None),
        ("fj", 27, "abcdefij"),
    ],
)
def test_with_alternatives_the_cheapest_way_is_found(targets, cost, parts):
    found = choose(with_alternatives(), targets)
    assert (found.cost, found.is_optimal) == (cost, True)
    assert parts is None or set(found.ways) == set(parts)


@pytest.mark.parametrize("seed", range(24))
def test_nothing_cheaper_is_found_by_trying_everything(seed):
    strip_down = drawn(seed, parts=6, backwards=seed % 2 == 1)
    rng = random.Random(seed + 1000)
    can = sorted(strip_down.removable)
    if not can:
        return
    targets = set(rng.sample(can, min(2, len(can))))
    off = frozenset(rng.sample(can, 1)) if seed % 3 == 0 else frozenset()
    found = choose(strip_down, sorted(targets), off)
    assert found.is_optimal
    assert found.cost == pytest.approx(cheapest(strip_down, targets, off))
    assert comes_apart(dict(found.ways), off)


def changes(order: tuple[str, ...], ways: dict[str, Removal]) -> float:
    pairs = itertools.pairwise(ways[one] for one in order)
    return sum((a.tool != b.tool) * TOOL_CHANGE_MIN + (a.side != b.side) * TURN_MIN for a, b in pairs)


#: The last two are such that a bound which promises too much is led astray.
CAMERAS = [*((seed, 7, "efg") for seed in range(12)), (88, 9, "ghi"), (202, 9, "ghi")]


@pytest.mark.parametrize(("seed", "parts", "targets"), CAMERAS)
def test_no_order_needs_fewer_changes(seed, parts, targets):
    ways = dict(choose(drawn(seed, parts=parts), targets).ways)
    found = in_order(ways)

    def allowed(order: tuple[str, ...]) -> bool:
        return all(ways[one].after <= set(order[:n]) for n, one in enumerate(order))

    assert allowed(found.parts)
    assert found.changes_min == pytest.approx(changes(found.parts, ways))
    assert found.is_optimal
    assert found.changes_min == min(
        changes(one, ways) for one in itertools.permutations(ways) if allowed(one)
    )


@pytest.mark.parametrize("seed", range(12))
def test_a_beam_says_how_far_off_it_may_be(seed, monkeypatch):
    ways = dict(choose(drawn(seed, parts=12), ["j", "k", "l"]).ways)
    best = in_order(ways)
    monkeypatch.setattr("pegwood.anatomy.planning.order.MOST_STATES", 0)
    monkeypatch.setattr("pegwood.anatomy.planning.order.BEAM", 1)
    found = in_order(ways)
    assert found.least_min <= best.changes_min <= found.changes_min
    assert set(found.parts) == set(ways)


def test_what_is_in_hand_and_what_is_off_already_counts():
    ways = {
        "a": Removal(after=frozenset(), cost=1, tool="spanner", side="front"),
        "b": Removal(after=frozenset("x"), cost=1, tool="screwdriver", side="front"),
    }
    assert in_order(ways, off="x", tool="screwdriver", side="front").parts == ("b", "a")
    with pytest.raises(ValueError, match="'b' waits for 'x'"):
        in_order(ways)


def test_parts_that_wait_for_each_other_are_named_one_by_one():
    ring = {"a": "b", "b": "c", "c": "a", "d": ""}
    strip_down = StripDown({one: (Removal(after=frozenset(then), cost=1),) for one, then in ring.items()})
    assert loop_among(strip_down) == ("a", "b", "c", "a")
    with pytest.raises(Unreachable, match="b: never comes off"):
        choose(strip_down, ["b"])
    assert loop_among(JACKSON) == ()


@pytest.mark.parametrize(
    ("ways", "says"),
    [
        ({"a": "a"}, "'a' cannot be in its own way"),
        ({"a": "z"}, "'a' comes off after 'z', which is no part here"),
    ],
)
def test_a_way_that_cannot_be_is_refused(ways, says):
    with pytest.raises(ValueError, match=says):
        StripDown({part: (Removal(after=frozenset(after), cost=1),) for part, after in ways.items()})
    with pytest.raises(ValueError, match="'q' is no part here"):
        choose(JACKSON, ["q"])
