"""The way back: against a model of the joins that shares no code with it, and against cases of the bench."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegwood.anatomy.bench_log import Kept, TakenOff, Written
from pegwood.anatomy.construction import Construction, constructions
from pegwood.anatomy.parts import Back, Join, Minutes, Part, Way
from pegwood.anatomy.rebuilding import forgotten_under, way_back
from pegwood.trade.grounds import Ground

QUICK = Minutes(low=1, likely=2, high=4)


def part(name, after=(), joins=(), back=None, ways=None, **more):
    made = ways or (Way(side="front", tool="fingers", minutes=QUICK, after=tuple(after)),)
    return Part(id=name, name=name, materials=("brass",), joins=joins, ways=made, back=back or Back(), **more)


def camera(*parts):
    return Construction(
        id="test", name="test", parts={one.id: one for one in parts}, ground=Ground("a test", "practice")
    )


#: Covering over front plate over shutter; the top cover stands apart.
SMALL = camera(
    part("covering", back=Back(glue="shellac", check="lies flat")),
    part(
        "plate",
        after=("covering",),
        joins=(Join(kind="screw", count=3, under="covering"),),
        back=Back(opens=("infinity",)),
    ),
    part(
        "shutter",
        after=("plate",),
        back=Back(lubricate="gear-train-pivots", opens=("infinity", "shutter speeds"), feel="snug"),
    ),
    part("top"),
)
SCREWS = Kept(id="k1", kind="screw", count=3, thread="M1.7x0.35", length_mm=3.0, pocket="tray 1, pocket 2")
SHIM = Kept(
    id="k2", kind="shim", place="left strut", side="under", thickness_mm=0.1, pocket="tray 1, pocket 3"
)


def off(number, name, **more):
    more.setdefault("part", name)
    return TakenOff(id=f"s{number}", number=number, name=name, **more)


LOG = (
    off(1, "covering"),
    off(2, "top"),
    off(3, "plate", kept=(SCREWS,), pocket="tray 2, pocket 1"),
    off(4, "shutter", kept=(SHIM,), notes=(Written(kind="count turns", says="1 3/4"),)),
)


def done(log, *names, kept=True):
    """The log with these parts back, and what was kept of them too."""
    return tuple(
        replace(
            one,
            is_back=True,
            kept=tuple(replace(k, back=k.count) for k in one.kept) if kept else one.kept,
        )
        if one.name in names
        else one
        for one in log
    )


def states(way):
    return {step.entry.name: step.state for step in way.steps}


# --- against a model of the joins -----------------------------------------------------------------------


def stripped(construction, rng, most):
    """Parts taken off at random, by any way that is open; the log, and the way of each."""
    there = construction.parts
    gone, ways = [], {}
    while len(gone) < most:
        can = [
            (one.id, way)
            for one in there.values()
            if one.id not in ways
            for way in one.ways
            if all(before in ways for before in way.after)
        ]
        if not can:
            break
        name, way = rng.choice(can)
        ways[name] = way
        gone.append(TakenOff(id=str(len(gone)), number=len(gone) + 1, part=name, name=name, way=way.name))
    return tuple(gone), ways


def amiss(construction, ways, number, name, inside):
    """What is wrong with putting a part in now, by its joins and by the way it came off."""
    wrong = []
    out = set(ways) - inside
    wrong += [f"{cover} is in its way" for cover in ways[name].after if cover not in out]
    for join in construction.parts[name].joins:
        if join.under in ways and number[join.under] < number[name] and join.under not in out:
            wrong.append(f"{join.under} hides its {join.kind}")
        if join.to in ways:  # held to what stayed behind longer; or taken out of what was out already
            later = number[join.to] > number[name]
            if later and join.to not in inside:
                wrong.append(f"there is no {join.to} to hold it to")
            if not later and join.to in inside:
                wrong.append(f"{join.to} went in without it")
    return wrong


CASES = st.tuples(st.sampled_from(sorted(constructions())), st.integers(0, 10**6))


@settings(max_examples=40)
@given(CASES)
def test_the_proposed_order_restores_every_join_of_a_whole_strip_down(case):
    construction, rng = constructions()[case[0]], random.Random(case[1])
    log, ways = stripped(construction, rng, most=999)
    number = {one.part: one.number for one in log}
    way = way_back(log, construction)
    inside: set[str] = set()
    assert len(way.steps) == len(log)
    for step in way.steps:
        assert {one.part for one in step.held_by} <= inside  # what holds it up stands before it
        assert amiss(construction, ways, number, step.entry.part, inside) == []
        inside.add(step.entry.part)
    assert inside == ways.keys()
    whole = way_back([replace(one, is_back=True) for one in log], construction)
    assert (whole.is_whole, whole.forgotten, whole.now) == (True, (), ())


@settings(max_examples=15)
@given(CASES, st.integers(0, 3))
def test_any_step_that_can_be_done_now_leaves_every_join_whole(case, unknown):
    construction, rng = constructions()[case[0]], random.Random(case[1])
    log, ways = stripped(construction, rng, most=25)
    number = {one.part: one.number for one in log}
    ids = {one.id: one.part for one in log}
    lost = set(rng.sample(sorted(ids), min(unknown, len(ids))))
    log = tuple(replace(one, part="", way="") if one.id in lost else one for one in log)
    inside: set[str] = set()
    while (way := way_back(log, construction)).now:
        step = rng.choice(way.now)
        name = ids[step.entry.id]
        assert amiss(construction, ways, number, name, inside) == []
        if step.entry.id in lost:  # nobody knows: all that came off later is in, nothing that came off before
            assert inside == {one for one in ways if number[one] > number[name]}
        inside.add(name)
        log = tuple(replace(one, is_back=one.is_back or one.id == step.entry.id) for one in log)
        assert way_back(log, construction).forgotten == ()
    assert inside == ways.keys()
    assert way_back(log, construction).is_whole


# --- cases of the bench ---------------------------------------------------------------------------------


def test_what_came_off_last_goes_back_first_and_what_stands_apart_can_go_at_any_time():
    way = way_back(LOG, SMALL)
    assert [step.entry.name for step in way.steps] == ["shutter", "plate", "top", "covering"]
    assert states(way) == {"shutter": "now", "plate": "held up", "top": "now", "covering": "held up"}
    assert [one.name for one in way.steps[1].held_by] == ["shutter"]
    assert not any(step.strict for step in way.steps)


def test_a_step_has_its_notes_its_things_and_what_the_trade_says_of_oil_and_glue():
    shutter, _, _, covering = way_back(LOG, SMALL).steps
    assert shutter.notes == (Written(kind="count turns", says="1 3/4"),)
    assert shutter.bring == shutter.shims == (SHIM,)
    assert shutter.lubricate is not None
    # trade/tables/lubricated.toml: gear-train pivots
    assert shutter.lubricate.says.startswith("Gear-train pivots: Synthetic oil ISO VG 10, instrument oil, ")
    assert shutter.lubricate.lubricants[0].kind == "oil"
    assert shutter.lubricate.grounds
    assert any("Not the teeth" in one for one in shutter.cautions)
    assert shutter.feel == "snug"
    # trade/tables/glues.toml: shellac lets go after 5 to 60 min, bears its load after 2 to 24 h
    assert covering.glue is not None
    assert covering.glue.curing.set_s.high == 60 * 60
    assert "Alcohol vapour burns: no flame." in covering.cautions
    assert covering.check == "lies flat"


def test_a_part_that_is_waited_for_holds_up_only_what_lies_over_it():
    log = tuple(replace(one, awaits="cleaning") if one.name == "shutter" else one for one in LOG)
    assert states(way_back(log, SMALL)) == {
        "shutter": "waits",
        "plate": "held up",
        "top": "now",
        "covering": "held up",
    }
    log = tuple(replace(one, awaits="cleaning") if one.name == "top" else one for one in LOG)
    assert states(way_back(log, SMALL))["shutter"] == "now"


def test_a_part_never_fitted_makes_no_step_but_hides_nothing_of_the_order():
    log = tuple(replace(one, met="never fitted") if one.name == "plate" else one for one in LOG)
    way = way_back(log, SMALL)
    assert [step.entry.name for step in way.steps] == ["shutter", "top", "covering"]
    assert [one.name for one in way.steps[2].held_by] == ["shutter"]  # it lay under both


def test_a_missing_part_waits_for_a_spare_or_a_reason():
    log = tuple(replace(one, met="missing", pocket="") if one.name == "plate" else one for one in LOG)
    log = done(log, "shutter")
    assert states(way_back(log, SMALL))["plate"] == "waits"
    assert states(way_back(log, SMALL))["covering"] == "held up"
    here = tuple(replace(one, spare_is_here=True) if one.name == "plate" else one for one in log)
    assert states(way_back(here, SMALL))["plate"] == "now"
    why = tuple(replace(one, explained="owner's wish") if one.name == "plate" else one for one in log)
    assert states(way_back(why, SMALL))["plate"] == "stays out"
    assert states(way_back(why, SMALL))["covering"] == "now"


def test_without_a_family_the_strict_reverse_is_taken_and_said_to_be_so():
    way = way_back(LOG)
    assert [step.state for step in way.steps] == ["now", "held up", "held up", "held up"]
    assert [step.entry.number for step in way.steps] == [4, 3, 2, 1]
    assert all(step.strict for step in way.steps)


def test_what_the_log_tells_of_a_covering_counts_beside_the_family():
    log = tuple(replace(one, hidden_under=("top",)) if one.name == "shutter" else one for one in LOG)
    assert [one.name for one in way_back(log, SMALL).steps[2].held_by] == ["shutter"]


def test_a_cover_taken_off_again_still_goes_over_what_it_covers():
    again = (*done(LOG, "covering"), off(5, "covering"))
    way = way_back(again, SMALL)
    assert [step.entry.id for step in way.steps] == ["s4", "s3", "s5", "s2"]
    assert states(way)["covering"] == "held up"


def test_adjustments_come_when_the_last_part_that_lost_them_is_back():
    way = way_back(LOG, SMALL)
    assert [(one.what, one.after.name, one.is_ready) for one in way.adjustments] == [
        ("shutter speeds", "shutter", False),
        ("infinity", "plate", False),
    ]
    ready = way_back(done(LOG, "shutter"), SMALL).adjustments
    assert [one.is_ready for one in ready] == [True, False]


def test_glue_that_still_cures_is_told_with_the_time_it_needs():
    log = done(LOG, "shutter", "plate", "top", "covering")
    told = way_back(log, SMALL, since_s={"s1": 2 * 3600.0}).curing
    assert [(one.entry.name, one.holds, one.cured_in_s) for one in told] == [("covering", True, 22 * 3600.0)]
    assert way_back(log, SMALL, since_s={"s1": 25 * 3600.0}).curing == ()


def test_a_screw_left_over_is_named_with_where_it_belongs_and_lies():
    log = tuple(
        replace(one, kept=(replace(SCREWS, back=2),)) if one.name == "plate" else one
        for one in done(LOG, "shutter", "plate", "top", "covering")
    )
    way = way_back(log, SMALL)
    assert not way.is_whole
    assert way.lacks == (
        "1 of 3: screw, M1.7x0.35, 3 mm long. It belongs to the plate; it lies in tray 1, pocket 2.",
    )
    assert [one.says for one in way.forgotten] == [
        "Under the covering something is missing: screw, M1.7x0.35, 3 mm long of the plate; "
        "it lies in tray 1, pocket 2."
    ]
    why = tuple(
        replace(one, kept=(replace(SCREWS, back=2, explained="head sheared"),))
        if one.name == "plate"
        else one
        for one in log
    )
    assert way_back(why, SMALL).is_whole


def test_a_forgotten_shim_is_told_before_the_cover_closes():
    log = done(LOG, "shutter", kept=False)
    for closing in ("plate", "s3", "covering"):
        told = [one for one in forgotten_under(log, closing, SMALL) if one.kept]
        assert SHIM in [one.kept for one in told]
    assert forgotten_under(log, "top", SMALL) == ()
    assert [one.kept for one in forgotten_under(log, "shutter", SMALL)] == [SHIM]
    assert [one.over.name for one in way_back(log, SMALL).forgotten] == ["shutter"]
    assert SHIM in [one.kept for one in forgotten_under(log, "top")]  # without a family: it came off after
    with pytest.raises(ValueError, match="'mirror' is not in the log"):
        forgotten_under(log, "mirror", SMALL)


def test_what_is_not_back_is_told_with_the_reason():
    log = tuple(replace(one, awaits="being cleaned") if one.name == "shutter" else one for one in LOG)
    lacks = way_back(log, SMALL).lacks
    assert lacks[:3] == (
        "The shutter is not back: being cleaned.",
        "The plate is not back: first the shutter.",
        "The top is not back.",
    )


def test_two_entries_of_one_id_are_refused():
    with pytest.raises(ValueError, match="one id"):
        way_back((LOG[0], LOG[0]), SMALL)
