"""
The order in which the trade suspects faults, on whole families: every check here is practice.

No book has these; they are what repairers say to each other. Each stands as the order of posteriors that must
come out of the families' nets, not as figures.
"""

from __future__ import annotations

import math

import pytest

from pegwood.anatomy.construction import WITHIN, constructions, read_construction
from pegwood.anatomy.mechanism import mechanisms
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.known import knowledge
from pegwood.causes.story_net import posterior_over_stories

FAMILIES = {one.id: family_causes(one, knowledge()) for one in constructions().values()}
MATERIALS = {
    one.id: {id: set(part.materials) for id, part in one.parts.items()} for one in constructions().values()
}
WATER = ("soaked-fresh", "soaked-salt")
PLATED = {"nickel-plate", "chromium-plate"}
COATED = PLATED | {"nitro-lacquer", "stoved-enamel", "anodised-aluminium", "stainless-steel"}


def within(causes: FamilyCauses, mechanism: str) -> str | None:
    """What the family calls a mechanism, by a fault or sign that only it has; None if it has none."""
    return next(
        (use.called for use in constructions()[causes.family].uses if use.mechanism == mechanism), None
    )


def having(*mechanisms: str) -> list:
    """Family and what it calls the mechanism, for each family that has one of them."""
    return [
        pytest.param(causes, called, id=f"{family}-{called}")
        for family, causes in FAMILIES.items()
        for mechanism in mechanisms
        if (called := within(causes, mechanism))
    ]


def saw(causes: FamilyCauses, called: str, **answers: str) -> dict[str, tuple[float, ...]]:
    """Plain answers to signs of a mechanism: `reads_low="yes"`."""
    seen = {}
    for sign, answer in answers.items():
        of = causes.signs[f"{called}{WITHIN}{sign.replace('_', '-')}"]
        seen[of.id] = tuple(float(one == answer) for one in of.answers)
        assert sum(seen[of.id]) == 1, f"{answer!r} is no answer to {of.id}"
    return seen


def chances(causes: FamilyCauses, called: str, evidence, told=(), denied=()) -> dict[str, float]:
    """Of the mechanism's faults, under the mechanism's own ids, as a job's card has them."""
    found = posterior_over_stories(causes, evidence, told=told, denied=denied).faults
    return {
        fault.removeprefix(f"{called}{WITHIN}"): chance
        for fault, chance in found.items()
        if fault.startswith(f"{called}{WITHIN}")
    }


def raise_by_water(causes: FamilyCauses, water: str) -> dict[str, float]:
    """By what the chance of each fault is multiplied if the camera was under water."""
    wet, dry = causes.net([water], set(WATER) - {water}).priors, causes.net([], WATER).priors
    return {fault: wet[fault] / dry[fault] for fault in wet}


def is_rust_on_bare_steel(causes: FamilyCauses, fault: str) -> bool:
    of = causes.faults[fault]
    made_of = MATERIALS[causes.family].get(of.part, set())
    return "steel" in str(made_of) and not made_of & COATED and of.name.startswith("rust")


def is_on_plate(causes: FamilyCauses, fault: str) -> bool:
    made_of = MATERIALS[causes.family].get(causes.faults[fault].part, set())
    return bool(made_of & PLATED) and not made_of & {"steel", "blued-steel", "soft-solder"}


@pytest.mark.parametrize("water", WATER)
@pytest.mark.parametrize("causes", FAMILIES.values(), ids=FAMILIES)
def test_under_water_bare_steel_rusts_before_plated_parts_suffer(causes, water):
    raised = raise_by_water(causes, water)
    plated = [by for fault, by in raised.items() if is_on_plate(causes, fault)]
    rusted = {fault: by for fault, by in raised.items() if is_rust_on_bare_steel(causes, fault)}
    for fault, by in rusted.items():
        assert by > max(plated, default=1), fault
    if causes.family != "box":  # nothing in a box is plated, and its one shutter blade is lacquered
        assert rusted
        assert plated


CLOSE = ("rusted-slow-train", "rusted-blades", "rusted-rollers", "rusted-train", "pivots-rusted")
APART = ("spring-rusted", "play-spring-rusted", "latch-weak", "feed-spring", "springs-tired", "springs-off")


@pytest.mark.parametrize("water", WATER)
@pytest.mark.parametrize("causes", FAMILIES.values(), ids=FAMILIES)
def test_under_water_rust_is_worst_where_two_faces_lie_close(causes, water):
    raised = raise_by_water(causes, water)
    close = [by for fault, by in raised.items() if fault.split(WITHIN)[-1] in CLOSE]
    apart = [by for fault, by in raised.items() if fault.split(WITHIN)[-1] in APART]
    assert close or causes.family == "box"
    assert min(close, default=2) > max(apart, default=1)


@pytest.mark.parametrize("causes", FAMILIES.values(), ids=FAMILIES)
def test_a_soaked_camera_has_several_faults_more_but_not_all_of_them(causes):
    dry = sum(causes.net([], WATER).priors.values())
    fresh, salt = (sum(causes.net([one]).priors.values()) for one in WATER)
    assert dry + 0.02 * len(causes.faults) < fresh < salt < 0.3 * len(causes.faults)
    assert max(causes.net(["soaked-salt"]).priors.values()) < 0.9, "of nothing is water proof enough"


@pytest.mark.parametrize(("causes", "called"), having("selenium-meter"))
@pytest.mark.parametrize("water", WATER)
@pytest.mark.parametrize("moves", ["freely", "a little"])
def test_a_selenium_meter_that_moves_and_reads_low_after_water_has_a_bad_cell_before_its_movement(
    causes, called, water, moves
):
    found = chances(causes, called, saw(causes, called, moves=moves, reads_low="yes"), [water])
    movement = [
        found[id.split(WITHIN)[-1]]
        for id, fault in causes.faults.items()
        if fault.part == f"{called}{WITHIN}meter-movement"
    ]
    assert len(movement) >= 4
    assert found["cell-weak"] == max(found.values())
    assert found["cell-weak"] > sum(movement)


#: A folding camera focused by its front cell has its narrow gap there.
WITH_GAP = [
    one
    for one in having("lens-groups", "front-cell-focus")
    if f"{one.values[1]}{WITHIN}tide-rings" in one.values[0].signs
]


def test_every_family_with_glasses_close_together_has_a_gap_that_holds_a_drop():
    assert {one.values[0].family for one in WITH_GAP} == {
        family for family in FAMILIES if within(FAMILIES[family], "lens-groups")
    }


@pytest.mark.parametrize(("causes", "called"), WITH_GAP)
def test_after_water_rings_of_dried_drops_stand_on_both_faces_of_the_air_gap(causes, called):
    evidence = saw(causes, called, tide_rings="yes")
    found = chances(causes, called, evidence, ["soaked-fresh"])
    assert found["drop-marks"] == max(found.values())
    both = saw(causes, called, both_faces="yes")
    alone = posterior_over_stories(causes, evidence, told=["soaked-fresh"]).log_evidence
    together = posterior_over_stories(causes, evidence | both, told=["soaked-fresh"]).log_evidence
    assert together - alone > -0.7, "likelier than not, the other face answers: more than half"


@pytest.mark.parametrize(
    ("causes", "called"), having("single-helicoid", "double-helicoid", "front-cell-focus")
)
@pytest.mark.parametrize("told", [(), ("soaked-fresh",), ("soaked-salt",)])
def test_a_focus_stiff_but_smooth_is_old_grease_before_it_is_water(causes, called, told):
    found = chances(causes, called, saw(causes, called, turns="stiff", gritty="no"), told)
    grease = found["green-grease" if called == "focus" else "dry-grease"]
    assert grease == max(found.values())
    assert grease > 5 * found["corroded-threads"]
    assert grease > found["corroded-threads"] + found["grit"] + found.get("washed-out", 0.0)


@pytest.mark.parametrize(("causes", "called"), having("focusing-rack-twin-lens"))
def test_stiff_rails_are_old_grease_before_they_are_water(causes, called):
    found = chances(causes, called, saw(causes, called, turns="stiff"), ["soaked-fresh"])
    assert found["dry-grease"] == max(found.values())
    assert found["dry-grease"] > 3 * found["rail-corroded"]


@pytest.mark.parametrize(("causes", "called"), having("lever-advance-sprocket-clutch"))
@pytest.mark.parametrize("answer", ["mostly", "never"])
@pytest.mark.parametrize("told", [(), ("unserved-long",), ("dropped",), ("used-hard",)])
def test_firing_no_longer_frees_the_advance_loose_bearing_screws_and_a_bent_lever_come_first(
    causes, called, answer, told
):
    evidence = saw(causes, called, firing_frees=answer)
    found = chances(causes, called, evidence, told)
    shown = {one.fault.split(WITHIN)[-1] for one in causes.signs[f"{called}{WITHIN}firing-frees"].shown_by}
    first = sorted(shown, key=found.get, reverse=True)[:2]
    assert set(first) == {"bridge-loose", "stop-bent"}
    before = causes.net(told).priors
    lift = {fault: found[fault] / before[f"{called}{WITHIN}{fault}"] for fault in found}
    assert set(sorted(lift, key=lift.get, reverse=True)[:2]) == {"bridge-loose", "stop-bent"}


@pytest.mark.parametrize(("causes", "called"), having("lever-advance-sprocket-clutch"))
def test_chips_of_film_under_the_sprocket_are_ordinary(causes, called):
    found = chances(causes, called, {})
    assert [fault for fault in found if found[fault] > found["film-chips"]] == ["shaft-gummed"]


#: No family has an uncoupled one: it stands alone here.
ALONE = family_causes(
    read_construction(
        """\
id = "alone"
name = "alone"
source = "a test"
mark = "practice"
[[use]]
mechanism = "uncoupled-rangefinder"
called = "rangefinder"
bind = [{ need = "top-cover", part = "" }, { need = "body", part = "" }]
""",
        "alone.toml",
        mechanisms(),
    ),
    knowledge(),
)
RANGEFINDERS = [*having("coupled-rangefinder"), pytest.param(ALONE, "rangefinder", id="uncoupled")]


@pytest.mark.parametrize(("causes", "called"), RANGEFINDERS)
@pytest.mark.parametrize("answer", ["late or short", "not"])
@pytest.mark.parametrize("told", [(), ("unserved-long",), ("soaked-salt",), ("earlier-repair",)])
def test_a_rangefinder_that_does_not_come_back_drags_or_is_rusted_before_its_optics_are_wrong(
    causes, called, answer, told
):
    found = chances(causes, called, saw(causes, called, comes_back=answer), told)
    ways_back = ("pivot-drags", "arm-drags", "spring-rusted", "follower-rusted")
    optics = ("splitter-loose", "mirror-loose", "infinity-wrong", "dial-slipped", "height-wrong")
    back = [found[one] for one in ways_back if one in found]
    wrong = max(found[one] for one in optics if one in found)
    assert max(back) > wrong
    assert 1 - math.prod(1 - one for one in back) > 2 * wrong
    if told == ("soaked-salt",) and answer == "not":
        assert found["spring-rusted"] == max(*back, wrong)


@pytest.mark.parametrize(("causes", "called"), having("covering"))
def test_foreign_glue_under_a_covering_raises_every_fault_of_an_earlier_repair_in_the_whole_camera(
    causes, called
):
    glue = saw(causes, called, glue_below="hard lumps")
    before, after = posterior_over_stories(causes, {}), posterior_over_stories(causes, glue)
    told = posterior_over_stories(causes, {}, told=["earlier-repair"])
    assert after.story["earlier-repair"] > 0.75
    of_repair = [
        fault.id
        for fault in causes.faults.values()
        if any(one.by == "earlier-repair" and one.odds > 1 for one in fault.raised)
    ]
    elsewhere = [fault for fault in of_repair if not fault.startswith(f"{called}{WITHIN}")]
    assert len({fault.split(WITHIN)[0] for fault in elsewhere}) >= 7, "in all the camera"
    for fault in of_repair:
        assert after.faults[fault] > before.faults[fault], fault
    for fault in elsewhere:
        assert after.faults[fault] < told.faults[fault], fault
    denied = posterior_over_stories(causes, glue, denied=["earlier-repair"])
    without = posterior_over_stories(causes, {}, denied=["earlier-repair"])
    for fault in elsewhere:
        assert denied.faults[fault] == pytest.approx(without.faults[fault], rel=0.05), (
            "only through the story"
        )


@pytest.mark.parametrize(("causes", "called"), having("covering"))
def test_foreign_glue_creeps_past_screw_heads_and_locks_what_lies_below(causes, called):
    before = posterior_over_stories(causes, {})
    after = posterior_over_stories(causes, saw(causes, called, glue_below="hard lumps"))
    crept = [fault for fault in causes.faults if fault.endswith(f"{WITHIN}glue-crept")]
    assert f"{called}{WITHIN}glue-crept" in crept
    for fault in crept:
        assert after.faults[fault] > 1.5 * before.faults[fault]
    assert after.faults[f"{called}{WITHIN}foreign-glue"] > after.faults[f"{called}{WITHIN}glue-crept"] > 0.3


def test_rust_found_in_one_place_speaks_for_rust_in_the_others():
    causes = FAMILIES["folding-35-leaf-rangefinder"]
    found = posterior_over_stories(causes, {}, {"shutter.rusted-slow-train": True})
    for fault in ("advance.shaft-rust", "rangefinder.spring-rusted", "meter.pivots-rusted"):
        assert found.faults[fault] > 1.5 * causes.faults[fault].prior
    assert found.story["soaked-salt"] + found.story["soaked-fresh"] > 0.3
