"""
How a recording was made is kept with it in a job. Truths: trapezoids of known area; curtains that run
evenly, so that travel is the way over the speed.
"""

import json
from dataclasses import replace

import numpy as np
import pytest
import soundfile

from instruments.contacts import ContactLine
from instruments.lightcurves import Bench, Firing
from pegwood.book.files import store
from pegwood.book.models import Measurement
from pegwood.demo import simulator as sim

RATE = 48_000
FIRING = Firing(at=0.5, opening=0.002, plateau=0.0065, closing=0.002)
LEAF, FOCAL_PLANE = "twin-lens-reflex", "reflex-35-cloth"
# 36 mm at 2.4 and 2.0 m/s
GATE = sim.FocalPlaneShutter(
    first=sim.Curtain(speed_m_s=2.4), second=sim.Curtain(speed_m_s=2.0), sensor_m=0.001
)


def take_in(run, family):
    run("job", "take-in", "--name", "Ilse Marrick", "--family", family)


@pytest.fixture
def sync(tmp_path):
    """Light in channel 0; in channel 1 a contact that closes 1.5 ms after the shutter is fully open."""
    firings = tuple(replace(FIRING, at=at) for at in (0.5, 1.5, 2.5))
    light = Bench(firings=firings, rate=RATE, sigma=0.003).samples()
    changes = tuple(t for f in firings for t in (f.at + 0.0035, f.at + 0.0085))
    contact = ContactLine(changes).samples(len(light), RATE, np.random.default_rng(2))
    path = tmp_path / "sync.wav"
    soundfile.write(path, np.column_stack([light, contact]), RATE, subtype="PCM_16")
    return path


@pytest.fixture
def gate(tmp_path):
    points = [[replace(GATE, point_m=x).fire(0.002)] * 3 for x in (0.0, 0.018, 0.036)]
    path = tmp_path / "gate.wav"
    path.write_bytes(sim.as_audio(sim.record_points(points, sim.LightGate(), np.random.default_rng(1))))
    return path


def test_a_flash_contact_is_kept_with_its_reading(run, sync):
    take_in(run, LEAF)
    ended = run("measure", "shutter", sync, "--marked", "1/125", "--job", 1, "--contact", 1, "--json")
    assert ended.exit_code == 0, ended.stderr
    kept = Measurement.objects.get()
    assert kept.settings["arrangement"] == {"contact": 1}
    contacts = kept.result["contacts"]
    assert contacts == json.loads(ended.stdout)["contacts"]
    # closes 1.5 ms after full opening, which is negative by definition, and 5 ms before closing begins
    assert [c["delay_s"] for c in contacts] == pytest.approx([-0.0015] * 3, abs=1e-4)
    assert {c["verdict"]["electronic"] for c in contacts} == {"within"}


def test_people_see_the_contact_and_its_caution_as_it_is_kept(run, sync):
    take_in(run, LEAF)
    shown = run("measure", "shutter", sync, "--marked", "1/125", "--job", 1, "--contact", 1).stdout
    assert "stay charged" in shown
    assert "to fully open" in shown


def test_smaller_stops_are_kept_with_their_reading(run, tmp_path):
    take_in(run, LEAF)
    path = tmp_path / "wide-open.wav"
    soundfile.write(path, Bench(firings=(FIRING,), rate=RATE, sigma=0.003).samples(), RATE, subtype="PCM_16")
    run("measure", "shutter", path, "--marked", "1/125", "--job", 1, "--widest", 2.8)
    kept = Measurement.objects.get()
    assert kept.settings["arrangement"] == {"widest": 2.8}
    assert [one["f_number"] for one in kept.result["at_stops"]] == [2.8, 4, 5.6, 8, 11, 16, 22]


def test_curtains_are_kept_with_their_reading(run, gate):
    take_in(run, FOCAL_PLANE)
    words = ("measure", "shutter", gate, "--marked", "1/250", "--job", 1, "--as", "found")
    assert run(*words, "--sensors", "0,18,36", "--gate-mm", 36).exit_code == 0
    kept = Measurement.objects.get()
    assert kept.settings["arrangement"] == {"places_m": [0.0, 0.018, 0.036], "gate_m": 0.036}
    assert kept.result["curtains"]["first_travel_s"] == pytest.approx(0.015, abs=1e-5)
    assert kept.phase == "as found"
    assert kept.result["summary"]["limit_source"], "the camera on the job tells the limit"


@pytest.mark.parametrize(
    ("family", "words", "says"),
    [
        (LEAF, ("--sensors", "0,18,36"), "no curtains"),
        (FOCAL_PLANE, ("--widest", 2.8), "for a leaf shutter"),
        (LEAF, ("--contact", 2), "no channel 2"),
        (LEAF, ("--contact", 70), "count from 0"),
        (LEAF, ("--widest", 90), "such as 2.8"),
        (FOCAL_PLANE, ("--sensors", "0,18,36"), "the recording has 2 channels"),
        (FOCAL_PLANE, ("--sensors", "0,36", "--contact", 1), "one light channel"),
    ],
)
def test_what_does_not_fit_is_refused_in_one_line_and_nothing_is_stored(run, sync, family, words, says):
    take_in(run, family)
    ended = run("measure", "shutter", sync, "--marked", "1/125", "--job", 1, *words)
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
    assert says in ended.stderr
    assert not Measurement.objects.exists()
    assert list(store().names()) == []
