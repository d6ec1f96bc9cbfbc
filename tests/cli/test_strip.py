"""How a kind of camera comes apart, asked at the command line; another solver reaches the same cost."""

from __future__ import annotations

import itertools
import json

import pytest
from click.testing import CliRunner

from pegwood.anatomy.construction import constructions
from pegwood.cli.root import main

#: Of the box camera, behind its front and what hangs on it.
SECTOR = "shutter.sector"


def ask(*words: str):
    return CliRunner().invoke(main, ["strip", *map(str, words)])


def told(*words: str):
    result = ask(*words, "--json")
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.output.splitlines()]


@pytest.fixture(scope="module")
def box():
    return json.loads(ask("export", "box").output)


def test_every_family_is_listed_with_its_parts():
    assert {one["family"] for one in told("families")} == constructions().keys()
    first = told("parts", "box")[0]
    assert first.keys() >= {"id", "name", "materials", "source", "mark"}


def test_a_plan_takes_nothing_before_what_lies_over_it(box):
    plan = told("plan", "box", "--reach", SECTOR)[0]
    done = []
    for step in plan["steps"]:
        assert set(step["after"]) <= set(done)
        done.append(step["part"])
    assert plan["optimal"]
    assert plan["minutes"] == pytest.approx(sum(step["minutes"] for step in plan["steps"]) + plan["changes"])
    assert plan["cost"] == pytest.approx(sum(step["minutes"] + step["risk"] for step in plan["steps"]))


def test_what_is_exported_is_enough_to_reach_the_same_cost(box):
    """By trying every way of every part that may be needed: another method on the exported data alone."""
    target = SECTOR
    ways: dict[str, list[dict]] = {}
    for one in box["ways"]:
        ways.setdefault(one["part"], []).append(one)
    several = [part for part, those in ways.items() if len(those) > 1]
    best = float("inf")
    for chosen in itertools.product(*(ways[part] for part in several)):
        fixed = {
            **{part: those[0] for part, those in ways.items()},
            **dict(zip(several, chosen, strict=True)),
        }
        best = min(best, closure_cost(fixed, target))
    assert told("plan", "box", "--reach", target)[0]["cost"] == pytest.approx(best)


def closure_cost(fixed: dict[str, dict], target: str) -> float:
    needed, ahead = set(), [target]
    while ahead:
        part = ahead.pop()
        if part not in needed:
            needed.add(part)
            ahead += fixed[part]["after"]
    done: set[str] = set()
    while now := {part for part in needed - done if set(fixed[part]["after"]) <= done}:
        done |= now
    return sum(fixed[part]["cost"] for part in needed) if done == needed else float("inf")


def test_what_is_off_already_need_not_come_off_again(box):
    target = SECTOR
    whole = told("plan", "box", "--reach", target)[0]
    first = whole["steps"][0]["part"]
    rest = told("plan", "box", "--reach", target, "--off", first)[0]
    assert rest["cost"] <= whole["cost"] - (whole["steps"][0]["minutes"] + whole["steps"][0]["risk"]) + 1e-9
    assert first not in {step["part"] for step in rest["steps"]}


def test_for_somebody_at_the_bench_each_step_says_tool_side_and_what_to_mind(box):
    shown = ask("plan", "box", "--reach", SECTOR).output
    assert "  1. " in shown
    assert "proved the cheapest" in shown
    assert "service sheet comes first" in shown


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["plan", "bocks", "--reach", "x"], "'bocks' is no family whose construction is known. Nearest: box"),
        (["plan", "box", "--reach", "moonstone"], "'moonstone' is no part of this family"),
        (["parts", "nothing"], "is no family"),
    ],
)
def test_what_is_not_there_is_refused_in_one_line(words, says):
    result = ask(*words)
    assert result.exit_code == 2
    assert says in result.stderr
    assert result.stderr.count("\n") == 1


def test_what_must_stay_may_close_the_way(box):
    target = SECTOR
    steps = told("plan", "box", "--reach", target)[0]["steps"]
    result = ask("plan", "box", "--reach", target, "--spare", target)
    assert "cannot be reached and spared" in result.stderr
    spared = [word for step in steps[:-1] for word in ("--spare", step["part"])]
    around = ask("plan", "box", "--reach", target, *spared)
    assert around.exit_code == 2
    assert "there is no way in without" in around.stderr


def test_a_file_is_checked_with_its_line(tmp_path):
    file = tmp_path / "own.toml"
    file.write_text(
        'id = "own"\nname = "own"\nsource = "me"\nmark = "practice"\n'
        '[[use]]\nmechanism = "bocks"\ncalled = "b"\n'
    )
    result = ask("check", file)
    assert result.exit_code == 2
    assert "own.toml, line 6" in result.stderr
    assert "'bocks' is no mechanism" in result.stderr
