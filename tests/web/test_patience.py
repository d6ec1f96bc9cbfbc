"""Guessing passwords takes time."""

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from pegwood.web import patience as room
from pegwood.web.pages import signing
from pegwood.web.patience import FIRST_WAIT_S, FREE_TRIES, LONGEST_WAIT_S, MOST_NAMES, Patience

PASSWORD = "orangewood and naphtha"


class Clock:
    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock():
    return Clock()


def wrong(patience, times, name="jorun"):
    for _ in range(times):
        patience.wrong(name)


def test_a_few_slips_cost_nothing(clock):
    patience = Patience(clock)
    wrong(patience, FREE_TRIES - 1)
    assert patience.wait_s("jorun") == 0


def test_each_further_one_waits_twice_as_long_up_to_a_limit(clock):
    patience = Patience(clock)
    wrong(patience, FREE_TRIES)
    waits = [patience.wait_s("jorun")]
    for _ in range(6):
        patience.wrong("jorun")
        waits.append(patience.wait_s("jorun"))
    assert waits[:4] == [FIRST_WAIT_S, 2 * FIRST_WAIT_S, 4 * FIRST_WAIT_S, 8 * FIRST_WAIT_S]
    assert waits[-1] == LONGEST_WAIT_S


def test_the_wait_runs_out(clock):
    patience = Patience(clock)
    wrong(patience, FREE_TRIES)
    clock.now += FIRST_WAIT_S
    assert patience.wait_s("jorun") == 0


def test_another_spelling_is_the_same_name_and_another_name_is_free(clock):
    patience = Patience(clock)
    wrong(patience, FREE_TRIES)
    assert patience.wait_s("JORUN") > 0
    assert patience.wait_s("halm") == 0


def test_made_up_names_do_not_fill_the_memory(clock):
    patience = Patience(clock)
    for number in range(MOST_NAMES + 50):
        patience.wrong(f"name {number}")
    assert len(patience._wrong) == MOST_NAMES


def test_the_right_password_waits_too_once_too_many_were_wrong(client, db, monkeypatch, clock):
    monkeypatch.setattr(signing, "patience", Patience(clock))
    User.objects.create_user("jorun", password=PASSWORD)
    for _ in range(FREE_TRIES):
        client.post(reverse("sign_in"), {"username": "jorun", "password": "guess"})
    answer = client.post(reverse("sign_in"), {"username": "jorun", "password": PASSWORD})
    assert answer.status_code == 422
    assert "Wait 15 seconds" in answer.content.decode()
    clock.now += FIRST_WAIT_S
    assert client.post(reverse("sign_in"), {"username": "jorun", "password": PASSWORD}).status_code == 302
    assert room.patience.wait_s("jorun") == 0
