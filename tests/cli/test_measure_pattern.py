"""What the pattern says, at the command line: from saved results, and from a job's accepted readings."""

import io
import json

import numpy as np
import pytest

from instruments.patterns import DOUBLING, Shutter, fired
from pegwood.book import arriving, measuring
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.models import Measurement

TEN = list(DOUBLING)[:10]
BY = "Tove Halm"
KEYS = {"kind", "method", "speeds", "signs", "next", "first_left_out", "notes"}
KEYS_OF_A_SIGN = {
    "sign", "name", "probability", "prior", "log10_bayes_factor", "tells", "figure", "figure_u", "figure_95",
    "unit", "figure_of", "speeds", "order", "caution", "to_tell", "source", "mark",
}  # fmt: skip


def results(slow_ev=0.7, seed=4):
    """A shutter whose slow range is off, fired five times at each speed."""
    rng = np.random.default_rng(seed)
    errors = {m: slow_ev * (DOUBLING[m] > 0.05) + 0.04 * rng.standard_normal() for m in TEN}
    return fired(Shutter(errors), rng)


@pytest.fixture
def saved(tmp_path):
    path = tmp_path / "found.jsonl"
    path.write_text("".join(json.dumps(one) + "\n" for one in results()))
    return path


@pytest.fixture
def job(db):
    """A job with readings accepted as found (slow range off) and as left (sound)."""
    owner = arriving.register_owner(OwnerDetails(name="Ilse Marrick"), by=BY)
    camera = CameraDetails(family="folding-roll-front-cell", maker="Vorrin", year_made=1952)
    job = arriving.take_in(owner, camera, by=BY)
    for phase, slow_ev in (("as found", 0.7), ("as left", 0.0)):
        for result in results(slow_ev):
            content = io.BytesIO(f"{phase} {result['marked']}".encode())
            kept = measuring.keep_recording(job, content, "r.wav", marked=result["marked"], by=BY)
            Measurement.objects.filter(pk=kept.pk).update(result=result, progress="read")
            kept.refresh_from_db()
            measuring.accept_measurement(kept, phase, by=BY)
    return job


def test_saved_results_are_one_line_of_strict_json_with_the_promised_keys(run, saved):
    result = run("measure", "pattern", saved, "--kind", "leaf", "--json")
    (line,) = [json.loads(one, parse_constant=pytest.fail) for one in result.stdout.splitlines()]
    assert set(line) == KEYS | {"files"}
    assert all(set(one) == KEYS_OF_A_SIGN for one in line["signs"])
    first = line["signs"][0]
    assert (first["sign"], first["unit"], first["mark"]) == ("slow-range-slow", "EV", "practice")
    assert first["figure"] == pytest.approx(0.7, abs=0.15)


def test_a_person_reads_the_chance_the_size_the_order_and_the_caution(run, saved):
    said = " ".join(run("measure", "pattern", saved, "--kind", "leaf").stdout.split())
    assert "> 99 %" in said
    assert "1. The maker's service sheet first" in said
    assert said.index("Clean the slow train") < said.index("Only then how deep")
    assert "caution: Scribe where the train stands" in said


def test_several_files_are_taken_together(run, tmp_path):
    paths = []
    for one in results():
        paths.append(tmp_path / f"{one['marked'].replace('/', '-')}.json")
        paths[-1].write_text(json.dumps(one))
    line = json.loads(run("measure", "pattern", *paths, "--json").stdout)
    assert len(line["speeds"]) == 10
    assert line["signs"][0]["sign"] == "slow-range-slow"


def test_a_job_is_told_as_found_and_as_left(run, job):
    found, left = (
        json.loads(one)
        for one in run("measure", "pattern", "--job", job.number, "--json").stdout.splitlines()
    )
    assert (found["job"], found["phase"], found["kind"]) == (job.number, "as found", "leaf")
    assert found["signs"][0]["sign"] == "slow-range-slow"
    assert (left["phase"], left["signs"][0]["sign"]) == ("as left", "nothing-wrong")


def test_what_is_set_aside_does_not_count(run, job):
    for kept in job.measurements.filter(phase="as found"):
        measuring.set_aside(kept, "lamp bumped", by=BY)
    lines = run("measure", "pattern", "--job", job.number, "--json").stdout.splitlines()
    assert [json.loads(line)["phase"] for line in lines] == ["as left"]


def test_a_line_without_an_error_is_left_out_with_its_reason(run, tmp_path):
    path = tmp_path / "with-b.jsonl"
    bulb = {"marked": "B", "marked_s": None, "summary": {"n": 3}, "shots": []}
    path.write_text("\n".join(json.dumps(one) for one in [bulb, *results()]))
    result = run("measure", "pattern", path, "--json")
    assert len(json.loads(result.stdout)["speeds"]) == 10
    assert "line 1: left out: B has no marked time" in result.stderr


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("not json", "line 1: no JSON"),
        ("", "No line holds a speed"),
        ('{"marked": 3}', "No line holds a speed"),
        ("[]", "No line"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_one_line(run, tmp_path, content, said):
    path = tmp_path / "odd.json"
    path.write_text(content)
    result = run("measure", "pattern", path)
    assert result.exit_code == 2
    assert said in result.stderr
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    "words", [(), ("x.json", "--job", 1), ("--job", 1, "--kind", "leaf"), ("missing.json",)]
)
def test_what_does_not_go_together_is_refused_in_one_line(run, words):
    result = run("measure", "pattern", *words)
    assert result.exit_code == 2
    assert result.stderr.startswith("pegwood: ")


def test_a_job_without_accepted_readings_says_so(run, job):
    job.measurements.all().update(set_aside=True)
    result = run("measure", "pattern", "--job", job.number)
    assert result.exit_code == 1
    assert "no accepted reading" in result.stderr
