"""What the jobs taught and how good the chances were, at the command line."""

from __future__ import annotations

import json
import tomllib

import pytest

from pegwood.book import arriving, leaving
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.models import Job
from pegwood.book.weighing import learnt
from pegwood.book.weighing.ruling import rule

BY = "bench"
FAMILY, FAULT = "folding-roll-front-cell", "shutter.oiled-blades"


@pytest.fixture(autouse=True)
def nothing_is_kept(monkeypatch):
    """Rows of another test's book have the same keys."""
    for name, empty in (("_weighed_jobs", {}), ("_learnt", {}), ("_lessons", []), ("_shared", [])):
        monkeypatch.setattr(learnt, name, empty)


@pytest.fixture
def taught(db) -> Job:
    """A closed job of which one fault was found and another ruled out."""
    details = CameraDetails(family=FAMILY, maker="Vorrin", model="Wayfarer")
    job = arriving.take_in(OwnerDetails(name="Ilse Marrick"), details, by=BY)
    rule(job, FAULT, True, by=BY)
    other = next(one for one in learnt.as_filed(details.family).faults if one != FAULT)
    rule(job, other, False, by=BY)
    return leaving.send_back_unmended(job, "the owner wants it so", by=BY)


def test_with_nothing_ruled_the_score_says_what_it_waits_for(run):
    assert "Nothing to score yet" in run("causes", "score").output
    assert json.loads(run("causes", "score", "--json").stdout) == {"n": 0}


def test_the_score_stands_beside_that_of_the_mean(run, taught):
    said = json.loads(run("causes", "score", "--json").stdout)
    # Brier 1950: the mean squared difference between what was told and what came
    told = {one.fault: (one.chance_before, one.there) for one in taught.fault_rulings.all()}
    assert said["brier"] == pytest.approx(sum((p - was) ** 2 for p, was in told.values()) / 2)
    # one of two was there: a coin
    assert (said["n"], said["jobs"], said["brier_of_base"]) == (2, 1, 0.25)
    assert said["log_of_base"] == pytest.approx(0.693147, abs=1e-6)
    assert said["few"] is True
    assert sum(one["n"] for one in said["bins"]) == 2
    shown = run("causes", "score").output
    assert "2 faults decided, of 1 jobs; 50% were there" in shown
    assert "always telling the mean    0.250   0.693" in shown


def test_one_family_is_scored_alone_and_one_that_is_none_is_told_with_the_nearest(run, taught):
    assert json.loads(run("causes", "score", "--family", "box", "--json").stdout) == {"n": 0}
    assert json.loads(run("causes", "score", "--family", FAMILY, "--json").stdout)["n"] == 2
    result = run("causes", "score", "--family", "bax")
    assert result.exit_code == 2
    assert "Nearest: box" in result.stderr


def test_each_change_is_told_with_its_jobs(run, taught):
    changes = [json.loads(line) for line in run("causes", "learnt", FAMILY, "--json").stdout.splitlines()]
    (prior,) = [one for one in changes if one["what"] == "prior" and one["of"] == [FAULT]]
    assert prior["counts"] == [0, 1]
    assert prior["rests_on"] == [str(taught.number)]
    assert prior["before"] < prior["after"]
    shown = run("causes", "learnt", FAMILY).output
    assert prior["named"] in shown
    assert f"jobs {taught.number}" in shown
    assert "Nothing yet" in run("causes", "learnt", "box").output


def test_what_another_workshop_sent_broken_is_told_on_stderr(run, workshop_folder):
    folder = workshop_folder.root / learnt.HANDED_ON
    folder.mkdir(exist_ok=True)
    path = folder / "broken.toml"
    path.write_text("use = 3\n", "utf-8")
    try:
        result = run("causes", "learnt", "box")
    finally:
        path.unlink()
    assert result.exit_code == 0
    assert "pegwood: left out: broken.toml, line 1" in result.stderr


def test_what_is_handed_on_is_toml_without_the_owner(run, taught):
    text = run("causes", "hand-on").stdout
    uses = tomllib.loads(text)["use"]
    assert {FAMILY} == {one["family"] for one in uses}
    assert "Marrick" not in text
    assert "Vorrin" not in text
