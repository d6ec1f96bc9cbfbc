"""What a browser may do with our pages."""

import pytest
from django.test import Client
from django.urls import reverse


@pytest.fixture
def policy(client, db) -> dict[str, str]:
    answer = client.get("/")
    parts = answer.headers["Content-Security-Policy"].split("; ")
    return dict(part.split(" ", 1) for part in parts)


def test_nothing_is_loaded_from_another_host(policy):
    assert policy["default-src"] == policy["connect-src"] == policy["form-action"] == "'self'"
    assert all("http" not in allowed and "*" not in allowed for allowed in policy.values())


def test_nothing_written_into_a_page_can_run(policy):
    assert policy["script-src"] == "'self'"
    assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'"


def test_the_camera_and_the_microphone_are_ours_alone(client, db):
    allowed = client.get("/").headers["Permissions-Policy"]
    assert "camera=(self)" in allowed
    assert "microphone=(self)" in allowed
    assert "geolocation=()" in allowed


@pytest.mark.parametrize("address", ["/", "/nothing-here/", "/static/bench/bench.css"])
def test_every_answer_carries_the_policy(client, db, address):
    answer = client.get(address)
    if address.startswith("/static/") and answer.status_code == 200:
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    else:
        assert "Content-Security-Policy" in answer.headers
        assert answer.headers["X-Frame-Options"] == "DENY"


def test_a_form_without_its_token_changes_nothing_and_says_so(careful: Client, arrived):
    answer = careful.post(reverse("move", args=[arrived.number]), {"move": "keep for parts", "text": "x"})
    assert answer.status_code == 403
    assert b"The form was too old" in answer.content
    arrived.refresh_from_db()
    assert arrived.standing == "arrived"
