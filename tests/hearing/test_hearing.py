"""What is heard in sentences. What each ought to give stands beside it."""

from __future__ import annotations

import pytest

from pegwood.hearing import Heard, NamedPart, Taught, as_data, hear, read_narration, vocabulary

PARTS = (
    NamedPart(id="shutter.slow-train", name="slow train", also=("retard",)),
    NamedPart(id="shutter.pallet", name="pallet of the slow train", also=("escapement pallet",)),
    NamedPart(id="shutter.release-lever", name="release lever"),
    NamedPart(id="advance.idler", name="idler"),
    NamedPart(id="advance.ratchet-pawl", name="ratchet pawl and spring"),
    NamedPart(id="counter.feed-pawl", name="feed pawl and spring"),
    NamedPart(id="lens.front", name="front element", also=("front glass",)),
    NamedPart(id="lens.rear", name="rear element"),
    NamedPart(id="door.left", name="left strut"),
    NamedPart(id="door.right", name="right strut"),
    NamedPart(id="back.seal", name="hinge seal", also=("light seal",)),
    NamedPart(id="meter.cell", name="selenium cell", also=("photocell",)),
    NamedPart(id="body.back", name="back door", also=("back",)),
)


def heard(text: str, taught: Taught | None = None) -> Heard:
    words = vocabulary() if taught is None else vocabulary().with_taught(taught)
    return hear(read_narration(text), PARTS, words)


def findings(text: str) -> list[tuple[str, str]]:
    return [(one.part.id, one.condition) for one in heard(text).findings]


def only(text: str):
    found = heard(text).findings
    assert len(found) == 1, found
    return found[0]


@pytest.mark.parametrize(
    ("said", "part", "condition"),
    [
        ("the slow train is gummed up", "shutter.slow-train", "gummed"),
        ("there's rust on the left strut", "door.left", "rust"),
        ("bent right strut", "door.right", "bent"),
        ("a bit dry, the idler", "advance.idler", "dry"),
        ("the pallet of the slow train is worn", "shutter.pallet", "worn"),
        ("slow train pallet worn", "shutter.pallet", "worn"),
        ("release lever won't budge", "shutter.release-lever", "seized"),
        ("selenium cell stone dead", "meter.cell", "dead"),
        ("the front element looks fine", "lens.front", "fine"),
        ("no trouble with the idler", "advance.idler", "fine"),
        ("the hinge seal has gone to tar", "back.seal", "perished"),
    ],
)
def test_a_condition_goes_to_the_part_it_is_told_of(said, part, condition):
    assert findings(said) == [(part, condition)]


def test_without_stops_each_part_begins_anew():
    said = "slow train gummed release lever bent idler fine"
    assert findings(said) == [
        ("shutter.slow-train", "gummed"),
        ("shutter.release-lever", "bent"),
        ("advance.idler", "fine"),
    ]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("the front element is hazy, rear looks lovely", [("lens.front", "haze"), ("lens.rear", "fine")]),
        ("left strut bent. the right is fine", [("door.left", "bent"), ("door.right", "fine")]),
        (
            "the left strut is bent. right, the idler is dry",
            [("door.left", "bent"), ("advance.idler", "dry")],
        ),
    ],
)
def test_a_side_alone_is_the_part_spoken_of_on_that_side(said, told):
    assert findings(said) == told


def test_a_hair_before_a_condition_is_how_much_and_not_dirt():
    found = only("the left strut is a hair bent")
    assert (found.condition, found.grade) == ("bent", 1)
    assert findings("there's a hair on the front element") == [("lens.front", "dirty")]


@pytest.mark.parametrize(
    "said",
    [
        "no sign of fungus on the rear element",
        "the rear element isn't showing any fungus",
        "can't see any fungus on the rear element",
        "rear element no fungus",
    ],
)
def test_a_denial_is_told_as_one(said):
    found = only(said)
    assert (found.part.id, found.condition, found.denied) == ("lens.rear", "fungus", True)


def test_a_denial_ends_where_something_else_is_told():
    found = heard("the left strut isn't bent but the right strut is cracked").findings
    assert [(one.part.id, one.condition, one.denied) for one in found] == [
        ("door.left", "bent", True),
        ("door.right", "cracked", False),
    ]


@pytest.mark.parametrize(
    ("said", "certainty"),
    [
        ("the idler is worn", "plain"),
        ("the idler is probably worn", "probable"),
        ("might be the idler that's worn", "possible"),
        ("is that idler worn?", "possible"),
        ("he says the idler is worn", "possible"),
        ("the idler's worn maybe", "possible"),
    ],
)
def test_a_conjecture_stays_one(said, certainty):
    assert only(said).certainty == certainty


@pytest.mark.parametrize(
    "said", ["nine out of ten of these have a perished hinge seal", "they always crack there"]
)
def test_what_is_said_of_such_cameras_is_a_remark(said):
    told = heard("The left strut is fine.\n" + said)
    assert [one.condition for one in told.findings] == ["fine"]
    assert [one.words for one in told.remarks] == [said]


@pytest.mark.parametrize(
    "said",
    ["the tea has gone cold", "my back is stiff", "the mug is cracked", "if it were gummed you'd feel it"],
)
def test_asides_and_what_would_be_tell_nothing(said):
    assert findings("The left strut is fine.\n" + said) == [("door.left", "fine")]


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("the idler, sorry, the feed pawl I mean, is worn", [("counter.feed-pawl", "worn")]),
        ("the left strut is bent, no, not bent, just loose", [("door.left", "loose")]),
        ("the idler is worn. Sorry, the feed pawl.", [("counter.feed-pawl", "worn")]),
        ("the idler is worn, scratch that", []),
    ],
)
def test_a_correction_replaces_what_it_corrects(said, left):
    assert findings(said) == left


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("the front element needs a clean, no, a polish", ["polish"]),
        ("the idler needs a bath, sorry, needs replacing", ["replace"]),
        ("clean the front element, no wait, polish it", ["polish"]),
        ("the idler needs a bath, scratch that", []),
        ("the idler needs oil and no cleaning", ["lubricate"]),
        ("the idler is gummed, no, dry, needs oil", ["lubricate"]),
    ],
)
def test_a_correction_of_work_replaces_the_work(said, left):
    assert [one.work for one in heard(said).work] == left


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("Now the idler. It's worn.", "advance.idler"),
        ("Now the idler. bone dry", "advance.idler"),
        ("Left strut is fine. The right one is bent.", "door.right"),
    ],
)
def test_what_points_back_means_the_part_last_spoken_of(said, part):
    assert heard(said).findings[-1].part.id == part


def test_the_same_on_the_other_one_is_told_of_it_too():
    assert findings("the left strut is bent. same on the other one") == [
        ("door.left", "bent"),
        ("door.right", "bent"),
    ]


def test_a_name_of_several_parts_is_not_guessed():
    told = heard("the pawl is worn")
    assert told.findings == ()
    assert told.unplaced[0].why == "may be the ratchet pawl and spring or the feed pawl and spring"


def test_a_part_last_spoken_of_settles_a_name_of_several():
    assert findings("the feed pawl is dry. the pawl is worn")[-1] == ("counter.feed-pawl", "worn")


def test_grade_cause_measure_and_place_are_told_as_said():
    found = only("the left strut is badly rusted at the corner")
    assert (found.grade, found.place) == (4, "at the corner")
    assert only("the left strut is bent right behind the rivet").grade is None
    assert only("rust on the left strut from a leaking cell").cause == "from a leaking cell"
    low = only("the selenium cell reads a tenth low")
    assert (low.condition, low.measured) == ("out of adjustment", "a tenth low")


def test_work_stands_beside_what_it_mends_and_alone():
    found = only("bent left strut, needs straightening")
    assert found.work == ("straighten",)
    told = heard("I'll replace the hinge seal and I've polished the front element")
    assert [(one.part.id, one.work, one.done) for one in told.work] == [
        ("back.seal", "replace", False),
        ("lens.front", "polish", True),
    ]
    assert told.findings == ()


def test_an_earlier_repair_is_noticed():
    assert only("somebody's been in here before, the idler is scratched").earlier_repair


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("the selenium sell is dead", "meter.cell"),
        ("slow drain is gummed", "shutter.slow-train"),
        ("feed paul is worn", "counter.feed-pawl"),
        ("slowtrain is gummed", "shutter.slow-train"),
    ],
)
def test_a_misheard_name_is_known_by_its_sound(said, part):
    assert only(said).part.id == part


def test_a_bench_teaches_names_conditions_and_mishearings():
    taught = Taught(
        part_names=(("wobbler", "advance.idler"),),
        conditions=(("doolally", "erratic"),),
        mishearings=(("wiggler", "idler"),),
    )
    told = heard("the wobbler is doolally. the wiggler is bent", taught)
    assert [(one.part.id, one.condition) for one in told.findings] == [
        ("advance.idler", "erratic"),
        ("advance.idler", "bent"),
    ]


def test_times_and_places_in_the_text_go_with_what_was_found():
    text = "00:01 the left strut is bent\n00:09 the idler is worn"
    whole = "the left strut is bent\nthe idler is worn"
    told = heard(text).findings
    assert [one.at_s for one in told] == [1.0, 9.0]
    assert [whole[slice(*one.where)] for one in told] == [one.words for one in told]


def test_as_data_has_the_keys_of_the_answer():
    data = as_data(
        heard("the left strut is bent\nthe pawl is worn\nI'll clean the idler\nthese always crack")
    )
    assert [len(data[key]) for key in ("findings", "unplaced", "work", "remarks")] == [1, 1, 1, 1]
    assert data["findings"][0]["part_id"] == "door.left"


def test_the_other_of_the_lower_left_ones_is_the_lower_right_one():
    struts = tuple(
        NamedPart(id=f"door.{end}-{side}", name=f"{end} {side} strut")
        for end in ("upper", "lower")
        for side in ("left", "right")
    )
    told = hear(read_narration("the lower left strut is bent\nsame on the other side"), struts, vocabulary())
    assert [one.part.id for one in told.findings] == ["door.lower-left", "door.lower-right"]
