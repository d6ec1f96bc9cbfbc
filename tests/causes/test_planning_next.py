"""What is proposed next for a camera: looks while they pay, then what to open and mend, then to stop."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from causes.small_cameras import causes, construction, fault, part, sign
from pegwood.anatomy.construction import constructions
from pegwood.causes.case import Case
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import knowledge
from pegwood.causes.planning import Prices, bench_check, next_actions

YES, NO = (0.0, 1.0), (1.0, 0.0)
GLUED = "Warm it first: the glue tears the cloth."
BUILT = construction(
    part("cover", 6, cautions=(GLUED,)), part("train", 9, "cover"), part("latch", 4, "cover"), part("base", 5)
)
#: A shutter that hesitates: gum or rust in the train, below the cover; a bent base beside it.
FAULTS = [
    fault("gum", "train", 0.4, 20, cautions=("No flame near naphtha.",)),
    fault("rust", "train", 0.1, 60),
    fault("worn", "latch", 0.1),
    fault("bent", "base", 0.02),
]
SIGNS = [
    sign("slow", 0.5, 0.05, {"gum": 0.9, "rust": 0.9}),
    sign("holds", 0.5, 0.02, {"worn": 0.9}),
    sign("grit", 1.0, 0.01, {"rust": 0.8}, off=("cover",)),
]
CAMERA = causes(FAULTS, SIGNS)


def ids(advice):
    return [(one.kind, one.id) for one in advice.proposals]


def test_a_cheap_telling_look_comes_first():
    found = next_actions(CAMERA, BUILT, Case())
    assert ids(found)[0] == ("look", "slow")
    assert found.first.worth_minutes > 0
    assert found.first.access == ()


def test_what_was_answered_or_could_not_be_is_not_asked_again():
    found = next_actions(CAMERA, BUILT, Case(answers={"slow": YES}, unanswered=frozenset({"holds"})))
    assert not {("look", "slow"), ("look", "holds")} & set(ids(found))


def test_before_opening_only_looks_from_outside_are_asked():
    asked, case = [], Case()
    while (first := bench_check(CAMERA, BUILT, case).first).kind != "stop":
        assert first.kind == "look"
        assert not CAMERA.signs[first.id].off
        asked.append(first.id)
        case = replace(case, answers={**case.answers, first.id: YES})
    assert sorted(asked) == ["holds", "slow"]
    assert "has to be opened" in bench_check(CAMERA, BUILT, case).says


def test_what_is_likely_is_opened_with_its_way_its_price_and_its_cautions():
    found = next_actions(CAMERA, BUILT, Case(answers={"slow": YES, "holds": NO}))
    opening = next(one for one in found.proposals if one.kind == "open")
    assert [step.part.id for step in opening.access] == ["cover", "train"]
    assert opening.access_minutes == pytest.approx(15.0)
    assert opening.cautions == (GLUED,)
    assert opening.opens_for[0][0] == "gum"
    assert opening.opens_for[0][1] > 0.7


def test_what_is_off_already_is_not_paid_again():
    case = Case(answers={"slow": YES, "holds": NO})
    closed = next(one for one in next_actions(CAMERA, BUILT, case).proposals if one.kind == "open")
    ajar = next(
        one for one in next_actions(CAMERA, BUILT, case, off={"cover"}).proposals if one.kind == "open"
    )
    assert closed.access_minutes - ajar.access_minutes == pytest.approx(6.0)
    assert ajar.worth_minutes > closed.worth_minutes


def test_what_lies_open_is_looked_over_and_what_was_found_is_mended():
    off = {"cover", "train"}
    case = Case(answers={"slow": YES, "holds": NO})
    found = next_actions(CAMERA, BUILT, case, off=off)
    here = next(one for one in found.proposals if one.id == "train")
    assert (here.kind, here.access, here.access_minutes) == ("open", (), 0.0)
    case = replace(case, rulings={"gum": True, "rust": False})
    mend = next(one for one in next_actions(CAMERA, BUILT, case, off=off).proposals if one.kind == "mend")
    assert (mend.id, mend.minutes, mend.cautions) == ("gum", 20.0, ("No flame near naphtha.",))
    done = next_actions(CAMERA, BUILT, case, off=off, mended={"gum"})
    assert "gum" not in [one.id for one in done.proposals]
    assert done.expected_minutes < next_actions(CAMERA, BUILT, case, off=off).expected_minutes


def test_when_nothing_is_likely_it_says_so_and_stops():
    case = Case(answers={"slow": NO, "holds": NO}, rulings={"gum": False, "rust": False})
    found = next_actions(CAMERA, BUILT, case)
    assert ids(found) == [("stop", "")]
    assert found.says.startswith("Nothing is likely enough to be looked for; likeliest is ")


def test_a_look_pays_with_the_one_that_follows_it():
    # two looks that each say too little alone: only both together change what is opened
    pair = causes(
        [fault("deep", "train", 0.5)],
        [sign("one", 1.6, 0.3, {"deep": 0.85}), sign("two", 1.6, 0.3, {"deep": 0.85})],
    )
    dear = construction(part("cover", 60), part("train", 20, "cover"))
    alone = []
    for price in range(20, 110, 6):
        found = next_actions(pair, dear, Case(), prices=Prices(comeback=float(price)))
        if found.first.kind == "look" and found.first.with_look:
            alone.append((found.first.id, found.first.with_look, found.first.worth_minutes))
    assert alone
    assert all({one, other} == {"one", "two"} and worth > 0 for one, other, worth in alone)


def test_a_cover_comes_off_for_several_looks_that_no_single_one_pays_for():
    names = [f"f{n}" for n in range(6)]
    many = causes(
        [fault(name, name, 0.25) for name in names],
        [sign(f"look {name}", 0.3, 0.01, {name: 0.97}, off=("cover",)) for name in names],
    )
    built = construction(part("cover", 24), *(part(name, 24, "cover") for name in names))
    found = next_actions(many, built, Case(), prices=Prices(comeback=24.0))
    first = found.first
    assert (first.kind, [step.part.id for step in first.access]) == ("open", ["cover"])
    assert first.with_look in many.signs
    assert first.worth_minutes > 0


def test_answers_that_cannot_be_get_a_clear_word():
    never = causes([fault("gum", "train", 0.4)], [sign("slow", 1, 0.0, {"gum": 0.5})])
    found = next_actions(never, BUILT, Case(answers={"slow": YES}, rulings={"gum": False}))
    assert found.proposals == ()
    assert found.contradiction == ("slow",)
    assert "cannot all be" in found.says


@pytest.mark.parametrize(("off", "mended"), [({"no-such"}, ()), ((), {"no-such"})])
def test_what_the_family_does_not_have_is_told(off, mended):
    with pytest.raises(ValueError, match="'no-such' is no"):
        next_actions(CAMERA, BUILT, Case(), off=off, mended=mended)


@pytest.mark.parametrize("wrong", [{"comeback": math.nan}, {"look_at_part": -1}, {"sure": 0.2}, {"again": 2}])
def test_prices_that_cannot_be_are_told(wrong):
    with pytest.raises(ValueError, match=r"Expected"):
        Prices(**wrong)


@pytest.mark.parametrize("family", ["reflex-35-cloth", "box"])
def test_a_family_is_advised_with_plain_numbers(family):
    built = constructions()[family]
    known = family_causes(built, knowledge())
    found = next_actions(known, built, Case(told=frozenset({"soaked-salt"})))
    assert found.first.kind == "look"
    for one in found.proposals:
        numbers = (one.minutes, one.access_minutes, one.worth_minutes, found.expected_minutes)
        assert all(math.isfinite(number) for number in numbers)
        assert one.kind == "stop" or one.worth_minutes > 0
        wanted = {part for step in one.access for part in step.way.after}
        assert wanted <= {step.part.id for step in one.access}
