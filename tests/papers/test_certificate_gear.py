"""What a certificate tells of how a figure was got: gear, its calibrations, and what was not light."""

from datetime import timedelta

import pytest

from book.cast import BY, FOLDER, ILSE
from papers.test_making import a_result, measured, words_on
from pegwood.book import arriving
from pegwood.book.benchwork import list_gear
from pegwood.book.workshop import change_settings
from pegwood.papers import make_paper

pytestmark = pytest.mark.django_db
USED = {
    "number": 4, "kind": "clock", "made_on": "2031-05-03", "due_on": "2032-05-03", "by": BY, "used": True,
    "says": "clock +63.0 ± 11.8 ppm (95 %) at 48000 samples a second",
}  # fmt: skip
NOT_USED = {**USED, "number": 5, "kind": "input", "says": "input, a high-pass at 5 Hz", "used": False}


def test_the_calibrations_used_stand_at_the_gear_with_their_days():
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY)
    gate = list_gear("light gate", serial="7", by=BY)
    for marked in ("1/125", "1/60"):
        one = measured(job, a_result(marked, 0.05), "as found", gear=gate)
        one.result["calibrations"] = [USED, NOT_USED]
        one.save()
    text = words_on(make_paper(job, "certificate", by=BY))
    assert text.count("Clock +63.0 ± 11.8 ppm") == 1
    assert "calibrated 3 May 2031, due again 3 May 2032. Used for all readings." in text
    assert "high-pass" not in text


def test_the_readings_on_a_calibrated_clock_are_told_from_those_a_crystal_is_allowed_for():
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY)
    gate = list_gear("light gate", serial="7", by=BY)
    method = "Light gate. Clock within 100 ppm. The lamp must be steady."
    calibrated, overdue, bare = (
        measured(job, a_result(marked, 0.05), "as found", gear=gate) for marked in ("1/125", "1/60", "1/30")
    )
    note = "The clock was calibrated on 2031-05-03 by bench (no. 4): clock +63.0 ± 11.8 ppm (95 %)"
    for one, known, clock in (
        (calibrated, [USED], "rate of the converter, calibrated"),
        (overdue, [{**USED, "used": False}], "rate of the converter, within 100 ppm"),
        (bare, [], "rate of the converter, within 100 ppm"),
    ):
        one.result |= {"calibrations": known, "method": method}
        (part,) = (part for part in one.result["summary"]["budget"] if part["name"] == "clock")
        part["note"] = clock
    calibrated.result["notes"] = [f"{note} at 48000 samples a second."]
    overdue.result["warnings"] = ["The clock was due again on 2032-05-03: the calibration is left out."]
    for one in (calibrated, overdue, bare):
        one.save()
    text = words_on(make_paper(job, "certificate", by=BY))
    assert "light gate, calibrated 3 May 2031, due again 3 May 2032. Used for 1/125 as found." in text
    assert "Clock not calibrated, taken to be within 100 ppm: 1/30, 1/60 as found." in text
    assert "due again on 3 May 2032: the calibration is left out" in text
    assert text.count("63.0") == 1
    assert text.count("within 100 ppm") == 1
    assert "Light gate. The lamp must be steady." in text
    assert "2031-05-03" not in text


def test_a_time_by_sound_stands_apart_from_one_by_light():
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY)
    heard = measured(job, a_result("1/4", 0.05), "as found")
    heard.settings = {**heard.settings, "taken": {"by": "sound", "mirror": "none"}}
    heard.result["coupling"] = None
    heard.result["method"] = "Sound. Beginnings of sounds."
    heard.save()
    measured(job, a_result("1/125", 0.05), "as found")
    text = words_on(make_paper(job, "certificate", by=BY))
    assert text.count("found by sound") == 1
    assert "runs from the stroke of opening to the stroke of closing" in text
    assert "Sound. Beginnings of sounds." in text
    assert "coupled DC" in text
    assert "A time by video" not in text


def test_of_several_tries_that_failed_the_last_is_told_once_and_without_its_files_name():
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY)
    measured(job, a_result("1/125", 0.05), "as found")
    for why in ("x.wav: the file is empty.", "x.wav: the lamp flickers. Use a lamp on a battery."):
        measured(job, None, "", marked="1/15", reason=why)
    text = words_on(make_paper(job, "certificate", by=BY))
    assert "The lamp flickers" in text
    assert "the file is empty" not in text
    assert "x.wav" not in text


def test_a_try_that_failed_after_a_reading_is_not_told_as_if_there_were_none():
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY)
    measured(job, a_result("1/125", 0.05), "as found")
    failed = measured(job, None, "", marked="1/125", reason="x.wav: the lamp flickers.")
    failed.at += timedelta(hours=1)
    failed.save()
    measured(job, None, "", marked="1/15", reason="x.wav: the file is empty.")
    text = words_on(make_paper(job, "certificate", by=BY))
    assert "1/125: A later try gave no figure. The lamp flickers." in text
    assert "1/15: The file is empty." in text


def test_what_only_one_speed_is_uncertain_by_names_it():
    change_settings({"name": "Werfkade Camera Workshop"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY)
    one = measured(job, a_result("1/125", 0.05), "as found")
    measured(job, a_result("1/60", 0.05), "as found")
    part = {**one.result["summary"]["budget"][0], "name": "transfer function", "u": 0.01 / 125}
    one.result["summary"]["budget"].append(part)
    one.save()
    text = words_on(make_paper(job, "certificate", by=BY))
    assert text.count("% at 1/125") >= 2
