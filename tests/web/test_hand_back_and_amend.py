"""The camera goes home; what was written at the counter is put right."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client
from django.utils import timezone

from pegwood.book.leaving import months_later
from pegwood.book.models import Job
from pegwood.book.states import Standing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("halm")]


def test_it_goes_home_paid_and_under_guarantee(client: Client, billed, halm):
    page = client.get(f"/job/{billed.number}/hand-back/").content.decode()
    assert 'value="145.00"' in page
    assert "leather case" in page
    response = client.post(
        f"/job/{billed.number}/hand-back/", {"paid_how": "card", "paid": "145.00", "guarantee_months": "12"}
    )
    billed.refresh_from_db()
    today = timezone.now().astimezone(halm.zone).date()
    assert response["Location"] == f"/job/{billed.number}/"
    assert (billed.standing, billed.paid_minor, billed.paid_how) == (Standing.GONE_HOME, 14500, "card")
    assert billed.guarantee_until == months_later(today, 12)
    assert billed.diary.filter(what="handed it back").count() == 1


def test_not_paid_yet_leaves_the_bill_open_whatever_stands_in_the_field(client: Client, billed):
    typed = {"paid_how": "not yet", "paid": "145.00", "guarantee_months": "0"}
    client.post(f"/job/{billed.number}/hand-back/", typed)
    billed.refresh_from_db()
    assert (billed.paid_minor, billed.guarantee_until) == (None, None)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"paid": "145", "guarantee_months": "6"}, "Tap how it was paid"),
        ({"paid_how": "cash", "paid": "", "guarantee_months": "6"}, "How much was paid?"),
        ({"paid_how": "cash", "paid": "much", "guarantee_months": "6"}, "Not an amount"),
        ({"paid_how": "cash", "paid": "145", "guarantee_months": "999"}, "Select a valid choice"),
    ],
)
def test_half_a_hand_over_is_refused_and_the_camera_stays(client: Client, billed, typed, says):
    response = client.post(f"/job/{billed.number}/hand-back/", typed)
    billed.refresh_from_db()
    assert response.status_code == 422
    assert says in response.content.decode()
    assert billed.standing == Standing.READY


def test_without_a_bill_the_page_leads_to_it(client: Client, ready):
    assert f"/job/{ready.number}/bill/" in client.get(f"/job/{ready.number}/hand-back/").content.decode()
    typed = {"paid_how": "cash", "paid": "145", "guarantee_months": "6"}
    response = client.post(f"/job/{ready.number}/hand-back/", typed)
    assert response.status_code == 422
    assert "There is no bill yet" in response.content.decode()


def test_handed_back_twice_is_refused_and_stays_handed_back_once(client: Client, gone_home):
    typed = {"paid_how": "cash", "paid": "1", "guarantee_months": "6"}
    assert client.post(f"/job/{gone_home.number}/hand-back/", typed).status_code == 422
    gone_home.refresh_from_db()
    assert gone_home.paid_minor == 14500


# --- amending ------------------------------------------------------------------------------------------


def as_it_stands(job: Job, **new: str) -> dict[str, str]:
    camera = job.camera
    return {
        "family": camera.family,
        "maker": camera.maker,
        "model": camera.model,
        "serial": camera.serial,
        "year_made": str(camera.year_made or ""),
        "story": job.story,
        "accessories": job.accessories,
        "promised_on": job.promised_on.isoformat() if job.promised_on else "",
        **new,
    }


def test_the_camera_is_put_right_and_the_diary_keeps_how_it_stood(client: Client, arrived):
    client.post(f"/job/{arrived.number}/amend/", as_it_stands(arrived, serial="A-20471", year_made="1953"))
    arrived.camera.refresh_from_db()
    entry = arrived.diary.get(what="amended the camera")
    assert (arrived.camera.serial, arrived.camera.year_made) == ("A-20471", 1953)
    assert entry.old == {"serial": "A-20417", "year_made": 1952}
    assert not arrived.diary.filter(what="amended the job").exists()


def test_a_promise_is_made_and_taken_back(client: Client, arrived):
    address = f"/job/{arrived.number}/amend/"
    client.post(address, as_it_stands(arrived, promised_on="2099-05-14"))
    arrived.refresh_from_db()
    assert arrived.promised_on == date(2099, 5, 14)
    client.post(address, as_it_stands(arrived, promised_on=""))
    arrived.refresh_from_db()
    assert arrived.promised_on is None


def test_nothing_changed_writes_nothing(client: Client, arrived):
    before = arrived.diary.count()
    client.post(f"/job/{arrived.number}/amend/", as_it_stands(arrived))
    assert arrived.diary.count() == before


@pytest.mark.parametrize(
    ("new", "says"),
    [
        ({"promised_on": "2001-01-01"}, "is past"),
        ({"promised_on": "soon"}, "year-month-day"),
        ({"family": "spaceship"}, "Select a valid choice"),
        ({"family": "other", "maker": "", "model": ""}, "Nothing says what the camera is"),
        ({"year_made": "1"}, "between 1839"),
    ],
)
def test_nonsense_is_refused_whole_and_stays_typed(client: Client, arrived, new, says):
    typed = as_it_stands(arrived, story="told anew", **new)
    response = client.post(f"/job/{arrived.number}/amend/", typed)
    arrived.refresh_from_db()
    assert response.status_code == 422
    assert says in response.content.decode()
    assert "told anew</textarea>" in response.content.decode()
    assert arrived.story == "found in a cellar, shutter sticks"
