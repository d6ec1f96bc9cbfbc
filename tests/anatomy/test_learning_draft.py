"""Families drafted from strip-downs: what came before what, and files that keep what a person changed."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import networkx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegwood.anatomy.bench_log import Kept, TakenOff, Written
from pegwood.anatomy.construction import read_construction
from pegwood.anatomy.learning.draft import draft
from pegwood.anatomy.learning.draft_file import relearned
from pegwood.anatomy.learning.precedence import precedence, thinned
from pegwood.anatomy.planning import choose
from pegwood.trade.reference import Reference

REFERENCE = Reference()


def job(*names, **hidden):
    """A log of parts by name, in this order; keywords say what hid a part."""
    return tuple(
        TakenOff(id=f"{n}", number=n + 1, name=name, hidden_under=hidden.get(name, ()))
        for n, name in enumerate(names)
    )


def drafted(*jobs):
    return draft(jobs, "half-frame", "Half-frame", REFERENCE)


def read(text):
    return read_construction(text, "half-frame.toml", {}, REFERENCE, own=True)


def befores(construction):
    return {part.id: set(part.ways[0].after) for part in construction.parts.values()}


def reach(befores):
    graph = networkx.DiGraph((first, then) for then, those in befores.items() for first in those)
    graph.add_nodes_from(befores)
    return set(networkx.transitive_closure_dag(graph).edges)


# --- what came before what ------------------------------------------------------------------------------


def test_what_always_came_before_is_kept_with_how_often_and_what_did_not_falls():
    found = drafted(job("a", "b", "c"), job("b", "a", "c"))
    assert befores(read(found.as_toml())) == {"a": set(), "b": set(), "c": {"a", "b"}}
    assert found.pairs["a", "c"].says == "in 2 jobs, never the other way"
    assert found.contradictions == ()


def test_one_job_alone_keeps_its_order_and_says_that_it_was_seen_once():
    found = drafted(job("a", "b", "c"))
    assert befores(read(found.as_toml())) == {"a": set(), "b": {"a"}, "c": {"b"}}
    assert "# after a: only seen once" in found.as_toml()


def test_a_told_covering_is_certain_and_what_was_seen_otherwise_is_reported_by_name():
    found = drafted(job("a", "b", b=("a",)), job("b", "a"))
    assert befores(read(found.as_toml())) == {"a": set(), "b": {"a"}}
    assert found.contradictions == ("b is told to be hidden under a, but came off before it in 1 job.",)
    assert "# Does not go together: b is told" in found.as_toml()
    ring = drafted(job("a", "b", b=("a",)), job("b", "a", a=("b",)))
    assert "a, b: what was told goes in a ring; left open." in ring.contradictions
    assert befores(read(ring.as_toml())) == {"a": set(), "b": set()}


def test_what_was_held_together_goes_by_the_order_and_disagreement_is_reported():
    first = replace(job("a", "b")[0], held_to=("b",))
    found = precedence([(first, job("a", "b")[1])])
    assert found.pairs["a", "b"].told == "held to"
    found = precedence([(first, job("a", "b")[1]), job("b", "a")])
    assert found.contradictions == ("a is held to b, but either came off first: 1 and 1 jobs.",)
    assert ("a", "b") not in found.pairs


def test_jobs_that_go_in_a_ring_leave_the_order_open_where_it_was_seen_least():
    # a before b in two jobs; b before c and c before a in one each
    found = drafted(job("a", "b"), job("a", "b"), job("b", "c"), job("c", "a"))
    assert befores(read(found.as_toml())) == {"a": set(), "b": {"a"}, "c": set()}
    assert found.contradictions == ("a, b, c: what was seen goes in a ring; left open.",)


NAMES = ["covering", "front plate", "cocking ring", "speed cam", "left strut", "mirror", "top cover"]


@settings(max_examples=60)
@given(st.lists(st.permutations(NAMES), min_size=1, max_size=4))
def test_the_graph_is_exactly_what_all_jobs_share_and_reads_back_the_same(orders):
    found = drafted(*(job(*order) for order in orders))
    shared = {  # by brute force
        (a.replace(" ", "-"), b.replace(" ", "-"))
        for a, b in itertools.permutations(NAMES, 2)
        if all(order.index(a) < order.index(b) for order in orders)
    }
    there = read(found.as_toml())
    assert reach(befores(there)) == shared
    graph = networkx.DiGraph(sorted(shared))
    fewest = set(networkx.transitive_reduction(graph).edges)  # a library's own
    assert {(first, then) for then, those in befores(there).items() for first in those} == fewest


@settings(max_examples=40)
@given(st.integers(0, 10**6))
def test_a_plan_by_the_draft_never_takes_a_part_before_its_cover(seed):
    rng = random.Random(seed)
    names = [f"part {n}" for n in range(8)]
    covers = {
        name: tuple(rng.sample(names[:n], min(n, rng.choice((0, 1, 2))))) for n, name in enumerate(names)
    }
    jobs = []
    for _ in range(rng.choice((1, 2, 4))):
        some = [name for name in names if rng.random() < 0.8]
        order: list[str] = []
        while left := [n for n in some if n not in order and not set(covers[n]) - set(order) & set(some)]:
            order.append(rng.choice(left))
        jobs.append(job(*order, **{name: those for name, those in covers.items() if rng.random() < 0.5}))
    if not any(jobs):
        return
    there = read(drafted(*jobs).as_toml())
    strip_down = there.strip_down()
    both = [{entry.name for entry in log} for log in jobs]
    for name, those in covers.items():
        for cover in those:
            if any({name, cover} <= met for met in both):
                assert cover.replace(" ", "-") in choose(strip_down, [name.replace(" ", "-")]).ways


def test_thinning_keeps_what_does_not_follow():
    assert thinned({("a", "b"), ("b", "c"), ("a", "c")}) == {("a", "b"), ("b", "c")}


@settings(max_examples=60)
@given(st.lists(st.text(min_size=1).filter(str.strip), min_size=1, max_size=5))
def test_whatever_a_part_is_called_the_file_reads_back(names):
    found = drafted(job(*names, **{names[-1]: (names[0],)}))
    assert befores(read(found.as_toml())) == {part.id: set(part.ways[0].after) for part in found.parts}


# --- what else a draft holds ----------------------------------------------------------------------------


def test_screws_shims_notes_and_times_come_into_the_draft():
    entry = TakenOff(
        id="1",
        number=1,
        name='Left "strut"',
        minutes=4.0,
        side="left",
        tool="screwdriver",
        notes=(Written(kind="count turns", says="1 3/4"),),
        kept=(
            Kept(id="k1", kind="screw", count=2, thread="M1.7x0.35", length_mm=3.2, head="cheese head"),
            Kept(id="k2", kind="screw", thread="of its own"),
            Kept(id="k3", kind="shim", place="upper pivot", side="outside", thickness_mm=0.11),
        ),
    )
    again = replace(entry, minutes=6.0, kept=(replace(entry.kept[2], thickness_mm=0.15),))
    found = drafted((entry,), (again, TakenOff(id="2", number=2, name="sprag")))
    part = read(found.as_toml()).parts["left-strut"]
    assert part.name == 'Left "strut"'
    assert [(one.count, one.thread, one.length_mm) for one in part.joins] == [
        (2, "M1.7x0.35", 3.2),
        (1, "", None),
    ]
    assert (part.shims[0].low_mm, part.shims[0].high_mm) == (0.11, 0.15)
    assert part.ways[0].before[0].says == "Last time: 1 3/4"
    assert (part.ways[0].minutes.low, part.ways[0].minutes.likely, part.ways[0].minutes.high) == (2.5, 5, 15)
    assert "# thread: of its own is in no table" in found.as_toml()
    clip = read(found.as_toml()).parts["sprag"]
    assert (clip.materials, clip.ways[0].side, clip.ways[0].tool) == ((), "front", "fingers")
    assert "# side: not told, front taken" in found.as_toml()


def test_what_a_variant_never_had_is_asked_for_in_the_draft():
    without = replace(job("a")[0], met="never fitted")
    found = drafted((without,), job("a", "b"))
    assert found.parts[0].not_in_all
    with pytest.raises(ValueError, match="nothing came off"):
        drafted((without,))


# --- learned anew ---------------------------------------------------------------------------------------

FIRST = drafted(job("a", "b", "c"))


def again(text, *jobs):
    found = relearned(text, "half-frame.toml", drafted(*jobs), {}, REFERENCE)
    return found, befores(read(found.toml))


def test_without_a_new_job_nothing_changes():
    text = FIRST.as_toml()
    assert again(text, job("a", "b", "c"))[0].toml == text


def test_a_new_job_adds_parts_and_loosens_what_it_shows_otherwise():
    _, found = again(FIRST.as_toml(), job("a", "b", "c"), job("b", "a", "c", "d"))
    assert found == {"a": set(), "b": set(), "c": {"a", "b"}, "d": {"c"}}


def test_what_a_person_changed_stays():
    text = FIRST.as_toml().replace('name = "b"', 'name = "bellows frame"\nmaterials = ["brass"]  # seen')
    text = text.replace('after = ["b"]\n', "after = []  # c comes off by itself\n", 1)
    for _ in range(2):  # and stays the second time too
        found, before = again(text, job("a", "b", "c"), job("a", "b", "c", "d"))
        part = read(found.toml).parts["b"]
        assert (part.name, part.materials) == ("bellows frame", ("brass",))
        assert "# seen" in found.toml
        assert "b" not in before["c"]
        assert before["c"] == {"a"}  # that a is off first was seen too, and nobody took that out
        assert before["d"] == {"b", "c"}
        text = found.toml


def test_what_a_person_added_stays_though_no_job_shows_it():
    text = drafted(job("a", "b"), job("b", "a")).as_toml()
    at = text.index('id = "b"')
    text = text[:at] + text[at:].replace("after = []", 'after = ["a"]', 1)
    for _ in range(2):
        found, before = again(text, job("a", "b"), job("b", "a"), job("b", "a"))
        assert before == {"a": set(), "b": {"a"}}
        text = found.toml


def test_what_a_person_wrote_wins_where_a_job_goes_in_a_ring_with_it():
    text = drafted(job("a", "b"), job("b", "a")).as_toml()
    at = text.index('id = "b"')
    text = text[:at] + text[at:].replace("after = []", 'after = ["a"]', 1)
    found, before = again(text, job("b", "a"))
    assert before["b"] == {"a"}
    assert before["a"] == set()
    assert found.contradictions == ("a, b: what you wrote and what was seen go in a ring; yours stays.",)


def test_a_part_that_a_person_took_out_stays_out():
    text = FIRST.as_toml()
    part = text[
        text.index("[[part]]", text.index('id = "a"')) : text.index("[[part]]", text.index('id = "b"'))
    ]
    text = text.replace(part, "").replace('after = ["b"]\n', 'after = ["a"]\n', 1)
    for _ in range(2):
        found, before = again(text, job("a", "b", "c"), job("a", "b", "c"))
        assert before == {"a": set(), "c": {"a"}}
        text = found.toml
