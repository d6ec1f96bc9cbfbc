"""
Curtains at the command line. The curtains run evenly, so travel is the way over the speed and taper follows
from the times of arrival.
"""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from pegwood.book.models import Measurement
from pegwood.demo import simulator as sim

# 36 mm at 2.4 and 2.0 m/s: 15 and 18 ms; open for 2 ms at the start, 5 ms at the end
SHUTTER = sim.FocalPlaneShutter(
    first=sim.Curtain(speed_m_s=2.4), second=sim.Curtain(speed_m_s=2.0), sensor_m=0.001
)
DELAY_S = 0.002
PLACES = (0.0, 0.018, 0.036)
KEYS_OF_CURTAINS = {
    "first_travel_s", "first_travel_u_s", "second_travel_s", "second_travel_u_s", "taper_ev", "taper_u_ev",
    "capping", "flash_shortest_s", "flash_covers", "places", "withheld",
}  # fmt: skip


@pytest.fixture
def record(tmp_path):
    """``record("name.wav", places)``: three firings seen by a sensor at each place."""

    def record(name, places=PLACES, firings=3):
        points = [[replace(SHUTTER, point_m=x).fire(DELAY_S)] * firings for x in places]
        made = sim.record_points(points, sim.LightGate(), np.random.default_rng(1))
        path = tmp_path / name
        path.write_bytes(sim.as_audio(made))
        return path

    return record


def lines(result):
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_sensors_across_the_gate_give_both_curtains(run, record):
    (line,) = lines(run("measure", "shutter", record("gate.wav"), "--sensors", "0,18,36", "--json"))
    curtains = line["curtains"]
    assert set(curtains) >= KEYS_OF_CURTAINS
    assert curtains["first_travel_s"] == pytest.approx(0.015, abs=1e-5)
    assert curtains["second_travel_s"] == pytest.approx(0.018, abs=1e-5)
    assert curtains["taper_ev"] == pytest.approx(math.log2(5 / 2), abs=2e-3)
    assert 0 < curtains["first_travel_u_s"] < 1e-5
    assert {shot["channel"] for shot in line["shots"]} == {0, 1, 2}
    # one firing is what all sensors saw of it
    assert line["summary"]["n"] == 3


def test_the_limit_is_that_of_focal_plane_shutters(run, record):
    words = ("measure", "shutter", record("gate.wav"), "--marked", "1/250", "--sensors", "0,18,36", "--json")
    (line,) = lines(run(*words))
    (same,) = lines(run(*words, "--kind", "focal-plane"))
    assert line["summary"]["limit_source"]
    assert line["summary"] == same["summary"]


def test_the_shadow_and_the_gate_are_told_of_if_given(run, record):
    given = ("--gap-mm", 1.5, "--f-number", 2, "--gate-mm", 40, "--sensor-mm", 1)
    (line,) = lines(run("measure", "shutter", record("gate.wav"), "--sensors", "0,18,36", *given, "--json"))
    curtains = line["curtains"]
    # worth a test, row 6 (memory): the shadow is 1.5 mm / 2
    assert curtains["shadow_m"] == pytest.approx(0.00075)
    assert all(0 < place["slit_efficiency"] < 1 for place in curtains["places"])
    # 40 mm at 2.4 m/s
    assert curtains["flash_shortest_s"] == pytest.approx(0.040 / 2.4, abs=1e-4)


def test_people_see_travel_taper_capping_and_flash(run, record):
    shown = run("measure", "shutter", record("gate.wav"), "--sensors", "0,18,36").stdout
    assert "travel: first curtain 15.0" in shown
    assert "taper: +1.32 ± 0.01 EV" in shown
    assert "capping: not found" in shown
    assert "flash covers the gate from 15.0" in shown


def test_without_a_firing_there_are_no_curtains(run, tmp_path):
    noise = np.random.default_rng(1).normal(0.1, 0.002, (96_000, 2))
    made = sim.Recording(samples=noise, sample_rate_hz=48_000, openings=(), releases_s=())
    path = tmp_path / "silence.wav"
    path.write_bytes(sim.as_audio(made))
    ended = run("measure", "shutter", path, "--sensors", "0,36", "--json")
    assert ended.exit_code == 0
    assert lines(ended)[0]["curtains"] is None


def test_one_sensor_moved_gives_the_taper_and_no_travel(run, record):
    start, end = record("start.wav", (0.0,)), record("end.wav", (0.036,))
    *each, both = lines(run("measure", "shutter", "--at", 0, start, "--at", 36, end, "--json"))
    assert [(line["file"], line["at_m"]) for line in each] == [(str(start), 0.0), (str(end), 0.036)]
    assert both["files"] == [str(start), str(end)]
    assert both["curtains"]["taper_ev"] == pytest.approx(math.log2(5 / 2), abs=2e-3)
    assert both["curtains"]["first_travel_s"] is None
    assert "clock" in both["curtains"]["withheld"]["travel"]


def test_people_are_told_what_a_moved_sensor_cannot_give(run, record):
    shown = run(
        "measure", "shutter", "--at", 0, record("a.wav", (0.0,)), "--at", 36, record("b.wav", (0.036,))
    ).stdout
    assert "taper: +1.32" in shown
    assert "no clock in common" in shown.replace("\n", " ")
    assert "less certain" in shown


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--sensors", "0,36"), "2 places were given and the recording has 3 channels"),
        (("--sensors", "36,18,0"), "must rise"),
        (("--sensors", "left,right"), "write them in mm"),
        (("--sensors", "0"), "Two or three places"),
        (("--sensors", "0,18,36", "--gap-mm", 1.5), "both"),
        (("--sensors", "0,18,36", "--gate-mm", 20), "reach to the last sensor"),
        (("--sensors", "0,18,36", "--kind", "leaf"), "no curtains"),
        (("--sensors", "0,18,36", "--gear", "LG-07"), "--job NUMBER"),
        (("--gap-mm", 1.5, "--f-number", 2), "--sensors 0,18,36"),
    ],
)
def test_sensors_that_do_not_fit_are_refused_in_one_line(run, record, words, says):
    ended = run("measure", "shutter", record("gate.wav"), *words)
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
    assert says in ended.stderr
    assert not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("places_mm", "more", "says"),
    [
        ((0,), (), "at least two places"),
        ((36, 0), (), "must rise"),
        ((0, 36), ("--sensors", "0,36"), "Leave out --sensors"),
        ((0, 36), ("--gap-mm", 1.5, "--f-number", 2), "needs sensors fired together"),
        ((0, 36), ("--job", 1), "not one for each place"),
    ],
)
def test_a_moved_sensor_is_refused_in_one_line(run, record, places_mm, more, says):
    file = record("one.wav", (0.0,))
    at = [word for place in places_mm for word in ("--at", place, file)]
    ended = run("measure", "shutter", *at, *more)
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
    assert says in ended.stderr


def test_a_single_firing_at_a_place_is_refused(run, record):
    one, three = record("one.wav", (0.0,), firings=1), record("three.wav", (0.036,))
    ended = run("measure", "shutter", "--at", 0, one, "--at", 36, three)
    assert ended.exit_code == 2
    assert "one firing only" in ended.stderr


def test_a_file_of_a_moved_sensor_that_cannot_be_read_ends_it(run, record, tmp_path):
    ended = run("measure", "shutter", "--at", 0, record("a.wav", (0.0,)), "--at", 36, tmp_path / "no.wav")
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
    assert "no.wav" in ended.stderr


def test_a_gate_that_does_not_fit_is_said_and_the_others_are_read(run, record):
    ended = run("measure", "shutter", record("two.wav", (0.0, 0.036)), record("three.wav"), "--sensors",
                "0,18,36", "--json")  # fmt: skip
    assert ended.exit_code == 2
    assert [line["file"].rsplit("/")[-1] for line in lines(ended)] == ["three.wav"]


def test_no_recording_at_all_is_one_line(run):
    ended = run("measure", "shutter")
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
