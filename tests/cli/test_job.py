"""A job at the command line, from the door to the bench."""

import json
from datetime import datetime, timedelta

import pytest
from django.contrib.auth.models import User

from pegwood.book.models import DiaryEntry, Job

TAKE_IN = (
    "job",
    "take-in",
    "--name",
    "Ilse Marrick",
    "--family",
    "box",
    "--serial",
    "A-20417",
    "--story",
    "sticks",
)


def test_a_camera_is_taken_in_looked_over_and_looked_up(run):
    assert run(*TAKE_IN).output == "Job 1: Box camera, for Ilse Marrick.\n"
    assert run("job", "found", 1, "shutter plate", "rust", "--grade", 2, "--mend").exit_code == 0
    assert run("job", "move", 1, "look-over").output == "1 stands at: looked over\n"
    listed = json.loads(run("job", "list", "--json").output)
    assert (listed["number"], listed["standing"]) == (1, "looked over")
    assert "rust" in run("job", "show", 1).output
    assert json.loads(run("find", "rust", "--json").output)["job"] == 1


def test_what_is_shown_as_json_holds_everything_written(run):
    run(*TAKE_IN)
    run("job", "did", 1, "cleaned it", "--minutes", 20)
    run("job", "remark", 1, "rang")
    shown = json.loads(run("job", "show", 1, "--json").output)
    assert shown["owner"]["name"] == "Ilse Marrick"
    assert shown["work"][0]["minutes"] == 20
    assert [entry["what"] for entry in shown["diary"]] == ["took in", "did", "remarked"]


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("job", "show", 9), 1, "There is no job 9"),
        (("job", "take-in"), 2, "Whose is it?"),
        (("job", "take-in", "--owner", 5), 1, "There is no owner 5"),
        (("job", "take-in", "--name", "x", "--family", "zeppelin"), 2, "There is no kind"),
        (("job", "take-in", "--name", "x", "--promised", "soon"), 2, "is not a day"),
        (("job", "take-in", "--name", "x"), 1, "Nothing says what the camera is"),
        (("paper", "make", 1, "poem"), 2, "There is no paper"),
        (("paper", "save", "1-bill-1", "x.pdf"), 1, "There is no paper 1-bill-1"),
        (("settings", "set", "currency"), 2, "is not NAME=VALUE"),
        (("settings", "set", "currency=EURO"), 1, "currency"),
        (("owner", "show", 4), 1, "There is no owner 4"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason_and_a_code(run, words, code, says):
    ended = run(*words)
    assert ended.exit_code == code
    assert says in ended.stderr
    assert not Job.objects.exists()


def test_a_move_that_makes_no_sense_is_one_line(run):
    run(*TAKE_IN)
    ended = run("job", "move", 1, "bench")
    assert ended.exit_code == 1
    assert ended.stderr.count("\n") == 1
    assert "stands at 'arrived'" in ended.stderr


def test_settings_set_are_listed(run):
    run("settings", "set", "name=The Lantern Bench", "hourly_rate=6600")
    listed = json.loads(run("settings", "list", "--json").output)
    assert (listed["name"], listed["hourly_rate"]) == ("The Lantern Bench", 6600)


def test_owners_are_entered_listed_and_shown(run):
    run("owner", "add", "Benno Tjaard", "--phone", "0555-0177")
    number = json.loads(run("owner", "list", "--json").output)["owner"]
    assert "0555-0177" in run("owner", "show", number).output


PASSWORD = ("--password", "a long walk to the mill")


def test_a_weak_password_is_refused(run):
    assert run("user", "add", "ilse", "--password", "short").exit_code == 1
    assert not User.objects.exists()


def test_somebody_is_let_in_and_shut_out_again(run):
    assert run("user", "add", "ilse", *PASSWORD).exit_code == 0
    assert run("user", "list").output == "ilse\n"
    assert run("user", "remove", "ilse").exit_code == 0
    assert run("user", "list").output == ""
    assert not User.objects.get().check_password(PASSWORD[1])
    assert run("user", "password", "ilse", *PASSWORD).exit_code == 0
    assert run("user", "list").output == "ilse\n"
    said = ["let somebody sign in", "shut somebody out", "changed a password"]
    assert list(DiaryEntry.objects.values_list("what", flat=True)) == said


@pytest.mark.parametrize(
    "words", [("add", ""), ("add", "a b<c"), ("add", "x" * 81), ("password", "nobody"), ("remove", "nobody")]
)
def test_a_user_that_cannot_be_is_one_line(run, words):
    ended = run("user", *words, *(PASSWORD if words[0] != "remove" else ()))
    assert ended.exit_code == 1
    assert ended.stderr.count("\n") == 1


def test_whoever_is_shut_out_is_out_at_once_on_every_device(run, client, settings):
    settings.SIGN_IN_REQUIRED = True
    run("user", "add", "ilse", *PASSWORD)
    client.post("/sign-in/", {"username": "ilse", "password": PASSWORD[1]})
    assert client.get("/").status_code == 200
    run("user", "remove", "ilse")
    assert client.get("/").status_code == 302
    run("user", "password", "ilse", *PASSWORD)
    assert client.get("/").status_code == 302  # the old session does not come back to life


def test_a_name_is_given_once(run):
    run("user", "add", "ilse", *PASSWORD)
    assert "already" in run("user", "add", "ilse", *PASSWORD).stderr


def test_a_setting_that_looks_like_a_mark_of_style_is_shown_as_it_is(run):
    run("settings", "set", "terms=[/x] and [bold]")
    assert "[/x] and [bold]" in run("settings", "list").output


def test_moments_for_scripts_are_iso_8601(run):
    run("settings", "set", "name=The Lantern Bench")
    run(*TAKE_IN)
    run("paper", "make", 1, "receipt")
    at = json.loads(run("paper", "list", 1, "--json").output)["at"]
    assert "T" in at
    assert datetime.fromisoformat(at).utcoffset() == timedelta(0)
