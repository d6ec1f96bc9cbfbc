"""A camera comes in over the counter: begun, kept, sent, sent twice, refused."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pictures_sent import no_photograph, photograph

from pegwood.book.drafts import find_draft
from pegwood.book.models import Camera, DiaryEntry, Draft, Job, Owner
from pegwood.web.forms.take_in import promises

TICKET = UUID("5b0c0a52-6f0f-4d6e-9a3c-0d8b1d1d9a11")
ADDRESS = f"/take-in/{TICKET}/"
BOX = {"family": "box", "name": "Maite Orlan", "story": "nothing moves", "do": "take"}

pytestmark = pytest.mark.django_db


def test_the_way_in_leads_to_a_fresh_ticket_and_stores_nothing(client: Client):
    first, second = client.get("/take-in/"), client.get("/take-in/")
    assert first["Location"] != second["Location"]
    assert client.get(first["Location"]).status_code == 200
    assert not Draft.objects.exists()


def test_it_takes_the_camera_in_and_leads_to_its_card(client: Client, halm):
    response = client.post(
        ADDRESS,
        {**BOX, "accessories": ["case", "strap"], "accessories_more": "a spare spool", "promise": "1w"},
    )
    job = Job.objects.get()
    assert response["Location"] == reverse("job", args=[job.number])
    assert (job.owner.name, job.camera.family, job.story) == ("Maite Orlan", "box", "nothing moves")
    assert job.accessories == "case, strap, a spare spool"
    assert job.promised_on == timezone.now().astimezone(halm.zone).date() + timedelta(days=7)
    assert (job.ticket, DiaryEntry.objects.get(what="took in").who) == (TICKET, "Tove Halm")


def test_the_same_form_sent_twice_takes_in_one_camera(client: Client):
    once, twice = client.post(ADDRESS, BOX), client.post(ADDRESS, BOX)
    assert once["Location"] == twice["Location"]
    assert (Job.objects.count(), Owner.objects.count(), Camera.objects.count()) == (1, 1, 1)
    assert client.get(ADDRESS)["Location"] == once["Location"]


def test_htmx_is_sent_on_by_its_own_header(client: Client):
    response = client.post(ADDRESS, BOX, headers={"HX-Request": "true"})
    assert response["HX-Redirect"] == reverse("job", args=[Job.objects.get().number])


def test_a_form_without_a_name_is_refused_and_keeps_what_was_typed(client: Client):
    response = client.post(ADDRESS, {**BOX, "name": "", "accessories": ["strap"], "promise": "2w"})
    page = response.content.decode()
    assert response.status_code == 422
    assert not Job.objects.exists()
    assert "Whose is it? A name is needed" in page
    assert "nothing moves</textarea>" in page
    assert 'value="strap" checked' in page
    assert 'value="box" data-says="Box camera" checked' in page
    assert 'value="2w" checked' in page


def test_a_camera_of_which_nothing_is_said_is_refused_in_the_books_own_words(client: Client):
    response = client.post(ADDRESS, {"name": "Maite Orlan", "do": "take"})
    assert response.status_code == 422
    assert "Nothing says what the camera is" in response.content.decode()
    assert not Owner.objects.exists()


@pytest.mark.parametrize(
    "nonsense",
    [
        {"year_made": "MCMLII"},
        {"year_made": "1066"},
        {"email": "not-an-address"},
        {"family": "spaceship"},
        {"promise": "someday"},
        {"promise": "day"},
        {"promise": "day", "promised_on": "2031-02-30"},
        {"promise": "day", "promised_on": "1999-01-01"},
        {"accessories": ["case", "kitchen sink"]},
        {"owner": "999999"},
        {"owner": "9" * 40},
        {"comeback": "4711"},
        {"maker": "M" * 81},
        {"serial": "20\x004"},
    ],
)
def test_nonsense_is_refused_and_the_story_stays(client: Client, nonsense):
    response = client.post(ADDRESS, {**BOX, **nonsense})
    assert response.status_code == 422
    assert "nothing moves</textarea>" in response.content.decode()
    assert not Job.objects.exists()
    assert find_draft(TICKET).fields["story"] == "nothing moves"


# --- drafts ------------------------------------------------------------------------------------------


def test_what_is_typed_is_kept_and_comes_back_after_a_reload(client: Client):
    kept = client.post(ADDRESS + "draft/", {"story": "shutter sticks", "accessories": ["case", "hood"]})
    page = client.get(ADDRESS).content.decode()
    assert kept.status_code == 204
    assert "shutter sticks</textarea>" in page
    assert 'value="hood" checked' in page
    assert 'value="case" checked' in page
    assert not DiaryEntry.objects.exists()


def test_a_draft_holds_nothing_but_this_forms_fields(client: Client):
    client.post(ADDRESS + "draft/", {"story": "s", "csrfmiddlewaretoken": "t", "is_staff": "1"})
    assert set(find_draft(TICKET).fields) == {"story"}


def test_a_draft_that_comes_late_does_not_rise_again(client: Client):
    client.post(ADDRESS, BOX)
    client.post(ADDRESS + "draft/", {"story": "late"})
    assert not Draft.objects.exists()


def test_a_begun_form_is_listed_on_the_next_one_and_can_be_thrown_away(client: Client):
    client.post(ADDRESS + "draft/", {"name": "Maite Orlan", "family": "box"})
    another = client.get("/take-in/", follow=True).content.decode()
    assert ADDRESS in another
    assert "Box camera, Maite Orlan" in another
    client.post(ADDRESS + "give-up/")
    assert not Draft.objects.exists()
    assert ADDRESS not in client.get("/take-in/", follow=True).content.decode()


def test_it_can_be_put_aside_without_a_script(client: Client):
    response = client.post(ADDRESS, {"story": "later", "do": "later"})
    assert response["Location"] == reverse("front")
    assert find_draft(TICKET).fields == {"story": "later"}
    assert not Job.objects.exists()


def test_the_draft_is_gone_once_the_camera_is_taken_in(client: Client):
    client.post(ADDRESS + "draft/", BOX)
    client.post(ADDRESS, BOX)
    assert not Draft.objects.exists()


@pytest.mark.parametrize("tail", ["draft/", "photo/", "give-up/", f"photo/{'0' * 64}/drop/"])
def test_what_changes_something_refuses_get(client: Client, tail):
    assert client.get(ADDRESS + tail).status_code == 405


def test_a_form_needs_its_token(careful: Client):
    assert careful.post(ADDRESS, BOX).status_code == 403
    assert careful.post(ADDRESS + "draft/", BOX).status_code == 403
    assert not Job.objects.exists()


# --- photographs --------------------------------------------------------------------------------------


def test_photographs_are_kept_before_the_camera_is_taken_in_and_go_along(client: Client):
    tile = client.post(ADDRESS + "photo/", {"photos": photograph()})
    sha256 = find_draft(TICKET).photos[0]["sha256"]
    small = client.get(f"{ADDRESS}photo/{sha256}.jpg")
    assert f"{sha256}.jpg" in tile.content.decode()
    assert (small.status_code, small["Content-Type"]) == (200, "image/jpeg")
    client.post(ADDRESS, BOX)
    photo = Job.objects.get().photos.get()
    assert (photo.file_id, photo.width, photo.height) == (sha256, 64, 48)


def test_without_a_script_photographs_go_along_with_the_form(client: Client):
    client.post(ADDRESS, {**BOX, "photos": [photograph(grey=10), photograph(grey=20)]})
    assert Job.objects.get().photos.count() == 2


def test_a_bad_photograph_is_refused_and_the_good_one_and_the_words_stay(client: Client):
    response = client.post(ADDRESS, {**BOX, "photos": [photograph("good.jpg"), no_photograph("bad.jpg")]})
    page = response.content.decode()
    assert response.status_code == 422
    assert "bad.jpg is not a JPEG, PNG or HEIC photograph" in page
    assert "nothing moves</textarea>" in page
    assert len(find_draft(TICKET).photos) == 1
    client.post(ADDRESS, BOX)
    assert Job.objects.get().photos.count() == 1


def test_a_bad_photograph_sent_by_the_script_is_refused_in_plain_words(client: Client):
    response = client.post(ADDRESS + "photo/", {"photos": no_photograph()})
    assert response.status_code == 422
    assert response["Content-Type"].startswith("text/plain")
    assert client.post(ADDRESS + "photo/").status_code == 422


def test_a_photograph_slower_than_its_form_still_reaches_the_job(client: Client):
    client.post(ADDRESS, BOX)
    assert client.post(ADDRESS + "photo/", {"photos": photograph()}).status_code == 204
    assert Job.objects.get().photos.count() == 1
    assert not Draft.objects.exists()


def test_a_photograph_taken_by_mistake_is_left_out_and_the_words_stay(client: Client):
    client.post(ADDRESS + "photo/", {"photos": photograph()})
    sha256 = find_draft(TICKET).photos[0]["sha256"]
    client.post(f"{ADDRESS}photo/{sha256}/drop/", {"story": "typed meanwhile"})
    draft = find_draft(TICKET)
    assert (draft.photos, draft.fields["story"]) == ([], "typed meanwhile")


def test_a_photograph_of_another_ticket_is_nobodys(client: Client):
    client.post(ADDRESS + "photo/", {"photos": photograph()})
    sha256 = find_draft(TICKET).photos[0]["sha256"]
    assert client.get(f"/take-in/00000000-0000-4000-8000-000000000000/photo/{sha256}.jpg").status_code == 404


# --- people who are known ------------------------------------------------------------------------------


def test_owners_are_suggested_by_the_beginning_of_any_name_or_number(client: Client, ilse):
    for typed in ("marr", "ILSE", "0132"):
        assert "Ilse Marrick" in client.get("/take-in/owners/", {"name": typed}).content.decode()
    assert "Ilse" not in client.get("/take-in/owners/", {"name": "i"}).content.decode()


def test_somebody_known_is_taken_by_a_tap(client: Client, ilse):
    client.post(ADDRESS, {**BOX, "name": "marr", "owner": str(ilse.pk)})
    assert Job.objects.get().owner == ilse
    assert Owner.objects.count() == 1


def test_a_name_that_is_in_the_book_is_asked_about_once(client: Client, ilse):
    namesake = {**BOX, "name": "Ilse Marrick"}
    asked = client.post(ADDRESS, namesake)
    assert asked.status_code == 422
    assert "Somebody of that name is in the book" in asked.content.decode()
    assert f'value="{ilse.pk}"' in asked.content.decode()
    client.post(ADDRESS, {**namesake, "owner": "new"})
    assert Owner.objects.filter(name="Ilse Marrick").count() == 2


def test_without_a_script_the_book_is_looked_in_by_a_button(client: Client, ilse):
    response = client.post(ADDRESS, {"name": "marrick", "story": "so far", "do": "look"})
    page = response.content.decode()
    assert response.status_code == 200
    assert f'value="{ilse.pk}"' in page
    assert "so far</textarea>" in page
    assert "Not yet." not in page


def test_a_camera_that_was_here_before_is_offered_and_taken_again(client: Client, gone_home):
    owner = str(gone_home.owner_id)
    assert "Vorrin Wayfarer" in client.get("/take-in/cameras/", {"owner": owner}).content.decode()
    client.post(ADDRESS, {"owner": owner, "camera": str(gone_home.camera_id), "do": "take"})
    job = Job.objects.get(ticket=TICKET)
    assert (job.camera, job.comeback_of) == (gone_home.camera, None)


def test_a_camera_that_is_still_here_is_not_offered(client: Client, arrived):
    shown = client.get("/take-in/cameras/", {"owner": str(arrived.owner_id)}).content.decode()
    assert "Vorrin" not in shown


def test_somebody_elses_camera_is_refused(client: Client, ilse, benno_s_reflex):
    typed = {"owner": str(ilse.pk), "camera": str(benno_s_reflex.camera_id), "do": "take"}
    response = client.post(ADDRESS, typed)
    assert response.status_code == 422
    assert "belongs to somebody else" in response.content.decode()


# --- comebacks -----------------------------------------------------------------------------------------


def test_a_comeback_points_at_the_old_job(client: Client, gone_home):
    begun = client.get("/take-in/", {"comeback": gone_home.number})
    page = client.get(begun["Location"]).content.decode()
    assert "Vorrin Wayfarer, come back" in page
    client.post(ADDRESS, {"comeback": str(gone_home.number), "story": "sticks again", "do": "take"})
    job = Job.objects.get(ticket=TICKET)
    assert (job.comeback_of, job.camera, job.owner) == (gone_home, gone_home.camera, gone_home.owner)


def test_a_comeback_of_a_job_that_never_left_is_refused(client: Client, arrived):
    response = client.post(ADDRESS, {"comeback": str(arrived.number), "story": "s", "do": "take"})
    assert response.status_code == 422
    assert "has not gone home" in response.content.decode()


@pytest.mark.parametrize("number", ["0", "-1", "x", "9" * 30, "²"])
def test_a_comeback_of_nothing_begins_an_ordinary_form(client: Client, number):
    assert client.get("/take-in/", {"comeback": number}, follow=True).status_code == 200


# --- promises ------------------------------------------------------------------------------------------


def test_a_month_is_the_same_day_of_the_next_one_or_its_last():
    from datetime import date

    days = {offered.key: offered.day for offered in promises(date(2031, 1, 31))}
    assert days["1w"] == date(2031, 2, 7)
    assert days["2w"] == date(2031, 2, 14)
    assert days["1m"] == date(2031, 2, 28)


def test_the_page_asks_the_book_a_handful_of_questions(client: Client, ilse, django_assert_max_num_queries):
    for name in ("a", "b", "c"):
        client.post(
            f"/take-in/{TICKET.hex[:-1]}{name}/draft/".replace(TICKET.hex[:-1], str(TICKET)[:-1]), BOX
        )
    with django_assert_max_num_queries(8):
        client.get(ADDRESS)


def test_another_camera_of_a_known_owner_begins_with_that_owner_chosen(client: Client, ilse):
    """As the owner's page offers it."""
    page = client.get("/take-in/", {"owner": ilse.pk}, follow=True).content.decode()
    assert f'name="owner" value="{ilse.pk}" data-says="Ilse Marrick" checked' in page
