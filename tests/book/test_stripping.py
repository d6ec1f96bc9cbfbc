"""Taking a camera apart and putting it together: what is written down, undone, waited for, explained."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from book.cast import BY, MONDAY
from pegwood.anatomy.bench_log import Written
from pegwood.anatomy.construction import constructions
from pegwood.book import leaving
from pegwood.book.keeping.export import job_as_data
from pegwood.book.models import StripDown, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.stripping.back import explain, let_part_wait, lies_there, log_back
from pegwood.book.stripping.kept import KeptDetails, described
from pegwood.book.stripping.off import OffDetails, amend_step, log_off
from pegwood.book.stripping.pockets import next_pocket, read_pocket
from pegwood.book.stripping.record import as_log, steps_of
from pegwood.book.stripping.undo import undo
from pegwood.book.stripping.way_in import Aim, run_clock, stop_clock, take_aim

pytestmark = pytest.mark.django_db
SCREWS = KeptDetails(kind="screw", count=3, thread="M1.7x0.35", length_mm=3.5, place="rear")
SHIM = KeptDetails(kind="shim", place="left strut", side="under", thickness_mm=0.2)
COVER = OffDetails(name="top cover", pocket=(1, 1), kept=(SCREWS, SHIM))


def later(minutes: float):
    return MONDAY + timedelta(minutes=minutes)


def test_a_step_keeps_its_screws_shims_notes_and_time(on_the_bench):
    run_clock(on_the_bench, by=BY, at=MONDAY)
    turns = Written(kind="count turns", says="1 3/4 to the stop")
    log_off(on_the_bench, replace(COVER, notes=(turns,)), by=BY, at=later(7))
    (step,) = as_log(steps_of(on_the_bench))
    assert (step.number, step.name, step.minutes, step.pocket) == (1, "top cover", 7, "tray 1, pocket 1")
    assert step.notes == (turns,)
    screws, shim = step.kept
    assert (screws.count, screws.length_mm, screws.pocket) == (3, 3.5, "tray 1, pocket 1")
    assert (shim.place, shim.thickness_mm, shim.thickness_u_mm) == ("left strut", 0.2, 0.005)
    entry = on_the_bench.diary.get(what="took off")
    assert "3 screws M1.7x0.35, 3.5 mm; rear" in entry.new["kept"]


def test_the_clock_times_each_step_and_stands_when_told_or_forgotten(on_the_bench):
    run_clock(on_the_bench, by=BY, at=MONDAY)
    minutes = []
    for n, at in enumerate((4, 10, 10 + 5 * 60)):  # the last was left lying over noon
        minutes.append(log_off(on_the_bench, OffDetails(name=f"part {n}"), by=BY, at=later(at)).seconds)
    stop_clock(on_the_bench, by=BY)
    minutes.append(log_off(on_the_bench, OffDetails(name="last"), by=BY, at=later(400)).seconds)
    by_hand = log_off(on_the_bench, OffDetails(name="by hand", minutes=2.5), by=BY, at=later(401))
    assert minutes == [240, 360, None, None]
    assert by_hand.seconds == 150


def test_what_is_seen_on_the_way_is_a_finding_and_nobody_writes_it_twice(on_the_bench):
    details = replace(COVER, condition="corroded", grade=3, earlier_hand=("marred slots",))
    step = log_off(on_the_bench, details, by=BY)
    seen = {(one.part, one.condition, one.grade) for one in step.findings.all()}
    assert seen == {("top cover", "corroded", 3), ("top cover", "marred slots: an earlier hand", None)}
    missing = log_off(on_the_bench, OffDetails(name="damper", met="missing"), by=BY)
    assert missing.findings.get().condition == "missing"
    assert not log_off(on_the_bench, OffDetails(name="foam", met="never fitted"), by=BY).findings.exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"name": " "}, "Which part came off"),
        ({"name": "x" * 121}, "longer than 120"),
        ({"met": "lost"}, "not 'lost'"),
        ({"pocket": (1, 13)}, "There is no tray 1, pocket 13: trays have 12 pockets"),
        ({"pocket": (0, 1)}, "There is no tray 0"),
        ({"minutes": 0.0}, "0 minutes cannot be"),
        ({"minutes": float("nan")}, "nan minutes cannot be"),
        ({"kept": (replace(SCREWS, count=0),)}, "0 screws cannot be"),
        ({"kept": (replace(SCREWS, kind="nut"),)}, "not 'nut'"),
        ({"kept": (replace(SCREWS, length_mm=-1.0),)}, "A length of -1 mm cannot be"),
        ({"kept": (replace(SHIM, thickness_mm=float("inf")),)}, "A thickness of inf mm cannot be"),
        ({"kept": (replace(SHIM, place="x" * 121),)}, "place of a shim is longer"),
        ({"notes": (Written(kind="guess", says="x"),)}, "not 'guess'"),
    ],
)
def test_a_step_that_cannot_be_leaves_all_as_it_was(on_the_bench, wrong, says):
    with pytest.raises(Refused, match=says):
        log_off(on_the_bench, replace(COVER, **wrong), by=BY)
    assert not TakenOff.everything.exists()


def test_a_part_comes_off_once_until_it_is_back(on_the_bench):
    cover = replace(COVER, part="covers.top-cover")
    step = log_off(on_the_bench, cover, by=BY)
    with pytest.raises(Refused, match="top cover is off already: it was step 1"):
        log_off(on_the_bench, cover, by=BY)
    log_back(step, by=BY)
    assert log_off(on_the_bench, cover, by=BY).number == 2


def test_nothing_comes_off_a_job_that_is_over(on_the_bench):
    leaving.send_back_unmended(on_the_bench, "not worth it", by=BY)
    with pytest.raises(Refused, match="is over"):
        log_off(on_the_bench, COVER, by=BY)


def test_the_last_press_is_taken_back_whichever_it_was(on_the_bench):
    run_clock(on_the_bench, by=BY, at=MONDAY)
    first = log_off(on_the_bench, replace(COVER, condition="rust"), by=BY, at=later(3))
    log_off(on_the_bench, OffDetails(name="wrong part", condition="bent"), by=BY, at=later(5))
    undo(on_the_bench, by=BY, at=later(6))
    assert [row.name for row in steps_of(on_the_bench)] == ["top cover"]
    assert not on_the_bench.findings.filter(condition="bent").exists()
    # the time of the step that was none belongs to the next one
    assert log_off(on_the_bench, OffDetails(name="mirror"), by=BY, at=later(9)).seconds == 6 * 60
    undo(on_the_bench, by=BY, at=later(9.5))
    log_back(first, by=BY, at=later(10))
    undo(on_the_bench, by=BY, at=later(11))
    first.refresh_from_db()
    assert (first.is_back, [one.back for one in first.kept.all()]) == (False, [0, 0])
    undo(on_the_bench, by=BY)
    with pytest.raises(Refused, match="nothing to take back"):
        undo(on_the_bench, by=BY)


def test_amending_a_step_keeps_the_old_words_in_the_diary(on_the_bench):
    step = log_off(on_the_bench, COVER, by=BY)
    screws, shim = step.kept.all()
    longer = replace(SCREWS, row=screws.pk, count=2)
    short = KeptDetails(kind="screw", length_mm=2.0, place="front")
    amend_step(step, replace(COVER, kept=(longer, short), pocket=(2, 3)), by=BY)
    assert [described(one) for one in step.kept.all()] == [
        "2 screws M1.7x0.35, 3.5 mm; rear",
        "screw, 2 mm; front",
    ]
    assert not step.kept.filter(pk=shim.pk).exists()
    entry = on_the_bench.diary.get(what="amended a step")
    assert entry.old["kept"] != entry.new["kept"]
    assert entry.new["pocket"] == "tray 2, pocket 3"
    log_back(step, by=BY)
    with pytest.raises(Refused, match="2 of these are back already"):
        amend_step(step, replace(COVER, kept=(replace(longer, count=1),)), by=BY)


def test_what_stays_out_is_told_until_it_is_back_or_explained(on_the_bench):
    step = log_off(on_the_bench, COVER, by=BY)
    screws, shim = step.kept.all()
    with pytest.raises(Refused, match="4 of 3 screws"):
        log_back(step, left={screws.pk: 4}, by=BY)
    log_back(step, left={screws.pk: 1}, by=BY)
    assert [one.is_out for one in step.kept.all()] == [True, False]
    explain(screws, "head sheared, a new one fitted", by=BY)
    assert not step.kept.get(pk=screws.pk).is_out
    lies_there(shim, 1, by=BY)
    assert step.kept.get(pk=shim.pk).is_out
    with pytest.raises(Refused, match="2 of shim"):
        lies_there(shim, 2, by=BY)


def test_a_part_that_is_away_does_not_go_back_until_it_is_at_hand(on_the_bench):
    step = log_off(on_the_bench, COVER, by=BY)
    let_part_wait(step, "cleaning", by=BY, note="in the bath")
    with pytest.raises(Refused, match="top cover: being cleaned"):
        log_back(step, by=BY)
    with pytest.raises(Refused, match="waits for one of"):
        let_part_wait(step, "holiday", by=BY)
    let_part_wait(step, "", by=BY)
    assert log_back(step, by=BY).is_back
    with pytest.raises(Refused, match="back already"):
        log_back(step, by=BY)
    never = log_off(on_the_bench, OffDetails(name="foam", met="never fitted"), by=BY)
    with pytest.raises(Refused, match="never fitted"):
        log_back(never, by=BY)


def test_pockets_follow_each_other_and_a_new_tray_begins(on_the_bench):
    strip_down = StripDown(job=on_the_bench)
    assert next_pocket(on_the_bench, strip_down) == (1, 1)
    log_off(on_the_bench, replace(COVER, pocket=(1, 12)), by=BY)
    assert next_pocket(on_the_bench, strip_down) == (2, 1)
    undo(on_the_bench, by=BY)
    assert next_pocket(on_the_bench, strip_down) == (1, 1)


@pytest.mark.parametrize(
    ("typed", "read"),
    [("1.5", (1, 5)), ("tray 2, pocket 12", (2, 12)), ("7", (1, 7)), ("beside", None), ("", None)],
)
def test_a_pocket_is_read_as_it_is_said(typed, read):
    assert read_pocket(typed, StripDown()) == read


@pytest.mark.parametrize("typed", ["1.13", "0.1", "1 2 3", "the blue box", "99999"])
def test_a_pocket_that_is_none_is_refused(typed):
    with pytest.raises(Refused, match="pocket"):
        read_pocket(typed, StripDown())


def test_the_aim_is_of_such_a_camera(on_the_bench):
    with pytest.raises(Refused, match="'no-part' is no part of such a camera"):
        take_aim(on_the_bench, Aim(reach=("no-part",)), by=BY)
    with pytest.raises(Refused, match="No join is called 'magic'"):
        take_aim(on_the_bench, Aim(avoid=("magic",)), by=BY)
    with pytest.raises(Refused, match="no side 'below'"):
        take_aim(on_the_bench, Aim(only_from="below"), by=BY)
    parts = tuple(list(constructions()["folding-roll-front-cell"].parts)[:2])
    aimed = take_aim(on_the_bench, Aim(reach=parts, avoid=("glue",), only_from="base"), by=BY)
    assert (aimed.reach, aimed.avoid, aimed.only_from) == (list(parts), ["glue"], "base")
    assert on_the_bench.diary.filter(what="planned the way in").count() == 1


def test_all_of_it_is_in_the_jobs_plain_data_what_was_struck_out_too(on_the_bench):
    log_off(on_the_bench, COVER, by=BY)
    log_off(on_the_bench, OffDetails(name="wrong part"), by=BY)
    undo(on_the_bench, by=BY)
    data = job_as_data(on_the_bench)
    assert [(one["name"], one["struck_out"]) for one in data["taken_off"]] == [
        ("top cover", False),
        ("wrong part", True),
    ]
    assert [one["kind"] for one in data["taken_off"][0]["kept"]] == ["screw", "shim"]
    assert data["strip_down"]["tray_columns"] == 4
