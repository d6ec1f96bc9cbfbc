"""Options of a way in: what stays, what joint is not undone, what side is worked from."""

from __future__ import annotations

import pytest

from pegwood.anatomy.construction import Construction, constructions
from pegwood.anatomy.parts import Join, Minutes, Part, Way
from pegwood.anatomy.planning import Unreachable
from pegwood.anatomy.planning.plan import plan
from pegwood.trade.grounds import Ground


def way(side: str, minutes: float, *after: str, name: str = "") -> Way:
    return Way(
        side=side,
        tool="fingers",
        minutes=Minutes(low=minutes, likely=minutes, high=minutes),
        after=after,
        name=name,
    )


def part(named: str, *ways: Way, joint: str = "screw", name: str = "") -> Part:
    joins = (Join(kind=joint),)
    return Part(id=named, name=name or named, materials=("brass",), joins=joins, ways=ways)


#: To the train: through the covering and the front (10 + 2), through the top (30), or through the base (14).
CAMERA = Construction(
    id="x",
    name="x",
    ground=Ground("a test", "practice"),
    parts={
        one.id: one
        for one in (
            part("covering", way("front", 10), joint="glue"),
            part("front", way("front", 2, "covering")),
            part("top", way("top", 30)),
            part("base", way("base", 14)),
            part(
                "train",
                way("inside", 3, "front", name="by the front"),
                way("inside", 3, "top", name="by the top"),
                way("inside", 3, "base", name="by the base"),
            ),
            part("blades", way("front", 1, "front")),
            part("stuck-glass", way("top", 1), joint="glue"),
        )
    },
)


@pytest.mark.parametrize(
    ("options", "off", "cost", "first"),
    [
        ({}, (), 15, "covering"),
        ({"avoid": ["glue"]}, (), 17, "base"),
        ({"spare": ["base"], "avoid": ["glue"]}, (), 33, "top"),
        ({"only_from": ["top"]}, (), 33, "top"),
        ({"only_from": ["base"]}, (), 17, "base"),
        ({"only_from": ["front", "base"]}, (), 15, "covering"),
        # what is off already was worked through, whatever held it and wherever from
        ({"avoid": ["glue"]}, ("covering",), 5, "front"),
        ({"only_from": ["top"]}, ("covering", "front"), 3, "train"),
        ({"spare": ["covering"]}, ("covering",), 5, "front"),
    ],
)
def test_an_option_closes_ways_and_its_price_is_told(options, off, cost, first):
    found = plan(CAMERA, ["train"], off, **options)
    assert (found.cost, found.steps[0].part.id) == (cost, first)
    free = {(): 15, ("covering",): 5, ("covering", "front"): 3}[off]
    assert found.dearer_min == cost - free


@pytest.mark.parametrize(
    ("target", "options", "says"),
    [
        (
            "blades",
            {"avoid": ["glue"]},
            r"^covering \(covering\) is held by glue, which is to be avoided; "
            r"there is no way in without it to blades \(blades\)\.$",
        ),
        (
            "blades",
            {"spare": ["covering"]},
            r"^covering \(covering\) is to stay; there is no way in without it to blades \(blades\)\.$",
        ),
        (
            "train",
            {"only_from": ["left"]},  # the fewest that would open it: one plate, not covering and front
            r"^base \(base\) comes off from the base, not from the left; there is no way in without it to",
        ),
        (
            "stuck-glass",
            {"avoid": ["glue"]},
            r"^stuck-glass \(stuck-glass\) is held by glue, .*: so there is no",
        ),
        ("blades", {"only_from": ["base"]}, r"blades \(blades\) comes off from the front, not from the base"),
    ],
)
def test_a_refusal_names_what_is_in_the_way_and_what_closes_it(target, options, says):
    with pytest.raises(Unreachable, match=says) as told:
        plan(CAMERA, [target], **options)
    assert told.value.parts == (target,)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"avoid": ["glu"]}, "'glu' is no kind of joint. Expected one of: screw, ring"),
        ({"only_from": ["bottom"]}, "'bottom' is no side. Expected one of: front, top, base"),
        ({"spare": ["train"]}, "'train' cannot be reached and spared"),
        ({"spare": ["moon"]}, "'moon' is no part of this family"),
    ],
)
def test_an_option_that_cannot_be_is_refused(options, says):
    with pytest.raises(ValueError, match=says):
        plan(CAMERA, ["train"], **options)


def test_where_one_of_its_ways_is_open_it_is_told_what_closes_that_one():
    # from the front the train could come off, were the front plate not behind the bottom plate
    reflex = constructions()["reflex-35-cloth"]
    says = (
        r"^bottom plate \(body.bottom-plate\) comes off from the base, not from the back or front or top, and"
    )
    with pytest.raises(Unreachable, match=says) as told:
        plan(reflex, ["shutter.slow-train"], only_from=["front", "top", "back"])
    assert "slow train (shutter.slow-train) comes off" not in str(told.value)


def is_open(part: Part, one: Way, options: dict) -> bool:
    """By the words of the options alone."""
    if "avoid" in options:
        return not {join.kind for join in part.joins} & set(options["avoid"])
    return one.side in {"inside", *options["only_from"]}


def comes_off(family: Construction, options: dict) -> set[str]:
    done: set[str] = set()
    while now := {
        part.id
        for part in family.parts.values()
        if part.id not in done
        and any(is_open(part, one, options) and set(one.after) <= done for one in part.ways)
    }:
        done |= now
    return done


@pytest.mark.parametrize("options", [{"avoid": ["glue"]}, {"only_from": ["base"]}], ids=["glue", "base"])
@pytest.mark.parametrize("slug", sorted(constructions()))
def test_in_every_family_options_hold_at_every_step_or_are_refused_where_nothing_is_left(slug, options):
    family = constructions()[slug]
    can = comes_off(family, options)
    for target in [one for one in sorted(family.parts) if family.parts[one].ways][::13]:
        if target not in can:
            with pytest.raises(Unreachable, match="there is no way in"):
                plan(family, [target], **options)
            continue
        found = plan(family, [target], **options)
        assert all(is_open(step.part, step.way, options) for step in found.steps)
        assert found.cost - found.dearer_min == pytest.approx(plan(family, [target]).cost)
