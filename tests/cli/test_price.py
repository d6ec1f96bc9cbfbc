"""The price of a job at the command line."""

import json

import pytest

from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.agreeing import Line
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.looking import FindingDetails
from pegwood.book.weighing.telling import tell_one
from pegwood.book.workshop import change_settings
from pegwood.pricing.money import Money

BY = "Tove Halm"


@pytest.fixture
def job(db):
    change_settings({"hourly_rate": 6000}, by=BY)
    return arriving.take_in(OwnerDetails(name="Ilse Marrick"), CameraDetails(family="box"), by=BY)


def test_what_is_said_of_a_price_is_what_issue_and_script_ask_for(run, job):
    tell_one(job, "unused-long", True, by=BY)
    told = json.loads(run("price", 1, "--json", "--draws", 500, "--covers", 0).output)
    assert {"usual", "not_more_than", "worst", "currency", "drivers", "draws", "seed"} <= told.keys()
    assert 0 < told["usual"] <= told["not_more_than"] <= told["worst"]
    assert (told["currency"], told["draws"], told["seed"]) == ("EUR", 500, 1)
    assert sum(one["share"] for one in told["drivers"]) == pytest.approx(1, abs=1e-3)
    again = json.loads(run("price", 1, "--json", "--draws", 500, "--covers", 0).output)
    assert again == told
    other = json.loads(run("price", 1, "--json", "--draws", 500, "--covers", 0, "--seed", 8).output)
    assert other["seed"] == 8
    assert other != told
    words = run("price", 1, "--draws", 500).output
    assert "holds in 80 of 100" in words
    assert "something else is there" in words
    assert "lognormal minutes, 500 draws, seed 1" in words


def test_it_says_how_likely_the_agreed_sum_is_passed(run, job):
    tell_one(job, "unused-long", True, by=BY)
    looking.note_finding(job, FindingDetails(part="shutter", condition="sticks"), by=BY)
    agreeing.tell_price(moving.look_over(job, by=BY), [Line(what="all", amount=Money(100, "EUR"))], by=BY)
    agreeing.record_yes(job, how="by letter", by=BY)
    told = json.loads(run("price", 1, "--json", "--draws", 500).output)
    assert (told["agreed_up_to"], told["chance_above_agreed"]) == (100, 1.0)
    assert "agreed up to €1.00: passed in 100 % of such jobs" in run("price", 1, "--draws", 500).output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("price", 9), "There is no job 9"),
        (("price", 1), "Nothing is told or seen of this camera yet"),
        (("price", 1, "--covers", "101"), "--covers"),
        (("price", 1, "--draws", "7"), "--draws"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(run, job, words, says):
    refused = run(*words)
    assert refused.exit_code != 0
    assert says in refused.stderr
