"""Calibrations kept with the gear from the command line, and used in a job by themselves."""

import json

import numpy as np
import pytest
import soundfile

from instruments.lightcurves import Bench, Firing
from pegwood.book.benchwork import list_gear
from pegwood.book.models import Calibration, Measurement

RATE, OFF = 24_000, 200e-6
FIRINGS = tuple(Firing(at=at, opening=0.002, plateau=0.0065, closing=0.002) for at in (0.5, 1.5))


@pytest.fixture
def gate(run):
    return list_gear("light gate", serial="7", by="Tove Halm")


@pytest.fixture
def tone(tmp_path):
    """A tone of 1000 Hz as a clock hears it that samples 200 ppm faster than it says."""
    t = np.arange(5 * RATE) / (RATE * (1 + OFF))
    path = tmp_path / "tone.wav"
    soundfile.write(path, 0.3 * np.sin(2 * np.pi * 1000 * t), RATE, subtype="PCM_16")
    return path


@pytest.fixture
def firings(tmp_path):
    path = tmp_path / "firings.wav"
    soundfile.write(path, Bench(firings=FIRINGS, rate=RATE, sigma=0.002).samples(), RATE, subtype="PCM_16")
    return path


SAVED = {
    "calibration": "clock", "stated_rate_hz": RATE, "by": "tone", "reference_hz": 1000.0, "error": 0.0,
    "error_u": 6e-6,
}  # fmt: skip
CLOCK = ("--tone", 1000, "--within-ppm", 1)


def test_a_clock_kept_with_the_gear_is_used_in_a_job(run, gate, tone, firings):
    kept = run("measure", "clock", tone, *CLOCK, "--gear", "7", "--good-until", "2099-12-31")
    assert kept.exit_code == 0, kept.stderr
    assert "Kept with light gate, no. 7, good until 2099-12-31" in " ".join(kept.stdout.split())
    run("job", "take-in", "--name", "Ilse Marrick", "--family", "twin-lens-reflex")
    words = ("measure", "shutter", firings, "--marked", "1/125")
    found = json.loads(run(*words, "--job", 1, "--gear", "light gate", "--json").stdout)
    (said,) = found["calibrations"]
    assert (said["kind"], said["used"], said["due_on"]) == ("clock", True, "2099-12-31")
    alone = json.loads(run(*words, "--json").stdout)
    ratio = alone["summary"]["effective_s"] / found["summary"]["effective_s"]
    assert ratio == pytest.approx(1 + OFF, abs=2e-6)
    assert Measurement.objects.get().settings["calibrations"][0]["data"]["error"] == pytest.approx(
        OFF, abs=1e-6
    )


def test_what_was_saved_before_can_be_kept(run, gate, tone, tmp_path):
    run("measure", "clock", tone, *CLOCK, "--save", tmp_path / "clock.json")
    ended = run(
        "measure", "clock", tmp_path / "clock.json", "--gear", "7", "--made-on", "2024-02-29", "--json"
    )
    assert json.loads(ended.stdout)["due_on"] == "2025-02-28"
    assert Calibration.objects.get().file.name == "clock.json"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((*CLOCK, "--gear", "tripod"), "no gear 'tripod'"),
        ((*CLOCK, "--gear", "7", "--made-on", "2099-01-01"), "today"),
        ((*CLOCK, "--good-until", "2099-01-01"), "--gear NAME"),
        (("--tone", 1000, "--gear", "7"), "--within-ppm"),
        (("--within-ppm", 1, "--gear", "7"), "--tone HZ"),
    ],
)
def test_what_makes_no_sense_is_one_line_and_nothing_is_kept(run, gate, tone, words, says):
    ended = run("measure", "clock", tone, *words)
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
    assert says in ended.stderr
    assert not Calibration.objects.exists()


def test_a_job_takes_its_calibrations_from_the_gear_only(run, gate, firings, tmp_path):
    run("job", "take-in", "--name", "Ilse Marrick", "--family", "twin-lens-reflex")
    words = ("--marked", "1/125", "--job", 1, "--clock", tmp_path / "clock.json")
    (tmp_path / "clock.json").write_text(json.dumps(SAVED))
    ended = run("measure", "shutter", firings, *words)
    assert ended.exit_code == 2
    assert "measure clock FILE --gear NAME" in ended.stderr
    assert not Measurement.objects.exists()


def test_a_file_that_is_no_calibration_of_that_kind_is_one_line(run, gate, tmp_path):
    other = tmp_path / "other.json"
    other.write_text('{"calibration": "clock"}')
    ended = run("measure", "input", other, "--gear", "7")
    assert ended.exit_code == 2
    assert "no calibration of an input" in ended.stderr
