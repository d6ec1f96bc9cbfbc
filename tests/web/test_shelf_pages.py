"""The shelf's pages: found as it is typed, put in by taps, taken from a job's card, looked for."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from pegwood.book import arriving, leaving
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.models import Donor, FitsAlso, PartWorth, Spare
from pegwood.book.spares import taking
from pegwood.book.spares.donors import DonorDetails, keep_donor, still_in
from pegwood.book.spares.moves import count_of
from pegwood.book.spares.putting import SpareDetails, measure_spare, put_on_shelf
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.ruling import rule

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}
BY = "Tove Halm"
FAMILY, PART = "folding-roll-front-cell", "focus.front-cell"


@pytest.fixture
def cell(halm) -> Spare:
    return put_on_shelf(SpareDetails(name="front cell", family=FAMILY, place="drawer 3"), 2, by=BY)


def there(spare: Spare) -> tuple[int, int]:
    count = count_of(spare)
    return count.lies, count.held


def words(answer) -> str:
    return " ".join(answer.content.decode().split())


# --- the shelf ----------------------------------------------------------------------------------------


def test_a_spare_is_found_as_it_is_typed(client: Client, cell):
    page = words(client.get("/shelf/?q=drawer", headers=LIVE))
    assert "front cell" in page
    assert "<html" not in page
    assert "Nothing on the shelf has all of" in words(client.get("/shelf/?q=mainspring"))


def test_a_part_and_a_number_tapped_put_it_in(client: Client, halm):
    parts = words(client.get(f"/shelf/put/?family={FAMILY}", headers=LIVE))
    assert f'value="{PART}"' in parts
    sent = {"family": FAMILY, "pick": PART, "grade": "1", "place": "tin 2", "tapped": "3", "cost": "12.50"}
    answer = client.post("/shelf/put/", sent)
    spare = Spare.objects.get()
    assert answer["Location"] == f"/spare/{spare.pk}/"
    assert (spare.name, spare.part, spare.grade, spare.cost_minor) == ("front cell", PART, 1, 1250)
    assert there(spare) == (3, 0)


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"tapped": "1"}, "What is it?"),
        ({"name": "x", "cost": "many"}, "Not an amount"),
        ({"name": "x", "count": "0"}, "0 at once cannot be"),
        ({"name": "x", "tapped": "5000"}, "5000 at once cannot be"),
        ({"name": "x", "grade": "9"}, "valid choice"),
    ],
)
def test_what_cannot_be_put_in_says_why(client: Client, halm, sent, says):
    answer = client.post("/shelf/put/", sent, follow=True)
    assert says in words(answer)


# --- one spare ----------------------------------------------------------------------------------------


def test_its_page_takes_keeps_and_undoes(client: Client, cell, arrived):
    address = f"/spare/{cell.pk}/move/"
    for do, after in (("keep", (2, 1)), ("use", (1, 0)), ("back", (2, 0)), ("more", (3, 0))):
        assert client.post(address, {"do": do, "job": arrived.number, "count": "1"}).status_code == 302
        assert there(cell) == after, do
    client.post(address, {"do": "write off", "count": "1", "reason": "broke"})
    client.post(address, {"do": "count", "count": "7"})
    assert there(cell) == (7, 0)
    last = cell.moves.last()
    client.post(f"/spare/{cell.pk}/undo/", {"move": last.pk})
    assert there(cell) == (2, 0)
    assert "undone already" in words(client.post(f"/spare/{cell.pk}/undo/", {"move": last.pk}))


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"do": "use"}, "Which job is it for?"),
        ({"do": "use", "job": "99"}, "There is no job 99"),
        ({"do": "use", "job": "9" * 30}, "There is no job"),
        ({"do": "burn"}, "is nothing that is done"),
        ({"do": "write off"}, "Why is it written off"),
        ({"do": "more", "count": "two"}, "whole number"),
        ({"do": "more", "count": "0"}, "0 at once cannot be"),
    ],
)
def test_what_cannot_be_moved_says_why_and_moves_nothing(client: Client, cell, sent, says):
    answer = client.post(f"/spare/{cell.pk}/move/", sent)
    assert answer.status_code == 422
    assert says in words(answer)
    assert there(cell) == (2, 0)


def test_it_is_corrected_and_measured_and_tells_how_it_fades(client: Client, cell):
    sent = {"name": "front cell", "family": FAMILY, "pick": PART, "place": "tin 9", "good_from": "60"}
    client.post(f"/spare/{cell.pk}/", sent)
    cell.refresh_from_db()
    assert (cell.place, cell.good_from, cell.part) == ("tin 9", 60.0, PART)
    wrong = client.post(f"/spare/{cell.pk}/measure/", {"what": "output", "unit": "µA", "value": "80"})
    assert "How far may it be off?" in words(wrong)
    ago = timezone.localdate() - timedelta(days=400)
    measure_spare(cell, "output", 92.0, 1.0, "µA", on=ago, by=BY)
    assert "Measure it again in some months" in words(client.get(f"/spare/{cell.pk}/"))
    client.post(f"/spare/{cell.pk}/measure/", {"what": "output", "unit": "µA", "value": "80,5", "u": "1"})
    page = words(client.get(f"/spare/{cell.pk}/"))
    assert 'output <b class="num">80.5 ± 1 µA</b>' in page
    assert "Output falls by 11 %" in page  # 1 - (80.5 / 92) ** (365.25 / 400) = .115
    row = cell.measures.last()
    client.post(f"/spare-reading/{row.pk}/strike/", {"reason": "wrong range"})
    assert cell.measures.count() == 1


# --- donors -------------------------------------------------------------------------------------------


def test_a_donor_is_kept_and_a_part_comes_out_by_one_press(client: Client, halm):
    client.post("/shelf/donors/", {"family": "box", "maker": "Kestrane", "place": "shelf B"})
    donor = Donor.objects.get()
    page = words(client.get(f"/donor/{donor.pk}/?q=spring", headers=LIVE))
    assert "drive spring" in page
    assert "red window" not in page
    client.post(f"/donor/{donor.pk}/out/", {"part": "shutter.drive-spring", "place": "tin 1", "grade": "2"})
    spare = Spare.objects.get()
    assert (spare.name, spare.maker, spare.place, spare.grade) == ("drive spring", "Kestrane", "tin 1", 2)
    again = client.post(f"/donor/{donor.pk}/out/", {"part": "shutter.drive-spring"})
    assert again.status_code == 422
    assert "out of this one already" in words(again)
    client.post(f"/donor/{donor.pk}/not-in/", {"part": "body.red-window", "reason": "broken"})
    assert "body.red-window" not in {part.id for part in still_in(donor)}
    client.post(f"/donor/{donor.pk}/not-in/", {"row": donor.parts_gone.last().pk})
    assert "body.red-window" in {part.id for part in still_in(donor)}
    client.post(f"/donor/{donor.pk}/gone/", {"reason": "nothing of use"})
    assert "It is gone" in words(client.get(f"/donor/{donor.pk}/"))


def test_a_donor_of_no_kind_is_refused(client: Client, halm):
    assert "Choose the kind of camera" in words(client.post("/shelf/donors/", {"maker": "Kestrane"}))
    assert not Donor.objects.exists()


def test_a_camera_kept_for_parts_becomes_a_donor_by_a_press_on_its_card(client: Client, arrived):
    early = client.post(f"/job/{arrived.number}/donor/", follow=True)
    assert "Keep the camera for parts first" in words(early)
    leaving.keep_for_parts(arrived, "by letter", by=BY)
    assert "Put it among the donors" in words(client.get(f"/job/{arrived.number}/"))
    answer = client.post(f"/job/{arrived.number}/donor/")
    assert answer["Location"] == f"/donor/{Donor.objects.get().pk}/"
    assert "What is still in it" in words(client.get(f"/job/{arrived.number}/"))


# --- from the card ------------------------------------------------------------------------------------


@pytest.fixture
def needed(arrived):
    """A fault found on the job's camera whose only mend takes a part, and that part."""
    causes = the_causes(arrived)
    fault = next(one for one in causes.faults.values() if len(one.mends) == 1 and one.mends[0].parts)
    rule(arrived, fault.id, True, by=BY)
    return fault.mends[0].parts[0]


def test_the_card_asks_for_what_it_may_need_afterwards(client: Client, arrived):
    card = words(client.get(f"/job/{arrived.number}/"))
    assert f'hx-get="/job/{arrived.number}/spares/" hx-trigger="load"' in card


def test_a_part_that_is_needed_is_kept_used_and_put_back_where_it_stands(client: Client, arrived, needed):
    address = f"/job/{arrived.number}/spares/"
    assert "none there" in words(client.get(address, headers=LIVE))
    spare = put_on_shelf(SpareDetails(name="it", family=FAMILY, part=needed, place="tin 7"), by=BY)
    shown = words(client.get(address, headers=LIVE))
    assert "<b>tin 7</b> · 1 free" in shown
    for do, after in (("keep", (1, 1)), ("let go", (1, 0)), ("use", (0, 0)), ("back", (1, 0))):
        answer = client.post(address, {"do": do, "spare": spare.pk, "part": needed}, headers=LIVE)
        assert answer.status_code == 200, words(answer)
        assert there(spare) == after, do
    assert client.post(address, {"do": "use", "spare": spare.pk})["Location"] == address
    gone = client.post(address, {"do": "use", "spare": spare.pk}, headers=LIVE)
    assert gone.status_code == 422
    assert "No it is left on the shelf" in words(gone)


@pytest.mark.parametrize(
    ("sent", "says"), [({"do": "use", "spare": "x"}, "not in the book"), ({"do": "eat"}, "not in the book")]
)
def test_a_press_that_means_nothing_is_refused(client: Client, arrived, sent, says):
    answer = client.post(f"/job/{arrived.number}/spares/", sent)
    assert answer.status_code == 422
    assert says in words(answer)


def test_what_is_reserved_for_another_job_is_told_and_not_offered(client: Client, arrived, needed):
    spare = put_on_shelf(SpareDetails(name="it", family=FAMILY, part=needed, place="tin 7"), by=BY)
    other = arriving.take_in(OwnerDetails(name="Benno Tjaard"), CameraDetails(family=FAMILY), by=BY)
    taking.reserve(spare, other, by=BY)
    page = words(client.get(f"/job/{arrived.number}/spares/", headers=LIVE))
    assert "what there is, is kept for other jobs" in page


# --- what to look for, what fits ----------------------------------------------------------------------


def test_the_shopping_list_comes_afterwards_and_takes_what_one_is_worth(client: Client, arrived, needed):
    assert 'hx-trigger="load"' in words(client.get("/shelf/short/"))
    listed = words(client.get("/shelf/short/", headers=LIVE))
    assert f'value="{needed}"' in listed
    assert f'/job/{arrived.number}/spares/"' in listed
    of = {"family": FAMILY, "part": needed}
    wrong = client.post("/shelf/short/worth/", {**of, "worth": "much"}, headers=LIVE)
    assert wrong.status_code == 422
    assert "Not an amount" in words(wrong)
    assert "Write the sum" in words(client.post("/shelf/short/worth/", of, headers=LIVE))
    told = words(client.post("/shelf/short/worth/", {**of, "worth": "80"}, headers=LIVE))
    assert PartWorth.objects.get().worth_minor == 8000
    assert "worth up to, for one more" in told


def test_a_row_of_what_fits_names_parts_by_their_names_and_says_who_says_so(client: Client, halm, cell):
    sent = {
        "family": FAMILY, "part": "front cell", "to_family": "box", "to_part": "drive spring",
        "source": "tried it on job 41", "mark": "practice",
    }  # fmt: skip
    wrong = client.post("/shelf/fits/", {**sent, "part": "gearbox"})
    assert wrong.status_code == 422
    assert "No single part of such a camera is called so" in words(wrong)
    assert "Who says that it fits" in words(client.post("/shelf/fits/", {**sent, "source": ""}))
    client.post("/shelf/fits/", sent)
    row = FitsAlso.objects.get()
    assert (row.part, row.to_part, row.both_ways) == (PART, "shutter.drive-spring", False)
    assert "practice: tried it on job 41" in words(client.get("/shelf/fits/"))
    client.post(f"/shelf/fits/{row.pk}/strike/", {"reason": "it did not"})
    assert not FitsAlso.objects.exists()


def test_the_lists_of_donors_and_of_parts_stand_without_anything_in_them(client: Client, halm):
    assert "No camera is kept for its parts" in words(client.get("/shelf/donors/"))
    assert "The shelf is empty" in words(client.get("/shelf/"))
    assert "Nothing is likely to run out" in words(client.get("/shelf/short/?now=yes"))
    keep_donor(DonorDetails(family="other"), by=BY)
    assert "Nobody wrote down what such cameras are made of" in words(
        client.get(f"/donor/{Donor.objects.get().pk}/")
    )
