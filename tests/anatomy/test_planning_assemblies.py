"""Subassemblies and their worth: closed forms, own enumerations, a recursion beside the programme."""

from __future__ import annotations

import itertools
import random
from functools import cache
from math import factorial, prod

import pytest

from pegwood.anatomy.planning.assemblies import (
    Separation,
    TooLarge,
    assembly_graph,
    best_worth,
)


def chain(size: int) -> dict[str, list[str]]:
    return {f"p{n}": [f"p{n + 1}"] for n in range(size - 1)}


def complete(size: int) -> dict[str, list[str]]:
    return {f"p{n}": [f"p{m}" for m in range(n)] for n in range(size)}


def star(size: int) -> dict[str, list[str]]:
    return {"hub": [f"p{n}" for n in range(size - 1)]}


def all_but_one(size: int) -> dict[str, list[str]]:
    contacts = complete(size)
    contacts[f"p{size - 1}"].remove("p0")
    return contacts


@pytest.mark.parametrize("size", range(2, 10))
def test_of_a_chain_there_are_as_many_as_its_closed_forms_say(size):
    graph = assembly_graph(chain(size))
    assert len(graph.nodes) == size * (size + 1) // 2
    assert len(graph.arcs) == (size**3 - size) // 6
    assert graph.sequences() == factorial(size - 1)
    catalan = factorial(2 * size - 2) // factorial(size) // factorial(size - 1)
    assert graph.plan_trees() == catalan


@pytest.mark.parametrize("size", range(2, 8))
def test_where_all_touch_there_are_as_many_as_the_closed_forms_say(size):
    graph = assembly_graph(complete(size))
    assert len(graph.nodes) == 2**size - 1
    assert len(graph.arcs) == (3**size - 2 ** (size + 1) + 1) // 2
    assert graph.plan_trees() == prod(range(1, 2 * size - 2, 2))  # (2N - 3)!!
    assert graph.sequences() == factorial(size) * factorial(size - 1) // 2 ** (size - 1)


@pytest.mark.parametrize(
    ("contacts", "nodes", "arcs", "trees", "sequences"),
    [  # own enumeration (facts, decisions, section 5, seen)
        (chain(4), 10, 10, 5, 6),
        (complete(4), 15, 25, 15, 18),
        (all_but_one(4), 14, 21, 12, 14),
        (chain(6), 21, 35, 42, 120),
        (complete(6), 63, 301, 945, 2700),
        (star(6), 37, 80, 120, 120),
    ],
)
def test_small_assemblies_come_apart_as_enumerated(contacts, nodes, arcs, trees, sequences):
    graph = assembly_graph(contacts)
    assert (len(graph.nodes), len(graph.arcs)) == (nodes, arcs)
    assert (graph.plan_trees(), graph.sequences()) == (trees, sequences)


def s(one: str, other: str, cost: float) -> Separation:
    return Separation((frozenset(one), frozenset(other)), cost)


def worth(**values: float) -> dict[frozenset[str], float]:
    return {frozenset(name): value for name, value in values.items()}


def test_the_worked_example_is_worth_eleven():
    # facts, decisions, section 5 (seen)
    done = [
        s("ABC", "D", 4),
        s("AB", "CD", 6),
        s("AB", "C", 3),
        s("A", "BC", 6),
        s("C", "D", 2),
        s("A", "B", 3),
        s("B", "C", 4),
    ]
    found = best_worth(frozenset("ABCD"), done, worth(A=12, B=1, C=2, D=6, AB=5, ABC=2))
    assert found.worth == pytest.approx(11)
    assert [one.cost for one in found.separations] == [4, 3, 3]
    assert found.separations == (done[0], done[2], done[5])
    assert {"".join(one) for one in found.left} == set("ABCD")


def test_what_is_worth_more_whole_is_left_whole():
    found = best_worth(frozenset("AB"), [s("A", "B", 3)], worth(A=2, B=2, AB=1.5))
    assert (found.worth, found.separations, found.left) == (1.5, (), (frozenset("AB"),))
    assert best_worth(frozenset("A"), [], worth(A=7)).worth == 7


def by_recursion(whole, done, values):
    """What remains of each: itself, or the best of its separations."""

    @cache
    def best(one):
        apart = [best(each.into[0]) + best(each.into[1]) - each.cost for each in done if each.whole == one]
        return max([values.get(one, 0.0), *apart])

    return best(whole)


@pytest.mark.parametrize("seed", range(12))
def test_no_other_way_of_stopping_is_worth_more(seed):
    rng = random.Random(seed)
    names = [f"p{n}" for n in range(6)]
    contacts = {b: [a] for a, b in itertools.pairwise(names)}
    for one, other in rng.sample(list(itertools.combinations(names, 2)), 3):
        contacts.setdefault(one, []).append(other)
    graph = assembly_graph(contacts)
    done = [Separation(arc.into, float(rng.randint(0, 6))) for arc in graph.arcs]
    values = {node: float(rng.randint(0, 20)) / len(node) for node in graph.nodes}
    found = best_worth(graph.nodes[-1], done, values)
    assert found.worth == pytest.approx(by_recursion(graph.nodes[-1], done, values))
    parts = [part for one in found.left for part in one]
    assert sorted(parts) == names  # nothing is lost, nothing twice


def test_what_is_too_large_or_no_assembly_is_refused():
    with pytest.raises(TooLarge, match="13 parts are too many"):
        assembly_graph(chain(13))
    with pytest.raises(TooLarge, match="11 parts come apart in more than 30,000 ways"):
        assembly_graph(complete(11))
    with pytest.raises(ValueError, match="do not hang together"):
        assembly_graph({"a": ["b"], "c": ["d"]})
    with pytest.raises(ValueError, match="do not hang together"):
        assembly_graph({})
    with pytest.raises(ValueError, match="share nothing"):
        s("AB", "B", 1)
    with pytest.raises(ValueError, match="a cost of -1 cannot be"):
        s("A", "B", -1)
    with pytest.raises(ValueError, match="the worth of A is no number"):
        best_worth(frozenset("AB"), [], worth(A=float("nan")))
    with pytest.raises(ValueError, match="nothing to take apart"):
        best_worth(frozenset(), [], {})
