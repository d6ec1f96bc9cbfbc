"""What is wrong, asked at the command line."""

from __future__ import annotations

import json
from dataclasses import replace

import pyagrum as gum
import pytest
from click.testing import CliRunner

from pegwood.anatomy.construction import constructions
from pegwood.causes import weighing
from pegwood.causes.case import Case
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import knowledge
from pegwood.causes.planning import bench_check
from pegwood.causes.weighing import weigh
from pegwood.cli.root import main

WET = ("--story", "soaked-salt")
#: With what a comeback costs as it is for an estimate, and with less.
PRICED = ((), ("--comeback", "90"), ("--comeback", "5"))


def ask(*words: str):
    return CliRunner().invoke(main, ["causes", *map(str, words)])


def told(*words: str):
    result = ask(*words, "--json")
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


@pytest.fixture(scope="module")
def box():
    return family_causes(constructions()["box"], knowledge())


@pytest.fixture(scope="module")
def sign(box):
    """One of yes and no, and a fault that shows it."""
    return next(one for one in box.signs.values() if one.answers == ("no", "yes") and one.shown_by)


def test_faults_come_with_their_chances_the_likeliest_first(box):
    (found,) = told("likely", "box", *WET)
    chances = [one["p"] for one in found["faults"]]
    assert chances == sorted(chances, reverse=True)
    assert {one["id"] for one in found["faults"]} == set(box.faults)
    assert found["faults"][0].keys() == {"id", "part", "p"}
    assert (found["evidence_p"], found["unexplained"], found["approximate"]) == (1, [], False)
    shown = ask("likely", "box", *WET)
    assert shown.exit_code == 0
    assert f"({found['faults'][0]['id']})" in shown.output.splitlines()[0]


@pytest.mark.parametrize(
    ("off", "says"),
    [(0.02, "may be up to 2.0% off"), (0.004, "may be up to 0.4% off"), (1.0, "nobody can say")],
)
def test_what_is_not_exact_says_how_far_off_it_may_be_where_that_is_known(monkeypatch, off, says):
    exact = weighing.weigh
    monkeypatch.setattr(
        weighing, "weigh", lambda causes, case: replace(exact(causes, case), approximate=True, off=off)
    )
    (line,) = [one for one in ask("likely", "box").output.splitlines() if one.startswith("Approximate:")]
    assert says in line
    assert "100" not in line


def test_help_says_that_what_jobs_taught_does_not_count_here():
    said = " ".join(ask("--help").output.split())
    assert "Chances rest here on the files alone" in said
    assert "`causes learnt` tells it" in said


def test_a_sign_its_fault_and_why_hang_together(sign):
    fault = sign.shown_by[0].fault
    (found,) = told("likely", "box", *WET, "--sign", f"{sign.id}=yes")
    (why,) = told("why", "box", fault, *WET, "--sign", f"{sign.id}=yes")
    assert why["p"] == pytest.approx(next(one["p"] for one in found["faults"] if one["id"] == fault))
    assert [(one["kind"], one["about"]) for one in why["reasons"]] == [
        ("story", "soaked-salt"),
        ("sign", sign.id),
    ]
    assert why["reasons"][1]["log_odds"] > 0
    assert why["mark"] == "practice"
    said = ask("why", "box", fault, "--sign", f"{sign.id}=yes").output
    assert f"{sign.id}: odds" in said


def test_dont_know_says_nothing_and_sort_of_says_less(sign):
    fault = sign.shown_by[0].fault

    def chance(*answer: str) -> float:
        (found,) = told("likely", "box", *(f"--sign={sign.id}={one}" for one in answer))
        return next(one["p"] for one in found["faults"] if one["id"] == fault)

    assert chance("don't know") == chance()
    assert chance() < chance("sort of yes") < chance("yes")


def test_a_finding_in_words_counts():
    (with_it,) = told("likely", "box", "--finding", "meniscus: hazed")
    (without,) = told("likely", "box")
    dirty = [
        next(one["p"] for one in found["faults"] if one["id"] == "shutter.lens-dirty")
        for found in (with_it, without)
    ]
    assert dirty[0] > dirty[1]


def test_what_is_found_and_cleared_is_certain(box):
    first, second = list(box.faults)[:2]
    (found,) = told("likely", "box", "--found", first, "--cleared", second)
    chances = {one["id"]: one["p"] for one in found["faults"]}
    assert (chances[first], chances[second]) == pytest.approx((1, 0), abs=1e-12)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("likely", "bocks"), "'bocks' is no family"),
        (("likely", "box", "--story", "soaked"), "'soaked' is no word of a story here. Nearest: soaked-"),
        (("likely", "box", "--story", "sand", "--not", "sand"), "'sand' cannot be so and not so"),
        (("likely", "box", "--sign", "body.key-turns"), "no sign with its answer. Write it as ID=ANSWER"),
        (("likely", "box", "--sign", "body.key-turn=x"), "is no sign here. Nearest: body.key-turns"),
        (("likely", "box", "--sign", "body.key-turns=perhaps"), "is no answer to 'body.key-turns'"),
        (("likely", "box", "--finding", "meniscus"), "is no finding. Write it as PART: CONDITION"),
        (("why", "box", "shutter.soul"), "'shutter.soul' is no fault"),
        (("next", "box", "--off", "soul"), "soul"),
        (("next", "box", "--mended", "soul"), "'soul' is no fault"),
        (("export", "box", "--story", "cursed"), "'cursed' is nothing of a story"),
    ],
)
def test_bad_input_gets_one_line(words, says):
    result = ask(*words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.count("\n") == 1
    assert says in result.stderr


def test_next_proposes_looks_with_their_minutes_and_what_they_save(box):
    (found,) = told("next", "box", "--closed", *WET)
    assert found["proposals"][-1]["kind"] == "stop"
    for one in found["proposals"][:-1]:
        assert one["kind"] == "look"
        assert one["worth_minutes"] > 0
        assert (one["access"], one["access_minutes"]) == ([], 0)  # nothing comes off for it
        assert one["minutes"] == box.signs[one["id"]].minutes
    said = ask("next", "box", *WET)
    assert said.exit_code == 0
    assert "Stop here." in said.output


def test_next_of_a_closed_camera_reckons_as_for_an_estimate(box):
    found, same, less = (told("next", "box", "--closed", *WET, *more)[0] for more in PRICED)
    here = bench_check(box, constructions()["box"], Case(told=frozenset(["soaked-salt"])))
    assert found["expected_minutes"] == pytest.approx(here.expected_minutes)
    assert same["expected_minutes"] == pytest.approx(found["expected_minutes"])
    assert less["expected_minutes"] < found["expected_minutes"]


def test_faults_show_every_caution_of_their_mends(box):
    shown = ask("faults", "box").output
    for fault in box.faults.values():
        for mend in fault.mends:
            for caution in mend.cautions:
                assert f"! {caution}" in shown
    assert {one["id"] for one in told("faults", "box")} == set(box.faults)
    assert {one["id"] for one in told("signs", "box")} == set(box.signs)


def test_an_exported_net_says_elsewhere_what_it_says_here(tmp_path, box, sign):
    path = tmp_path / "box.bif"
    path.write_text(ask("export", "box", *WET).stdout, "utf-8")
    made = gum.loadBN(str(path))
    names = {of: name for name, of in told_names().items()}
    engine = gum.LazyPropagation(made)
    engine.setEvidence({names[sign.id]: 1})
    here = weigh(box, Case(told=frozenset(["soaked-salt"]), answers={sign.id: (0.0, 1.0)})).chances
    for fault, chance in here.items():
        assert engine.posterior(names[fault]).tolist()[1] == pytest.approx(chance, abs=1e-6)


def told_names() -> dict[str, str]:
    return json.loads(ask("export", "box", *WET, "--names").stdout)


def test_files_are_checked_with_file_and_line(tmp_path):
    assert "36 mechanisms" in ask("check").output
    broken = tmp_path / "mine.toml"
    head = 'mechanism = "no-such"\nsource = "own"\nmark = "practice"\n'
    broken.write_text(head + "fault = []\nsign = []\n", "utf-8")
    result = ask("check", broken)
    assert result.exit_code == 2
    assert "mine.toml, line 1" in result.stderr
