"""The command as a process of its own: workshops, demos, servers, archives."""

import json
import re
import signal
import subprocess
import sys
import time
import urllib.request
import zipfile
from datetime import datetime, timedelta

import pytest


def one_line(ended, code, says):
    assert ended.returncode == code, ended.stderr
    assert says in ended.stderr
    assert ended.stderr.count("\n") == 1
    assert "Traceback" not in ended.stderr


def test_a_workshop_is_backed_up_and_restored_elsewhere(run_alone, tmp_path):
    run_alone("job", "take-in", "--name", "Ilse Marrick", "--family", "box")
    made = run_alone("backup", tmp_path / "kept.zip", "--json")
    assert json.loads(made.stdout)["damaged"] == []
    restored = run_alone("restore", tmp_path / "kept.zip", tmp_path / "again")
    assert restored.returncode == 0, restored.stderr
    listed = run_alone("--workshop", tmp_path / "again", "job", "list")
    assert "Ilse Marrick" in listed.stdout
    assert "All is sound" in run_alone("--workshop", tmp_path / "again", "check").stdout


def test_restoring_over_a_workshop_is_refused(run_alone, tmp_path):
    run_alone("owner", "add", "Ilse Marrick")
    run_alone("backup", tmp_path / "kept.zip")
    one_line(run_alone("restore", tmp_path / "kept.zip"), 1, "is not empty")


def test_a_check_of_a_damaged_workshop_ends_with_1(run_alone, tmp_path):
    run_alone("owner", "add", "Ilse Marrick")
    book = tmp_path / "alone" / "book.sqlite3"
    content = bytearray(book.read_bytes())
    content[40_000:60_000] = bytes(20_000)
    book.write_bytes(content)
    ended = run_alone("check")
    assert ended.returncode == 1
    assert "damaged" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_a_check_where_there_is_no_book_says_so(run_alone):
    one_line(run_alone("check"), 1, "There is no book")


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--host", "0.0.0.0"), 2, "others can listen in"),
        (("--host", "192.0.2.7"), 2, "others can listen in"),
        (("--behind-proxy", "http://bench.example"), 2, "https://"),
        (("--behind-proxy", "https://bench.example/bench"), 2, "no path"),
        (("--behind-proxy", "https://[bench"), 2, "https://"),
        (("--behind-proxy", "https://bench.example:99999"), 2, "https://"),
        (("--behind-proxy", "https://bench.example"), 1, "no user yet"),
        (("--certificate", sys.executable), 2, "needs its key"),
    ],
)
def test_the_bench_does_not_open_to_strangers(run_alone, words, code, says):
    one_line(run_alone("serve", "--no-browser", *words), code, says)


def test_a_demo_never_touches_a_folder_it_did_not_make(run_alone, tmp_path):
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("mine")
    one_line(run_alone("demo", "--folder", mine, "--fresh", "--no-serve"), 1, "not the demo's")
    assert (mine / "letter.txt").read_text() == "mine"


def test_a_demo_never_touches_a_workshop(run_alone, tmp_path):
    run_alone("owner", "add", "Ilse Marrick")
    one_line(run_alone("demo", "--folder", tmp_path / "alone", "--no-serve"), 1, "not the demo's")
    assert "Ilse Marrick" in run_alone("owner", "list").stdout


def test_the_bench_is_served_on_this_machine(tmp_path, run_alone):
    run_alone("job", "take-in", "--name", "Ilse Marrick", "--family", "box")
    server = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "pegwood",
            "--workshop",
            tmp_path / "alone",
            "serve",
            "--port",
            "0",
            "--no-browser",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert server.stdout is not None
        address = re.search(r"http://127\.0\.0\.1:\d+/", server.stdout.readline())[0]
        with urllib.request.urlopen(address, timeout=20) as page:
            assert "Ilse Marrick" in page.read().decode()
            assert "default-src 'self'" in page.headers["Content-Security-Policy"]
    finally:
        begun = time.perf_counter()
        server.terminate()
        time.sleep(0.3)
        server.send_signal(signal.SIGINT)  # an impatient hand
        _said, amiss = server.communicate(timeout=20)
    assert (server.returncode, amiss) == (0, "")
    assert time.perf_counter() - begun < 10


def test_a_port_that_is_taken_is_one_line(run_alone):
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        one_line(run_alone("serve", "--no-browser", "--port", taken.getsockname()[1]), 1, "Cannot listen")


@pytest.mark.parametrize(
    "words",
    [
        ("job", "list"), ("job", "show", 1), ("owner", "list"), ("find", "haze"), ("paper", "list", 1),
        ("settings", "list"), ("user", "list"), ("backup",), ("check",),
    ],
)  # fmt: skip
def test_a_folder_without_a_book_does_not_become_a_workshop_by_being_asked(run_alone, tmp_path, words):
    one_line(run_alone(*words), 1, "There is no book")
    assert not (tmp_path / "alone").exists()


def test_a_shared_books_address_that_asks_for_something_unknown_is_one_line(run_alone):
    address = "postgres://x@localhost/x?sslmood=verify-full"
    one_line(run_alone("job", "list", PEGWOOD_DATABASE_URL=address), 1, "sslmood")


def test_a_certificate_that_is_none_is_one_line(run_alone, tmp_path):
    wrong = tmp_path / "wrong.pem"
    wrong.write_text("not a certificate")
    run_alone("user", "add", "ilse", "--password", "a long walk to the mill")
    ended = run_alone("serve", "--no-browser", "--port", 0, "--certificate", wrong, "--key", wrong)
    one_line(ended, 1, "belong together")
    assert "--port" not in ended.stderr


def test_people_see_the_workshops_own_time(run_alone, tmp_path):
    # Kiritimati is 14 h ahead of UTC all year (IANA time zone database), so the hour always differs
    run_alone("settings", "set", "time_zone=Pacific/Kiritimati")
    run_alone("job", "take-in", "--name", "Ilse Marrick", "--family", "box")
    told = json.loads(run_alone("job", "show", 1, "--json").stdout)
    at = datetime.fromisoformat(told["diary"][0]["at"])
    assert at.utcoffset() == timedelta(0)
    ahead = f"{at + timedelta(hours=14):%Y-%m-%d %H:%M}"
    assert ahead in run_alone("job", "show", 1).stdout
    run_alone("backup", tmp_path / "kept.zip")
    with zipfile.ZipFile(tmp_path / "kept.zip") as archive:
        made = datetime.fromisoformat(json.loads(archive.read("manifest.json"))["made_at"])
    restored = run_alone("restore", tmp_path / "kept.zip", tmp_path / "again")
    assert f"{made + timedelta(hours=14):%Y-%m-%d at %H:%M}" in restored.stdout
