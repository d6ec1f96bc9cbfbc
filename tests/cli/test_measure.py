"""Reading recordings at the command line. The light curves are trapezoids, whose effective time is known."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
import soundfile

from instruments.contacts import ContactLine
from instruments.lightcurves import Bench, Firing
from pegwood.book.benchwork import list_gear
from pegwood.book.models import Measurement

RATE = 48_000
TRAPEZOID = Firing(at=0.5, opening=0.002, plateau=0.0065, closing=0.002)
# ISO 516: exposure over full-open illuminance; 6.5 ms + half of 2 ms + half of 2 ms
EFFECTIVE_S = 0.0085

KEYS_OF_A_LINE = {"file", "method", "coupling", "sample_rate_hz", "shots", "summary", "warnings"}
KEYS_OF_A_SHOT = {
    "at_s", "effective_s", "effective_u_s", "total_s", "opening_s", "closing_s", "efficiency",
    "bounce", "channel",
}  # fmt: skip
KEYS_OF_A_SUMMARY = {
    "n", "effective_s", "effective_u_s", "spread_ev", "error_ev", "error_u_ev", "verdict", "limit_source",
}  # fmt: skip


@pytest.fixture
def firings(tmp_path):
    """Three firings, a second apart."""
    three = tuple(replace(TRAPEZOID, at=at) for at in (0.5, 1.5, 2.5))
    path = tmp_path / "firings.wav"
    samples = Bench(firings=three, rate=RATE, sigma=0.003, offset=0.1).samples()
    soundfile.write(path, samples, RATE, subtype="PCM_16")
    return path


@pytest.fixture
def silence(tmp_path):
    path = tmp_path / "silence.wav"
    soundfile.write(path, np.random.default_rng(1).normal(0.1, 0.002, 2 * RATE), RATE, subtype="PCM_16")
    return path


def lines(result):
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_each_file_is_one_line_of_json_with_the_promised_keys(run, firings):
    (line,) = lines(run("measure", "shutter", firings, "--marked", "1/125", "--kind", "leaf", "--json"))
    assert set(line) >= KEYS_OF_A_LINE
    assert all(set(shot) >= KEYS_OF_A_SHOT for shot in line["shots"])
    assert set(line["summary"]) >= KEYS_OF_A_SUMMARY
    assert (line["file"], line["coupling"], line["sample_rate_hz"]) == (str(firings), "DC", RATE)


def test_the_effective_time_is_the_trapezoids(run, firings):
    (line,) = lines(run("measure", "shutter", firings, "--marked", "1/125", "--json"))
    assert len(line["shots"]) == 3
    for shot in line["shots"]:
        assert abs(shot["effective_s"] - EFFECTIVE_S) < 3 * shot["effective_u_s"]
        assert shot["effective_u_s"] < 0.01 * EFFECTIVE_S
    # log2(8.5 ms / (1/128 s)), by arithmetic
    assert line["summary"]["error_ev"] == pytest.approx(0.1216, abs=0.01)


def test_a_recording_without_a_firing_is_an_answer(run, silence):
    ended = run("measure", "shutter", silence, "--json")
    (line,) = lines(ended)
    assert ended.exit_code == 0
    assert line["shots"] == []
    assert line["warnings"]


def test_a_file_that_cannot_be_read_is_said_and_the_others_are_read(run, firings, tmp_path):
    broken = tmp_path / "broken.wav"
    broken.write_bytes(b"RIFF and no more")
    ended = run("measure", "shutter", broken, tmp_path / "not there.wav", firings, "--json")
    assert ended.exit_code == 2
    assert [line["file"] for line in lines(ended)] == [str(firings)]
    assert len(ended.stderr.splitlines()) == 2
    assert "broken.wav" in ended.stderr.splitlines()[0]


def test_people_see_figures_with_their_uncertainty(run, firings):
    shown = run("measure", "shutter", firings, "--marked", "1/125", "--kind", "leaf").stdout
    assert "±" in shown
    assert "verdict: within" in shown
    assert "[practice])" in shown, "whose limit it is, and by what right"
    assert "Workshop's default" in shown


def test_without_a_kind_of_shutter_no_limit_is_guessed(run, firings):
    (line,) = lines(run("measure", "shutter", firings, "--marked", "1/125", "--json"))
    assert line["summary"]["verdict"] == "no limit given"


def test_the_dial_is_read_as_asked(run, firings):
    (line,) = lines(
        run("measure", "shutter", firings, "--marked", "1/125", "--reading", "as marked", "--json")
    )
    # log2(8.5 ms / 8 ms), by arithmetic
    assert line["summary"]["error_ev"] == pytest.approx(0.0875, abs=0.01)


def test_a_marking_that_cannot_be_is_one_line(run, firings):
    ended = run("measure", "shutter", firings, "--marked", "1/0")
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1


def test_a_reading_is_kept_in_its_job_and_accepted(run, firings):
    run("job", "take-in", "--name", "Ilse Marrick", "--family", "twin-lens-reflex")
    ended = run("measure", "shutter", firings, "--marked", "1/125", "--job", 1, "--as", "found", "--json")
    assert ended.exit_code == 0
    kept = Measurement.objects.get()
    assert (kept.phase, kept.progress, kept.marked) == ("as found", "read", "1/125")
    assert kept.summary["limit_source"]
    assert lines(ended)[0]["measurement"] == kept.pk


@pytest.fixture
def job(run):
    run("job", "take-in", "--name", "Ilse Marrick", "--family", "twin-lens-reflex")
    return 1


def test_the_gear_is_named_by_its_serial_number(run, firings, job):
    list_gear("light gate", serial="LG-07", by="bench")
    run("measure", "shutter", firings, "--marked", "1/125", "--job", job, "--gear", "lg-07")
    assert Measurement.objects.get().gear.serial == "LG-07"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--as", "found"), "--job NUMBER"),
        (("--job", 1, "--kind", "leaf"), "Leave out --kind"),
        (("--job", 1, "--gear", "spoon"), "no gear"),
        (("--job", 1), "--marked"),
    ],
)
def test_words_that_would_do_nothing_are_refused(run, firings, job, words, says):
    marked = () if words == ("--job", 1) else ("--marked", "1/125")
    ended = run("measure", "shutter", firings, *marked, *words)
    assert ended.exit_code == 2
    assert says in ended.stderr
    assert not Measurement.objects.exists()


def test_two_files_are_not_accepted_as_one_reading(run, firings, silence, job):
    ended = run("measure", "shutter", firings, silence, "--marked", "1/125", "--job", job, "--as", "found")
    assert ended.exit_code == 2
    assert "Give one file" in ended.stderr


def test_a_silent_file_is_said_and_the_others_are_kept_all_the_same(run, firings, silence, job):
    ended = run("measure", "shutter", silence, firings, "--marked", "1/125", "--job", job, "--json")
    assert ended.exit_code == 0
    assert [len(line["shots"]) for line in lines(ended)] == [0, 3]


def test_a_silent_file_is_not_accepted(run, silence, job):
    ended = run("measure", "shutter", silence, "--marked", "1/125", "--job", job, "--as", "found", "--json")
    assert ended.exit_code == 1
    assert "Not accepted as found" in ended.stderr


def test_no_uncertainty_is_ever_printed_as_nothing(run, firings):
    shown = run("measure", "shutter", firings, "--marked", "1/125").stdout
    stated = re.findall(r"± ([\d.]+) (?:ms|s|EV)", shown)
    assert len(stated) == 5
    assert all(float(figure) > 0 for figure in stated)


def test_a_files_name_is_shown_as_it_is(run, silence):
    odd = silence.rename(silence.with_name("[x] [red]roll :key:.wav"))
    shown = run("measure", "shutter", odd).stdout.replace("\n", "")
    assert odd.name in shown


def test_gear_without_a_name_is_refused(run, firings, job):
    ended = run("measure", "shutter", firings, "--marked", "1/125", "--job", job, "--gear", "")
    assert ended.exit_code == 2
    assert not Measurement.objects.exists()


@pytest.fixture
def contacts(tmp_path):
    """A light channel and beside it a contact that closes 0.5 ms after full opening and bounces once."""
    light = Bench(firings=(TRAPEZOID,), rate=RATE, sigma=0.003).samples()
    full = TRAPEZOID.at + TRAPEZOID.opening
    changes = (full + 0.0005, full + 0.0008, full + 0.0011, full + 0.005)
    line = ContactLine(changes, tau=40e-6).samples(len(light), RATE, np.random.default_rng(3))
    path = tmp_path / "contacts.wav"
    soundfile.write(path, np.column_stack([light, line]), RATE, subtype="PCM_24")
    return path


def test_a_contact_beside_the_light_is_timed(run, contacts):
    (line,) = lines(run("measure", "shutter", contacts, "--contact", 1, "--kind", "leaf", "--json"))
    (one,) = line["contacts"]
    assert abs(one["delay_s"] + 0.0005) < 2 * one["delay_u_s"]
    assert abs(one["closed_s"] - 0.0045) < 3 * one["closed_u_s"]
    assert one["bounces"] == 1
    assert one["verdict"] == {"electronic": "within", "M": "outside", "FP": "outside"}
    assert {s["mark"] for s in one["source"]} == {"seen", "practice"}
    assert [shot["channel"] for shot in line["shots"]] == [0]


def test_people_see_the_contact_its_sources_and_the_caution(run, contacts):
    shown = " ".join(run("measure", "shutter", contacts, "--contact", 1, "--kind", "leaf").stdout.split())
    assert re.search(r"-0\.(4|5)\d* ± 0\.\d+ ms", shown)
    assert "positive where the contact closes before" in shown
    assert "13 to 19 ms before the shutter is 80 % open" in shown
    assert "seen" in shown
    assert "Never wire a charged flash" in shown


def test_the_help_carries_the_caution(run):
    shown = " ".join(run("measure", "shutter", "--help").stdout.split())
    assert "Never wire a charged flash's contact" in shown


def test_smaller_stops_are_told_from_the_full_aperture(run, firings):
    (line,) = lines(run("measure", "shutter", firings, "--widest", 2.8, "--json"))
    stops = line["at_stops"]
    assert [one["f_number"] for one in stops] == [2.8, 4, 5.6, 8, 11, 16, 22]
    assert all({"effective_s", "effective_u_s", "gain_ev"} <= set(one) for one in stops)
    # straight ramps: the light a stop needs is there after 2 ms / ratio**2, so it loses 2 x half of that
    for one, ratio_2 in zip(stops, (1, 2, 4, 8, 16, 32, 64), strict=True):
        assert abs(one["effective_s"] - (0.0105 - 0.002 / ratio_2)) < 4 * one["effective_u_s"]
    shown = run("measure", "shutter", firings, "--widest", 2.8).stdout
    assert "f/16" in shown
    assert "EV" in shown


def test_without_asking_there_are_neither_stops_nor_contacts(run, firings):
    (line,) = lines(run("measure", "shutter", firings, "--json"))
    assert not {"at_stops", "contacts"} & set(line)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--contact", 2), "0 to 1"),
        (("--widest", 0), "such as 2.8"),
        (("--widest", 2.8, "--kind", "focal-plane"), "Leave out --widest"),
    ],
)
def test_a_contact_or_a_stop_that_can_not_be_is_one_line(run, contacts, words, says):
    ended = run("measure", "shutter", contacts, *words)
    assert ended.exit_code == 2
    assert len(ended.stderr.splitlines()) == 1
    assert says in ended.stderr


def test_a_file_that_cannot_be_read_is_named_once(run, tmp_path):
    empty = tmp_path / "empty.csv"
    empty.write_bytes(b"")
    asked = run("measure", "shutter", empty)
    assert asked.exit_code == 2
    assert asked.stderr.count("empty.csv") == 1
    assert "is empty" in asked.stderr
