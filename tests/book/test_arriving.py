"""A camera comes in at the door."""

from dataclasses import replace
from datetime import date
from uuid import UUID

import pytest

from book.cast import BENNO, BY, FOLDER, ILSE, MONDAY, REFLEX
from pegwood.book import agreeing, arriving, leaving
from pegwood.book.arriving import CameraDetails
from pegwood.book.models import Camera, DiaryEntry, Job, Owner
from pegwood.book.refusal import Refused
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db
TICKET = UUID("11111111-2222-4333-8444-555555555555")


def test_taking_in_opens_a_job_with_owner_and_camera(arrived):
    assert (arrived.number, arrived.standing, arrived.owner.name) == (1, "arrived", "Ilse Marrick")
    assert arrived.camera.serial == "A-20417"
    assert arrived.arrived_at == MONDAY


def test_the_diary_says_who_took_in_what_and_when(arrived):
    entry = arrived.diary.get(what="took in")
    assert (entry.who, entry.at) == (BY, MONDAY)
    assert entry.text == "found in a cellar, shutter sticks"
    assert entry.new["camera"]["serial"] == "A-20417"


def test_numbers_go_up_one_by_one(arrived):
    assert arriving.take_in(BENNO, REFLEX, by=BY).number == 2


def test_a_form_sent_twice_takes_in_one_camera(db):
    first = arriving.take_in(ILSE, FOLDER, by=BY, ticket=TICKET)
    again = arriving.take_in(ILSE, FOLDER, by=BY, ticket=TICKET)
    assert again == first
    assert (Job.objects.count(), Owner.objects.count(), Camera.objects.count()) == (1, 1, 1)


def test_an_owner_without_a_name_is_refused_and_nothing_is_written(db):
    with pytest.raises(Refused, match="name"):
        arriving.take_in(replace(ILSE, name="  "), FOLDER, by=BY)
    assert not Owner.objects.exists()
    assert not DiaryEntry.objects.exists()


def test_an_impossible_address_is_refused_and_nothing_is_written(db):
    with pytest.raises(Refused, match="email"):
        arriving.take_in(replace(ILSE, email="at the mill"), FOLDER, by=BY)
    assert not Job.objects.exists()


def test_a_camera_that_nothing_is_known_of_is_refused(db):
    with pytest.raises(Refused, match="what the camera is"):
        arriving.take_in(ILSE, CameraDetails(serial="5"), by=BY)
    assert not Owner.objects.exists()


def test_a_promise_before_the_arrival_is_refused(db):
    with pytest.raises(Refused, match="is past"):
        arriving.take_in(ILSE, FOLDER, by=BY, at=MONDAY, promised_on=date(2031, 3, 2))


def test_a_camera_that_is_here_already_is_not_taken_in_again(arrived):
    with pytest.raises(Refused, match="job 1 is open"):
        arriving.take_in(arrived.owner, arrived.camera, by=BY)


def test_a_comeback_points_at_the_old_job(ready):
    agreeing.write_bill(ready, [agreeing.Line(what="cleaned", amount=Money(14500, "EUR"))], by=BY)
    leaving.hand_back(ready, by=BY)
    ready.refresh_from_db()
    again = arriving.come_back(ready, by=BY, story="sticks again")
    assert again.comeback_of == ready
    assert (again.camera, again.owner) == (ready.camera, ready.owner)


def test_a_camera_still_here_cannot_come_back(arrived):
    with pytest.raises(Refused, match="has not gone home"):
        arriving.come_back(arrived, by=BY)


def test_amending_an_owner_keeps_the_old_value_in_the_diary(arrived):
    arriving.amend_owner(arrived.owner, replace(ILSE, phone="0555-0199"), by=BY)
    entry = DiaryEntry.objects.get(what="amended an owner")
    assert (entry.old["phone"], entry.new["phone"]) == ("0555-0132", "0555-0199")


def test_amending_nothing_writes_nothing(arrived):
    arriving.amend_owner(arrived.owner, ILSE, by=BY)
    arriving.amend_camera(arrived, FOLDER, by=BY)
    assert not DiaryEntry.objects.filter(what__startswith="amended").exists()


def test_amending_the_camera_keeps_the_old_value_in_the_diary(arrived):
    arriving.amend_camera(arrived, replace(FOLDER, serial="A-20471"), by=BY)
    entry = arrived.diary.get(what="amended the camera")
    assert (entry.old, entry.new) == ({"serial": "A-20417"}, {"serial": "A-20471"})


def test_an_empty_remark_is_refused(arrived):
    with pytest.raises(Refused, match="empty"):
        arriving.remark(arrived, "  ", by=BY)
