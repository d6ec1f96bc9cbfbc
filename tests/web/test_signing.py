"""Who acts: the repairer on an open bench, whoever signs in on a shared one."""

import pytest
from django.contrib.auth.models import User
from django.test import override_settings
from django.urls import reverse

from pegwood.book.models import DiaryEntry

shared = override_settings(SIGN_IN_REQUIRED=True)
PASSWORD = "orangewood and naphtha"


@pytest.fixture
def jorun(db) -> User:
    return User.objects.create_user("jorun", password=PASSWORD, first_name="Jorun", last_name="Vik")


def test_on_an_open_bench_the_repairer_acts(client, halm, agreed):
    client.post(reverse("move", args=[agreed.number]), {"move": "put on the bench"})
    assert agreed.diary.last().who == "Tove Halm"


@shared
def test_whoever_signed_in_acts_under_their_own_name(client, halm, agreed, jorun):
    client.force_login(jorun)
    client.post(reverse("move", args=[agreed.number]), {"move": "put on the bench"})
    assert agreed.diary.last().who == "Jorun Vik"


@shared
@pytest.mark.parametrize("name", ["front", "find", "workshop", "take_in"])
def test_a_stranger_is_sent_to_sign_in_and_back_again(client, db, name):
    address = reverse(name)
    answer = client.get(address)
    assert answer.status_code == 302
    assert answer["Location"] == f"{reverse('sign_in')}?next={address}"


@shared
def test_a_stranger_cannot_change_anything(client, arrived):
    before = DiaryEntry.objects.count()
    answer = client.post(reverse("move", args=[arrived.number]), {"move": "keep for parts", "text": "mine"})
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("sign_in"))
    arrived.refresh_from_db()
    assert (arrived.standing, DiaryEntry.objects.count()) == ("arrived", before)


@shared
def test_a_live_part_sends_the_whole_page_to_sign_in_and_back_to_that_page(client, arrived):
    page = reverse("shutter", args=[arrived.number])
    answer = client.get(
        reverse("shutter_waiting", args=[arrived.number]),
        headers={"HX-Request": "true", "HX-Current-URL": f"http://testserver{page}"},
    )
    assert answer["HX-Redirect"] == f"{reverse('sign_in')}?next={page}"


@shared
@pytest.mark.parametrize("asks", [{"HX-Request": "true"}, {"Accept": "application/json"}])
def test_a_page_that_sends_after_its_visit_ended_is_told_so_and_not_sent_on(client, arrived, asks):
    """A redirect would be taken for a yes (RFC 9110, 15.5.2 for 401 and what goes with it)."""
    answer = client.post(reverse("remark", args=[arrived.number]), {"text": "mine"}, headers=asks)
    assert (answer.status_code, "HX-Redirect" in answer) == (401, False)
    assert answer["WWW-Authenticate"]
    assert "signed out" in answer.json()["refused"]


@shared
def test_whoever_comes_every_day_stays_signed_in(client, jorun):
    client.force_login(jorun)
    client.get("/")
    session = client.session
    session["seen_on"] = "2001-01-01"
    session.set_expiry(60)
    session.save()
    assert client.get("/").cookies["sessionid"]["max-age"] == 60
    assert "sessionid" not in client.get("/").cookies


@shared
@pytest.mark.parametrize("address", ["/no-such-page/", "/sign-in/"])
def test_a_stranger_learns_no_name(client, halm, address):
    said = client.get(address).content.decode()
    assert not any(name in said for name in (halm.name, halm.who) if name)


@shared
def test_signing_in_leads_on_to_where_one_wanted_to_go(client, jorun):
    answer = client.post(
        reverse("sign_in"), {"username": "jorun", "password": PASSWORD, "next": reverse("workshop")}
    )
    assert answer["Location"] == reverse("workshop")


@shared
def test_signing_in_never_leads_to_another_host(client, jorun):
    answer = client.post(
        reverse("sign_in"), {"username": "jorun", "password": PASSWORD, "next": "https://evil.example/"}
    )
    assert answer["Location"] == reverse("front")


@shared
def test_a_wrong_password_is_refused_and_the_name_stays_typed(client, jorun):
    answer = client.post(reverse("sign_in"), {"username": "jorun", "password": "guess"})
    assert answer.status_code == 422
    assert b"do not go together" in answer.content
    assert b'value="jorun"' in answer.content
    assert b"guess" not in answer.content


@shared
def test_signing_out_takes_a_press_not_a_link(client, jorun):
    client.force_login(jorun)
    assert client.get(reverse("sign_out")).status_code == 405
    client.post(reverse("sign_out"))
    assert client.get("/").status_code == 302
