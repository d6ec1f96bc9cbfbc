"""The settings under which others reach the bench: Django's own deployment check, cookies, limits, hosts."""

from __future__ import annotations

import http.client
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings as house
from django.test import Client

from hostile.conftest import TICKET, TYPED
from pegwood.book.drafts import find_draft
from pegwood.book.models import Draft, Job
from pegwood.frame.server import LARGEST_REQUEST

ENCRYPTED = {"PEGWOOD_ENCRYPTED": "1", "PEGWOOD_SIGN_IN": "1", "PEGWOOD_HOSTS": "bench.example"}
#: Told by a process of its own, since the settings are read once: what the first page sets and says.
FIRST_PAGE = """
import json, django; django.setup()
from django.core.management import call_command; call_command("migrate", verbosity=0)
from django.conf import settings
from django.test import Client
stranger = Client(SERVER_NAME="bench.example")
plain = stranger.get("/sign-in/")
page = stranger.get("/sign-in/", secure=True)
from django.contrib.auth.models import User; User.objects.create_user("tove", password="a long word indeed")
stranger.post("/sign-in/", {"username": "tove", "password": "a long word indeed"}, secure=True)
print(json.dumps({
    "plain": [plain.status_code, plain.get("Location", "")],
    "hsts": page["Strict-Transport-Security"],
    "cookies": {name: dict(cookie) for name, cookie in stranger.cookies.items()},
}))
"""


def alone(tmp_path: Path, *command: str) -> subprocess.CompletedProcess[str]:
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PEGWOOD_")}
    ours = {"PEGWOOD_WORKSHOP": str(tmp_path / "shop"), "DJANGO_SETTINGS_MODULE": "pegwood.frame.settings"}
    return subprocess.run(
        [sys.executable, *command],
        env={**clean, **ours, **ENCRYPTED},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_djangos_deployment_check_has_nothing_to_say(tmp_path):
    done = alone(tmp_path, "-m", "django", "check", "--deploy", "--fail-level", "WARNING")
    assert (done.returncode, done.stderr) == (0, "")
    assert "no issues (0 silenced)" in done.stdout


def test_an_encrypted_bench_gives_no_cookie_to_an_open_line(tmp_path):
    done = alone(tmp_path, "-c", FIRST_PAGE)
    assert done.returncode == 0, done.stderr[-2000:]
    told = json.loads(done.stdout)
    assert told["plain"] == [301, "https://bench.example/sign-in/"]
    assert int(re.search(r"max-age=(\d+)", told["hsts"])[1]) >= 31_536_000
    assert set(told["cookies"]) == {"csrftoken", "sessionid"}
    for name, cookie in told["cookies"].items():
        assert (cookie["secure"], cookie["samesite"]) == (True, "Lax"), name
    # The token is written into every form anyway; the visit itself no script may read.
    assert told["cookies"]["sessionid"]["httponly"]


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "localhost@evil.example", "evil.example:80", "[::2]"]
)
def test_a_host_that_is_not_ours_is_refused(job, everything, host):
    before = everything()
    for address in ("/", f"/job/{job.number}/", "/workshop/", "/no-such-page/"):
        for method in (Client().get, Client().post):
            assert method(address, HTTP_HOST=host).status_code in {400, 404}, address
    assert Client().get("/", HTTP_HOST=host).status_code == 400
    assert everything() == before


def test_who_the_proxy_says_it_is_counts_only_behind_a_proxy(db):
    answer = Client().get("/", headers={"X-Forwarded-Host": "evil.example", "X-Forwarded-Proto": "https"})
    assert b"evil.example" not in answer.content
    assert answer.status_code == 200


# --- how much is taken at once ------------------------------------------------------------------------


def test_limits_are_set():
    assert 0 < house.DATA_UPLOAD_MAX_MEMORY_SIZE <= 4 * 1024**2
    assert 0 < house.DATA_UPLOAD_MAX_NUMBER_FIELDS <= 1000
    assert 0 < house.DATA_UPLOAD_MAX_NUMBER_FILES <= 100
    assert house.FILE_UPLOAD_PERMISSIONS == 0o600


@pytest.mark.parametrize(
    "sent",
    [
        {"text": "x" * (house.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)},
        {f"field-{i}": "x" for i in range(house.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1)},
    ],
    ids=["one huge text", "a thousand fields"],
)
@pytest.mark.parametrize("as_what", ["multipart", "urlencoded"])
def test_more_text_than_a_form_holds_is_413_and_changes_nothing(client, job, everything, sent, as_what):
    from urllib.parse import urlencode

    before = everything()
    for address in (f"/job/{job.number}/remark/", f"/take-in/{TICKET}/", "/workshop/"):
        if as_what == "multipart":
            answer = client.post(address, sent)
        else:
            answer = client.post(address, urlencode(sent), content_type="application/x-www-form-urlencoded")
        assert answer.status_code == 413
        assert b"That was too much at once" in answer.content
    assert everything() == before


def test_too_many_files_at_once_are_413(client, job, everything):
    import io

    def files() -> list[io.BytesIO]:
        made = []
        for _ in range(house.DATA_UPLOAD_MAX_NUMBER_FILES + 1):
            made.append(io.BytesIO(b"x"))
            made[-1].name = "x.jpg"
        return made

    before = everything()
    assert client.post(f"/job/{job.number}/photos/", {"photos": files()}).status_code == 413
    assert everything() == before


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("multipart/form-data", b"no boundary"),
        ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: form-data; name=a\r\n\r\nb"),
        ("multipart/form-data; boundary=" + "x" * 300, b""),
        ("application/json", b'{"move": "keep for parts"}'),
        ("application/x-www-form-urlencoded; charset=klingon", b"a=b"),
        ("text/xml", b'<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>'),
    ],
)
def test_a_body_that_is_no_form_is_refused_and_changes_nothing(client, job, everything, kind, body):
    before = everything()
    for address in (f"/job/{job.number}/move/", f"/job/{job.number}/photos/", f"/job/{job.number}/shutter/"):
        answer = client.generic("POST", address, body, content_type=kind)
        assert answer.status_code in {400, 422}, address
    assert everything() == before


def test_the_longest_story_is_kept_and_a_longer_one_is_refused_with_all_that_was_typed(client, db):
    longest = "it sticks. " * 1818  # a little under 20000 letters
    too_long = client.post(f"/take-in/{TICKET}/", {**TYPED, "story": longest * 2})
    assert too_long.status_code == 422
    assert longest in too_long.content.decode()
    assert not Job.objects.exists()
    assert find_draft(TICKET) is not None
    assert client.post(f"/take-in/{TICKET}/", {**TYPED, "story": longest}).status_code == 302
    assert Job.objects.get().story == longest.strip()
    assert not Draft.objects.exists()


# --- the server itself --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def served(tmp_path_factory) -> Iterator[tuple[str, int]]:
    """A bench as somebody starts it, on a port of its own."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PEGWOOD_")}
    here = {**clean, "PEGWOOD_WORKSHOP": str(tmp_path_factory.mktemp("served") / "shop")}
    command = [sys.executable, "-u", "-m", "pegwood", "serve", "--port", "0", "--no-browser"]
    with subprocess.Popen(
        command, env=here, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as one:
        said = one.stdout.readline()
        address = re.search(r"http://([\d.]+):(\d+)/", said)
        assert address, said + one.stderr.read()
        yield address[1], int(address[2])
        one.terminate()


def asked(served: tuple[str, int], head: str, body: bytes = b"") -> tuple[int, bytes]:
    """Status and answer to a request written by hand."""
    import socket

    with socket.create_connection(served, timeout=20) as line:
        line.sendall(head.replace("\n", "\r\n").encode("latin-1") + b"\r\n" + body)
        line.settimeout(20)
        answer = http.client.HTTPResponse(line)
        answer.begin()
        return answer.status, answer.read()


def test_a_body_that_says_it_is_huge_is_refused_before_it_is_sent(served):
    head = f"POST /take-in/{TICKET}/photo/ HTTP/1.1\nHost: 127.0.0.1\nContent-Length: {LARGEST_REQUEST + 1}\n"
    assert asked(served, head)[0] == 413


def test_a_head_that_never_ends_is_refused(served):
    assert asked(served, "GET / HTTP/1.1\nHost: 127.0.0.1\nX: " + "x" * 700_000 + "\n")[0] in {400, 413, 431}


def test_a_stranger_host_is_refused_by_the_running_bench(served):
    assert asked(served, "GET / HTTP/1.1\nHost: evil.example\nConnection: close\n")[0] == 400


@pytest.mark.parametrize(
    "path",
    [
        "/static/../frame/settings.py",
        "/static/..%2f..%2fframe/settings.py",
        "/static/bench/../../../frame/settings.py",
        "/static//etc/passwd",
        "/static/%2e%2e/%2e%2e/secret.key",
        "/paper/..%2f..%2fsecret.key.pdf",
        "/workshop/mark-..%2fsecret.key.jpg",
    ],
)
def test_no_path_leads_out_of_what_is_served(served, path):
    status, content = asked(served, f"GET {path} HTTP/1.1\nHost: 127.0.0.1\nConnection: close\n")
    assert status in {301, 302, 400, 404}
    assert b"SECRET_KEY" not in content
    assert b"root:" not in content
