"""The shelf at the command line."""

from __future__ import annotations

import json

import pytest

from book.cast import BENNO, BY, FOLDER
from pegwood.book import arriving
from pegwood.book.spares.donors import DonorDetails, keep_donor
from pegwood.book.spares.putting import say_worth
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.ruling import rule
from pegwood.pricing.money import Money

CELL = ("spares", "put", "front cell", "--family", FOLDER.family, "--place", "drawer 3")


@pytest.fixture
def job(run):
    return arriving.take_in(BENNO, FOLDER, by=BY)


def told(result):
    assert result.exit_code == 0, result.output
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_what_was_put_in_is_found_taken_and_comes_back(run, job):
    (put,) = told(run(*CELL, "--count", 2, "--grade", 1, "--cost", "12.50", "--json"))
    assert (put["part"], put["on_the_shelf"], put["cost_minor"]) == ("focus.front-cell", 2, 1250)
    take = ("spares", "take", put["spare"], "--job", job.number, "--json")
    (used,) = told(run(*take))
    assert (used["kind"], used["on_the_shelf"], used["reserved"]) == ("used", 1, 0)
    (kept,) = told(run(*take, "--keep"))
    assert (kept["kind"], kept["reserved"]) == ("reserved", 1)
    (gone,) = told(run(*take, "--let-go"))
    (back,) = told(run(*take, "--back"))
    assert (gone["reserved"], back["on_the_shelf"]) == (0, 2)
    (more,) = told(run("spares", "put", "--more", put["spare"], "--count", 3, "--json"))
    assert more["on_the_shelf"] == 5
    (off,) = told(run("spares", "take", put["spare"], "--write-off", "dropped", "--json"))
    assert off["on_the_shelf"] == 4
    assert told(run("spares", "find", "cell", "drawer", "--json")) == [
        {name: off[name] for name in off if name not in ("move", "kind")}
    ]
    assert "4 there; drawer 3" in run("spares", "find").output


def test_a_part_comes_out_of_a_donor_once(run, job):
    donor = keep_donor(DonorDetails(family="box", maker="Kestrane"), by=BY)
    out = run("spares", "put", "drive spring", "--out-of", donor.pk)
    assert "drive spring (Kestrane): 1 there" in out.output
    again = run("spares", "put", "drive spring", "--out-of", donor.pk)
    assert again.exit_code == 1
    assert "out of this one already" in again.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("take", 1), "Which job is it for?"),
        (("take", 1, "--job", 1, "--keep", "--back"), "Give one of"),
        (("take", 1, "--job", 1, "--write-off", "x"), "Leave --job out"),
        (("take", 99, "--job", 1), "There is no spare 99"),
        (("take", 10**30, "--job", 1), "There is no spare"),
        (("take", 1, "--job", 77), "There is no job 77"),
        (("take", 1, "--job", 1, "--count", 5), "Only 1 of front cell is free, not 5"),
        (("take", 1, "--job", 1, "--count", 0), "0 at once cannot be"),
        (("put",), "What is it?"),
        (("put", "x", "--family", "no-such"), "no kind of camera"),
        (("put", "x", "--cost", "many"), "Not an amount"),
        (("put", "x", "--more", 1), "--more only takes"),
        (("put", "x", "--out-of", 5), "There is no donor 5"),
        (("short", "--family", "box"), "was here yet"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(run, job, words, says):
    run(*CELL)
    result = run("spares", *words)
    assert result.exit_code in (1, 2)
    assert says in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_what_is_short_says_for_which_jobs_and_what_to_pay(run, job):
    causes = the_causes(job)
    fault = next(one for one in causes.faults.values() if len(one.mends) == 1 and one.mends[0].parts)
    part = fault.mends[0].parts[0]
    rule(job, fault.id, True, by=BY)
    one = next(one for one in told(run("spares", "short", "--json")) if one["part"] == part)
    assert one["jobs"] == [{"job": job.number, "p": pytest.approx(1.0)}]
    assert (one["there"], one["worth_minor"]) == (0, None)
    say_worth(FOLDER.family, part, Money(6000, "EUR"), by=BY)
    one = told(run("spares", "short", "--family", FOLDER.family, "--json"))[0]
    assert (one["part"], one["worth_minor"], one["currency"]) == (part, 6000, "EUR")
    other = next(one for one in causes.faults.values() if one.mends and one.mends[0].parts and one != fault)
    rule(job, other.id, True, by=BY)
    shown = run("spares", "short", "--most", 1).output
    assert "one more is worth up to €60.00" in shown
    assert "And 1 more: --most shows them." in shown
