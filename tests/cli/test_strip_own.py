"""The workshop's own families at the command line, and one drafted from the book."""

from __future__ import annotations

import json
from itertools import count

import pytest

from pegwood.anatomy.construction import read_construction
from pegwood.book import arriving
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.models import Job, StripDown
from pegwood.book.stripping.off import OffDetails, log_off

serial = count(1)
OWN = """id = "duplex"
name = "Duplex"
source = "my bench"
mark = "practice"
[[part]]
id = "ring"
name = "front ring"
ways = [{ side = "front", tool = "fingers", minutes = { low = 1, likely = 2, high = 4 } }]
[[part]]
id = "cell"
name = "lens cell"
ways = [{ side = "front", tool = "spanner", minutes = { low = 1, likely = 3, high = 4 }, after = ["ring"] }]
"""


def strange(*names: str, **hidden: tuple[str, ...]) -> Job:
    details = CameraDetails(maker="Vorrin", model="Duplex", serial=f"{next(serial)}")
    job = arriving.take_in(OwnerDetails(name="Ilse Marrick"), details, by="bench")
    for name in names:
        log_off(job, OffDetails(name=name, minutes=4, hidden_under=hidden.get(name, ())), by="bench")
    return job


@pytest.fixture
def own(own_families):
    own_families.mkdir()
    (own_families / "duplex.toml").write_text(OWN, "utf-8")
    return own_families


def test_own_families_are_listed_planned_and_exported(run, own):
    listed = [json.loads(line) for line in run("strip", "families", "--json").stdout.splitlines()]
    assert [one["family"] for one in listed if one["own"]] == ["duplex"]
    assert "Duplex; 2 parts; your own" in run("strip", "families").output
    plan = json.loads(run("strip", "plan", "duplex", "--reach", "lens cell", "--json").stdout)
    assert [step["part"] for step in plan["steps"]] == ["ring", "cell"]
    assert {one["id"] for one in json.loads(run("strip", "export", "duplex").stdout)["parts"]} == {
        "ring",
        "cell",
    }
    assert "cell: lens cell" in run("strip", "parts", "duplex").output


def test_what_was_left_aside_is_told_on_stderr_and_the_rest_answers(run, own):
    (own / "half.toml").write_text("id = \n", "utf-8")
    result = run("strip", "families")
    assert result.exit_code == 0
    assert result.stderr.startswith("pegwood: left aside: families/half.toml: ")
    assert result.stderr.count("\n") == 1
    assert "duplex" in result.stdout


def test_a_file_of_parts_alone_is_checked_as_a_family_where_families_lie(run, own):
    assert "duplex: a family of 2 parts; nothing amiss." in run("strip", "check", own / "duplex.toml").output
    looped = own / "duplex.toml"
    looped.write_text(OWN.replace("high = 4 } }]", 'high = 4 }, after = ["cell"] }]', 1), "utf-8")
    result = run("strip", "check", looped)
    assert result.exit_code == 2
    named = "lens cell (cell) after front ring (ring) after lens cell (cell)"
    assert f"these wait for each other: {named}." in result.stderr


def test_strip_downs_become_a_draft_that_is_read_back_and_the_book_stays_as_it_was(run, tmp_path):
    first, second = strange("ring", "cell"), strange("ring", "cell", "plate")
    result = run("strip", "draft", first.number, second.number, "--name", "Duplex 35")
    found = read_construction(result.stdout, "draft", {}, own=True)
    assert (found.id, found.name) == ("duplex-35", "Duplex 35")
    assert {part.id: part.ways[0].after for part in found.parts.values()} == {
        "ring": (),
        "cell": ("ring",),
        "plate": ("cell",),
    }
    into = tmp_path / "duplex.toml"
    assert (
        "3 parts from 2 strip-downs"
        in run("strip", "draft", first.number, second.number, "--name", "Duplex 35", "--into", into).output
    )
    assert into.read_text("utf-8") == result.stdout
    again = run("strip", "draft", first.number, "--name", "Duplex 35", "--into", into)
    assert (again.exit_code, again.stderr.count("\n")) == (1, 1)
    assert "exists already" in again.stderr
    assert StripDown.objects.get(job=first).family == "other"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["999", "--name", "X"], "There is no job 999."),
        (["1", "--name", "Box"], "'box' is a kind of camera already"),
    ],
)
def test_what_cannot_be_drafted_is_refused_in_one_line(run, words, says):
    strange("ring")
    result = run("strip", "draft", *words)
    assert result.exit_code == 1
    assert says in result.stderr
    assert result.stderr.count("\n") == 1


def test_nothing_off_is_no_draft_and_what_does_not_go_together_is_told(run):
    empty = strange()
    assert (
        "nothing came off in these jobs" in run("strip", "draft", empty.number, "--name", "X").stderr.lower()
    )
    jobs = strange("cover", "strut", strut=("cover",)), strange("strut", "cover")
    result = run("strip", "draft", *(job.number for job in jobs), "--name", "X")
    assert "does not go together: strut is told to be hidden under cover" in result.stderr
