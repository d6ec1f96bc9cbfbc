"""The way in against a constraint solver that knows nothing but what `pegwood strip export` prints."""

from __future__ import annotations

import json
import random

import pytest
from click.testing import CliRunner

from anatomy.constraint_solver import least_changes, least_cost
from benchmarks.way_in import drawn as as_large_as_a_camera
from pegwood.anatomy.construction import constructions
from pegwood.anatomy.planning import Removal, StripDown, choose
from pegwood.anatomy.planning.plan import plan
from pegwood.cli.root import main


def exported(slug: str) -> dict:
    return json.loads(CliRunner().invoke(main, ["strip", "export", slug]).output)


def as_exported(strip_down: StripDown) -> dict:
    return {
        "parts": [{"id": part} for part in strip_down.ways],
        "ways": [
            {"part": part, "way": str(n), "after": sorted(way.after), "cost": way.cost}
            for part, ways in strip_down.ways.items()
            for n, way in enumerate(ways)
        ],
    }


@pytest.mark.parametrize("slug", sorted(constructions()))
def test_no_way_in_to_a_family_is_cheaper(slug):
    family, data = constructions()[slug], exported(slug)
    rng = random.Random(slug)
    can = sorted(family.strip_down().removable)
    for many in (1, 3, 6):
        targets = rng.sample(can, many)
        off = frozenset(rng.sample(can, many - 1)) - set(targets)
        found = plan(family, targets, off)
        assert found.is_optimal
        # every cost is whole in the solver's unit but for rounding: half of it per step at most
        assert found.cost == pytest.approx(least_cost(data, targets, off), abs=1e-4 * (len(found.steps) + 1))


def with_rings(strip_down: StripDown, rng: random.Random, rings: int = 12) -> StripDown:
    """Some parts get another, cheap way behind a part that may itself wait for them."""
    ways = dict(strip_down.ways)
    names = sorted(ways, key=lambda one: int(one[1:]))
    for n in rng.sample(range(len(names) - 12), rings):
        later = names[n + rng.randint(1, 12)]
        ways[names[n]] += (Removal(after=frozenset([later]), cost=float(rng.randint(0, 2))),)
    return StripDown(ways)


@pytest.mark.parametrize("seed", range(15))
def test_no_way_in_to_6_of_150_parts_is_cheaper(seed):
    rng = random.Random(seed)
    camera = as_large_as_a_camera(rng, several=20 + seed)
    if seed % 3 == 0:
        camera = with_rings(camera, rng)
    targets = rng.sample(sorted(camera.ways), 6)
    found = choose(camera, targets)
    assert found.is_optimal
    assert found.cost == pytest.approx(least_cost(as_exported(camera), targets))  # costs here are whole


def test_what_never_comes_off_the_solver_finds_no_way_to_either():
    ring = StripDown(
        {one: (Removal(after=frozenset(then), cost=1),) for one, then in {"a": "b", "b": "a"}.items()}
    )
    assert least_cost(as_exported(ring), ["a"]) is None
    assert not ring.removable


@pytest.mark.parametrize("slug", sorted(constructions()))
def test_no_order_of_a_familys_plan_needs_fewer_changes(slug):
    family, data = constructions()[slug], exported(slug)
    rng = random.Random(slug)
    can = sorted(family.strip_down().removable)
    tried = 0
    while tried < 2:
        found = plan(family, rng.sample(can, 3))
        if not 6 <= len(found.steps) <= 10:
            continue
        tried += 1
        steps = [
            next(one for one in data["ways"] if (one["part"], one["way"]) == (step.part.id, step.way.name))
            for step in found.steps
        ]
        assert found.order_gap_min == 0
        assert found.changes_min == pytest.approx(
            least_changes(steps, data["tool_change_minutes"], data["turn_minutes"])
        )
