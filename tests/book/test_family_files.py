"""Families of the workshop's own: made of strip-downs, learned into, changed, and never lost."""

from __future__ import annotations

from itertools import count

import pytest

from book.cast import BY, ILSE, REFLEX
from pegwood.anatomy.learning.edited import PartEdit, WayEdit, edited
from pegwood.anatomy.parts import Minutes
from pegwood.book import arriving, leaving
from pegwood.book.arriving import CameraDetails
from pegwood.book.families import construction_of, families
from pegwood.book.family_files import family_file, family_files, save, told
from pegwood.book.family_learning import learn_into, learned_from, make_family, slug_for, taught, teachable
from pegwood.book.models import DiaryEntry, Job, StripDown
from pegwood.book.refusal import Refused
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.stripping.record import steps_of

pytestmark = pytest.mark.django_db
serial = count(1)


@pytest.fixture(autouse=True)
def own(own_families):
    return own_families


def strange(*names: str, minutes: float = 5, **hidden: tuple[str, ...]) -> Job:
    """A job on a camera that no family describes, with these parts off in this order."""
    details = CameraDetails(maker="Vorrin", model="Duplex", serial=f"{next(serial)}")
    job = arriving.take_in(ILSE, details, by=BY)
    for name in names:
        under = hidden.get(name.replace(" ", "_"), ())
        log_off(job, OffDetails(name=name, minutes=minutes, hidden_under=under), by=BY)
    return job


def befores(slug: str) -> dict[str, set[str]]:
    return {part.id: set(part.ways[0].after) for part in construction_of(slug).parts.values()}


def test_a_strip_down_becomes_a_family_and_its_camera_and_steps_are_of_it(own):
    job = strange("Front ring", "lens cell", "shutter plate")
    made = make_family([job], "Duplex half-frame", by=BY)
    assert made.construction.id == made.stem == "duplex-half-frame"
    assert (own / "duplex-half-frame.toml").read_text("utf-8").startswith("# Drafted from strip-downs")
    assert "duplex-half-frame" in families()
    assert befores("duplex-half-frame") == {
        "front-ring": set(),
        "lens-cell": {"front-ring"},
        "shutter-plate": {"lens-cell"},
    }
    job.refresh_from_db()
    job.camera.refresh_from_db()
    assert (job.camera.family, StripDown.objects.get(job=job).family) == ("duplex-half-frame",) * 2
    assert [row.part for row in steps_of(job)] == ["front-ring", "lens-cell", "shutter-plate"]
    entry = job.diary.get(what="learned into a family")
    assert (entry.old, entry.new["steps"]) == ({"family": "other"}, [1, 2, 3])
    assert job.diary.filter(what="amended the camera").exists()
    assert learned_from("duplex-half-frame") == (job.number,)


def test_a_second_strip_down_is_learned_in_and_what_a_person_changed_stays(own):
    first = strange("front ring", "lens cell", "shutter plate")
    make_family([first], "Duplex", by=BY)
    file = family_file("duplex")
    by_hand = file.text.replace('name = "front ring"', 'name = "retaining ring" # turn it left')
    by_hand = by_hand.replace('after = ["front-ring"]', "after = []", 1)
    save("duplex", by_hand, seen=file.version, by=BY)
    second = strange("lens cell", "front ring", "top cover", "shutter plate")
    made = learn_into("duplex", [second], by=BY)
    assert learned_from("duplex") == (first.number, second.number)
    assert befores("duplex") == {
        "front-ring": set(),
        "lens-cell": set(),
        "shutter-plate": {"top-cover"},
        "top-cover": {"front-ring", "lens-cell"},
    }
    text = family_file("duplex").text
    assert "# turn it left" in text
    assert made.construction.parts["front-ring"].name == "retaining ring"
    # its old name in a log is the same part
    assert {row.part for row in steps_of(second)} == {"front-ring", "lens-cell", "top-cover", "shutter-plate"}


def test_a_part_that_was_renamed_is_one_part_however_a_job_calls_it():
    first = strange("front ring", "lens cell")
    make_family([first], "Duplex", by=BY)
    file = family_file("duplex")
    save("duplex", file.text.replace('name = "front ring"', 'name = "bezel"'), seen=file.version, by=BY)
    learn_into("duplex", [strange("bezel", "lens cell"), strange("Front ring", "lens cell")], by=BY)
    assert befores("duplex") == {"front-ring": set(), "lens-cell": {"front-ring"}}
    said = taught(family_file("duplex")).evidence
    assert said["front-ring", "lens-cell"] == "in 3 jobs, never the other way"


def test_what_does_not_go_together_is_told_by_name():
    jobs = [
        strange("cover", "strut", strut=("cover",)),
        strange("strut", "cover"),
    ]
    made = make_family(jobs, "Duplex", by=BY)
    says = "strut is told to be hidden under cover, but came off before it in 1 job."
    assert made.contradictions == (says,)
    assert says in taught(family_file("duplex")).contradictions


def test_a_job_that_is_over_teaches_too():
    job = strange("front ring", "lens cell")
    leaving.send_back_unmended(job, "not worth it", by=BY)
    assert job in teachable()
    make_family([job], "Duplex", by=BY)
    assert StripDown.objects.get(job=job).family == "duplex"


def test_a_family_that_came_is_not_learned_over():
    job = arriving.take_in(ILSE, REFLEX, by=BY)
    log_off(job, OffDetails(name="top cover"), by=BY)
    assert job not in teachable()
    with pytest.raises(Refused, match=f"Job {job.number} has no strip-down that a family"):
        make_family([job], "Duplex", by=BY)
    with pytest.raises(Refused, match="Choose at least one job"):
        make_family([], "Duplex", by=BY)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "Give the family a name"),
        ("x" * 81, "up to 80 characters"),
        ("†††", "no letter a file can be called by"),
        ("Box", "'box' is a kind of camera already"),
        ("other", "'other' is a kind of camera already"),
    ],
)
def test_a_name_that_cannot_be_is_refused(name, says):
    with pytest.raises(Refused, match=says):
        slug_for(name)


def test_a_file_that_somebody_broke_is_neither_written_over_nor_learned_into(own):
    own.mkdir(exist_ok=True)
    (own / "duplex.toml").write_text('id = "duplex"\nname = \n', "utf-8")
    job = strange("front ring")
    with pytest.raises(Refused, match=r"families/duplex.toml already. It is broken \(families/duplex.toml"):
        make_family([job], "Duplex", by=BY)
    with pytest.raises(Refused, match="Nothing is learned into a broken file: families/duplex"):
        learn_into("duplex", [job], by=BY)
    assert (own / "duplex.toml").read_text("utf-8") == 'id = "duplex"\nname = \n'
    assert not DiaryEntry.objects.filter(what="learned a family").exists()
    broken = family_file("duplex")
    assert broken.construction is None
    # a person mends it as a file
    good = 'id = "duplex"\nname = "Duplex"\nsource = "my bench"\nmark = "practice"\n'
    good += '[[part]]\nid = "ring"\nname = "ring"\n'
    assert save("duplex", good, seen=broken.version, by=BY).name == "Duplex"
    assert family_file("duplex").slip == ""


def test_a_change_that_cannot_be_read_leaves_the_file_and_says_where(own):
    make_family([strange("front ring", "lens cell")], "Duplex", by=BY)
    file = family_file("duplex")
    loop = file.text.replace("after = []", 'after = ["lens-cell"]', 1)
    with pytest.raises(
        Refused, match="these wait for each other: front ring after lens cell after front ring"
    ):
        save("duplex", loop, seen=file.version, by=BY)
    with pytest.raises(Refused, match=r"families/duplex\.toml, line 13: part 1, ident"):
        save("duplex", file.text.replace('id = "front-ring"', 'ident = "x"'), seen=file.version, by=BY)
    with pytest.raises(Refused, match="Jobs in the book go by the id 'duplex'"):
        save("duplex", file.text.replace('id = "duplex"', 'id = "simplex"'), seen=file.version, by=BY)
    with pytest.raises(Refused, match="has changed since this page was opened"):
        save("duplex", file.text + "# more\n", seen="0" * 16, by=BY)
    assert family_file("duplex").text == file.text
    assert sorted(one.name for one in own.iterdir()) == ["duplex.toml"]


def test_when_the_book_cannot_follow_the_file_is_as_it_was(own, monkeypatch):
    job = strange("front ring")

    def full(*_args, **_kwargs):
        raise RuntimeError("the disk is full")

    monkeypatch.setattr("pegwood.book.family_learning.amend_camera", full)
    with pytest.raises(RuntimeError):
        make_family([job], "Duplex", by=BY)
    assert family_files() == ()
    monkeypatch.undo()
    make_family([job], "Duplex", by=BY)
    before = family_file("duplex").text
    monkeypatch.setattr("pegwood.book.family_learning.diary.write", full)
    with pytest.raises(RuntimeError):
        learn_into("duplex", [strange("front ring", "top cover")], by=BY)
    assert family_file("duplex").text == before


def test_edits_keep_comments_and_bridge_what_is_taken_out():
    make_family([strange("a", "b", "c")], "Duplex", by=BY)
    file = family_file("duplex")
    way = WayEdit(side="top", tool="tweezers", minutes=Minutes(low=1, likely=2, high=4), after=("b",))
    text = edited(
        file.text + "# the end\n",
        file.told,
        "Duplex two",
        [
            PartEdit(id="a", name="a", materials=("brass",)),
            PartEdit(id="c", name="c cover", also=("lid",), not_in_all=True, scarce="common", way=way),
            PartEdit(
                id="d", name="d", way=WayEdit(side="back", tool="fingers", minutes=way.minutes, after=("c",))
            ),
        ],
    )
    found = save("duplex", text, seen=file.version, by=BY)
    assert found.name == "Duplex two"
    assert befores("duplex") == {"a": set(), "c": {"a"}, "d": {"c"}}  # c waited for b, and b for a
    cover = found.parts["c"]
    assert (cover.name, cover.also, cover.not_in_all, cover.scarce) == ("c cover", ("lid",), True, "common")
    assert (cover.ways[0].side, cover.ways[0].minutes) == ("top", way.minutes)
    assert "# Drafted from strip-downs" in text
    assert "# minutes: 1 timed" in text
    assert "# the end" in text
    # what was taken out stays out, and what was bridged is no person's own
    learn_into("duplex", [strange("a", "b", "c"), strange("c", "a")], by=BY)
    assert befores("duplex") == {"a": set(), "c": set(), "d": {"c"}}
    assert told("duplex") == "families/duplex.toml"
