"""How many orders the joins allow, against closed forms, a published graph and trying them all."""

from __future__ import annotations

import itertools
import random
from math import factorial, prod

import pytest

from anatomy.graphs import JACKSON
from pegwood.anatomy.planning import Removal, choose
from pegwood.anatomy.planning.orders import orders


def waits(**after: str) -> dict[str, Removal]:
    return {one: Removal(after=frozenset(them), cost=1) for one, them in after.items()}


def antichain(size: int) -> dict[str, Removal]:
    return {f"p{n}": Removal(after=frozenset(), cost=1) for n in range(size)}


def chain(size: int) -> dict[str, Removal]:
    return {f"p{n}": Removal(after=frozenset([f"p{n - 1}"] if n else []), cost=1) for n in range(size)}


def test_a_published_graph_allows_756_orders():
    # Jackson's eleven tasks (facts, decisions, section 5: own count)
    assert orders(choose(JACKSON, "k").ways) == 756


@pytest.mark.parametrize("size", [1, 2, 7, 40])
def test_closed_forms_hold(size):
    assert orders(antichain(size)) == factorial(size)
    assert orders(chain(size)) == 1
    star = {"root": Removal(after=frozenset(), cost=1)}
    star |= {f"p{n}": Removal(after=frozenset(["root"]), cost=1) for n in range(size - 1)}
    assert orders(star) == factorial(size - 1)
    assert orders({}) == 1


@pytest.mark.parametrize("seed", range(6))
def test_a_forest_has_as_many_as_the_hook_lengths_say(seed):
    # n! over the product of each part's and its followers' number (Knuth, The Art of Computer Programming 3)
    rng = random.Random(seed)
    size = 30
    above = {n: rng.choice([None, *range(n)]) for n in range(size)}
    ways = {
        f"p{n}": Removal(after=frozenset([] if up is None else [f"p{up}"]), cost=1) for n, up in above.items()
    }
    hooks = [1] * size
    for n in reversed(range(size)):
        if above[n] is not None:
            hooks[above[n]] += hooks[n]
    assert orders(ways) == factorial(size) // prod(hooks)


@pytest.mark.parametrize("seed", range(20))
def test_trying_them_all_counts_as_many(seed):
    rng = random.Random(seed)
    names = "abcdefg"
    ways = {
        one: Removal(after=frozenset(rng.sample(names[:n], min(n, rng.choice((0, 1, 2))))), cost=1)
        for n, one in enumerate(names)
    }
    off = frozenset("a") if seed % 2 else frozenset()
    left = {one: way for one, way in ways.items() if one not in off}

    def allowed(order: tuple[str, ...]) -> bool:
        return all(left[one].after <= {*order[:n], *off} for n, one in enumerate(order))

    assert orders(left, off) == sum(allowed(one) for one in itertools.permutations(left))


def test_too_many_sets_to_look_at_give_no_count():
    rng = random.Random(3)
    ways = {
        f"p{n}": Removal(after=frozenset(f"p{m}" for m in rng.sample(range(n), min(n, 2))), cost=1)
        for n in range(40)
    }
    assert orders(ways, most_sets=50) is None
    # such sets are what is still there at some time: of Jackson's eleven, few enough
    assert orders(choose(JACKSON, "k").ways, most_sets=200) == 756


def test_what_can_never_be_done_is_refused():
    with pytest.raises(ValueError, match="a, b: each waits for another of them"):
        orders(waits(a="b", b="a", c=""))
    with pytest.raises(ValueError, match="'a' waits for 'x'"):
        orders(waits(a="x"))
