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
    assert "more such; there is no way in without them to sector" in around.stderr


FOLDING = "folding-35-leaf-rangefinder"


def test_a_part_may_be_called_what_repairers_call_it():
    by_id = told("plan", FOLDING, "--reach", "shutter.slow-train", "--off", "lens.lens-front-group")
    assert told("plan", FOLDING, "--reach", "Slow train", "--off", "front cell") == by_id
    result = ask("plan", FOLDING, "--reach", "light seal")
    assert result.exit_code == 2
    assert "'light seal' may be several parts of this family: upper groove seal" in result.stderr


def test_a_joint_may_be_avoided_and_a_side_kept_to_and_what_that_costs_is_told():
    blades = ("plan", FOLDING, "--reach", "shutter blades")
    freely, front = told(*blades)[0], told(*blades, "--from", "front")[0]
    assert freely["dearer"] == 0
    assert front["dearer"] == pytest.approx(front["cost"] - freely["cost"])
    assert front["dearer"] > 1  # freely they come off from the back
    assert f"it is {front['dearer']:.0f} min dearer than" in ask(*blades, "--from", "front").output
    around = ask("plan", FOLDING, "--reach", "slow train", "--from", "base")
    assert around.exit_code == 2
    assert "slow train (shutter.slow-train) comes off from the front, not from the base" in around.stderr
    assert (
        "With what you ask for it is as cheap as"
        in ask("plan", "box", "--reach", SECTOR, "--avoid", "glue").output
    )
    assert "'glu' is no kind of joint" in ask("plan", "box", "--reach", SECTOR, "--avoid", "glu").stderr


def test_what_else_is_in_reach_and_how_many_orders_there_are_is_told():
    plan = told("plan", FOLDING, "--reach", "speed cam")[0]
    assert (
        plan["orders"] == 1
    )  # front group, cover ring, speed ring, speed cam: each waits for the one before
    assert [step["part"] for step in plan["steps"]][-1] == "shutter.speed-cam"
    also = {one["part"]: one for one in plan["also"]}
    train = also["shutter.slow-train"]
    ways = [one for one in json.loads(ask("export", FOLDING).output)["ways"] if one["part"] == train["part"]]
    assert train["minutes"] + train["risk"] == pytest.approx(ways[0]["cost"])
    assert train["alone"] == pytest.approx(plan["cost"] + ways[0]["cost"])
    assert (train["with"], train["why"], train["mark"]) == ([], "lubricate", "practice")
    shown = ask("plan", FOLDING, "--reach", "speed cam").output
    assert "The joins allow no other order." in shown
    assert "While you are in there:" in shown
    assert "slow train: 6 min more; " in shown or "slow train: 5 min more; " in shown


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
